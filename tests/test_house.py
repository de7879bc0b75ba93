"""The house rules that no linter knows: sizes, sources, no clock, nothing of one machine."""

import ast
import csv
import importlib
import re
from collections.abc import Iterator
from dataclasses import is_dataclass
from enum import Enum
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
CORE = ROOT / "src" / "kettlewell" / "core"
WEB = ROOT / "src" / "kettlewell" / "web"
ROOMS = [ROOT / name for name in ("src", "tests", "docs", "bench", "examples", "tools")]
LONGEST_FILE = 500
LONGEST_BODY = 60
MACHINE_PATH = re.compile(r"(?<![\w.~])/(?:work|home|root|tmp|Users)/")
OWN_DICE = re.compile(r"(np\.random\.)?default_rng\(\)|np\.random\.(?!default_rng)[a-z]")
SRC = ROOT / "src" / "kettlewell"
CLOCK = SRC / "clock.py"
ASK_THE_CLOCK = {  # who is told the time by nobody
    "cli",
    "web",
    "records/apps.py",
    "records/signing.py",
    "records/access_log.py",
}
CLOCKS = re.compile(
    r"(^|\.)(now|today|utcnow|localtime|gmtime|localdate)$|^(time\.time|date\.today|django\.utils\.timezone)"
)
OUR_CLOCK = "clock.now"
DRAWN = "sheet.now"  # the mark of now on a chart
QUERIES = re.compile(
    r"\.objects\b|\.(filter|exclude|get_or_create|save|delete|select_related|aggregate)\("
    r"|\btransaction\b|get_object_or_404|django\.db\b|\b(kitchen|Kitchen)\.(entries|seats|beliefs)\b"
)

BEHIND_THE_BRIDGE = {"kettlewell.core", "kettlewell.folder"}

Function = ast.FunctionDef | ast.AsyncFunctionDef


def python_files() -> list[Path]:
    return sorted(file for room in ROOMS for file in room.rglob("*.py"))


def written_files() -> Iterator[Path]:
    yield from (file for file in ROOT.iterdir() if file.is_file() and file.name != ".git")  # a work tree's
    yield from (ROOT / ".ci").iterdir()
    for room in ROOMS:
        yield from (file for file in room.rglob("*") if file.is_file() and file.suffix != ".pyc")


def functions(file: Path) -> Iterator[Function]:
    tree = ast.parse(file.read_text(encoding="utf-8"))
    yield from (node for node in ast.walk(tree) if isinstance(node, Function))


def body_length(function: Function) -> int:
    """Return the lines of a function below its docstring."""
    first = function.body[1:] if ast.get_docstring(function) is not None else function.body
    return function.body[-1].end_lineno - first[0].lineno + 1 if first else 0


def calls(file: Path) -> Iterator[ast.Call]:
    tree = ast.parse(file.read_text(encoding="utf-8"))
    yield from (node for node in ast.walk(tree) if isinstance(node, ast.Call))


def rows_without_source(table: Path) -> Iterator[str]:
    with table.open(encoding="utf-8", newline="") as lines:
        reader = csv.DictReader(lines)
        for row in reader:
            needed = ["grade"] if row.get("force") == "none found" else ["grade", "source"]
            if not all((row.get(name) or "").strip() for name in needed):
                yield f"{table.name}:{reader.line_num}"


def where(file: Path) -> str:
    return str(file.relative_to(ROOT))


def test_constraints_hold_hashes_and_no_address():
    text = (ROOT / "constraints.txt").read_text(encoding="utf-8")
    assert "--hash=sha256:" in text
    assert "://" not in text


def test_no_python_file_is_longer_than_500_lines():
    lengths = {where(f): len(f.read_text(encoding="utf-8").splitlines()) for f in python_files()}
    assert lengths
    assert {name: length for name, length in lengths.items() if length > LONGEST_FILE} == {}


def test_no_function_body_is_longer_than_60_lines():
    lengths = {(where(f), g.name): body_length(g) for f in python_files() for g in functions(f)}
    assert lengths
    assert {name: length for name, length in lengths.items() if length > LONGEST_BODY} == {}


def test_no_file_names_a_path_of_one_machine():
    found = [where(f) for f in written_files() if MACHINE_PATH.search(f.read_text("utf-8", "replace"))]
    assert found == []


@pytest.mark.parametrize("text", ["see /" + "work/main", "'/" + "tmp/x'", "=/" + "home/anyone/"])
def test_a_path_of_one_machine_is_recognised(text):
    assert MACHINE_PATH.search(text)


@pytest.mark.parametrize("text", ["https://example.org/home/", "oil/work/h", "tests/tmp/"])
def test_an_address_or_a_relative_path_is_no_path_of_one_machine(text):
    assert not MACHINE_PATH.search(text)


def test_every_row_of_packaged_data_has_a_grade_and_a_source():
    """A jurisdiction where no limit was found has no source to name."""
    tables = sorted((CORE / "data").glob("*.csv"))
    assert tables
    assert [row for table in tables for row in rows_without_source(table)] == []


def test_a_row_without_source_is_found(tmp_path):
    table = tmp_path / "limits.csv"
    table.write_text("force,source,grade\nbinding,,official\nnone found,,secondary\nhouse,a book,\n", "utf-8")
    assert list(rows_without_source(table)) == ["limits.csv:2", "limits.csv:4"]


def asked_clocks(file: Path) -> list[str]:
    """Return where a file asks a clock, and which."""
    names = ((call.lineno, ast.unparse(call.func)) for call in calls(file))
    return [f"{where(file)}:{line} {name}" for line, name in names if CLOCKS.search(name) and name != DRAWN]


def test_nobody_asks_a_clock_but_that_of_the_program():
    """Tests too: their outcome may not depend on the day, the hour or the zone they run at."""
    asked = [one for file in python_files() if file != CLOCK for one in asked_clocks(file)]
    assert [one for one in asked if not one.endswith(f" {OUR_CLOCK}")] == []


def test_screens_and_commands_alone_ask_the_time():
    rooms = (file for file in SRC.rglob("*.py") if asked_clocks(file) and file != CLOCK)
    names = {file.relative_to(SRC) for file in rooms}
    assert {name for name in names if not {str(name), name.parts[0]} & ASK_THE_CLOCK} == set()


@pytest.mark.parametrize(
    "text",
    ["datetime.now(UTC)", "timezone.now()", "date.today()", "time.time()", "timezone.localdate()", "now()"],
)
def test_a_clock_is_recognised(text):
    (call,) = (node for node in ast.walk(ast.parse(text)) if isinstance(node, ast.Call))
    assert CLOCKS.search(ast.unparse(call.func))


@pytest.mark.parametrize("text", ["time.perf_counter()", "minute_after(at)", "time.sleep(1)", "write_now(1)"])
def test_what_measures_or_waits_is_no_clock(text):
    assert not CLOCKS.search(ast.unparse(ast.parse(text, mode="eval").body.func))


def test_the_core_draws_no_random_number_of_its_own():
    """A generator is an argument, or is made from a seed that is one."""
    drawn = [
        f"{where(file)}:{call.lineno}"
        for file in sorted(CORE.rglob("*.py"))
        for call in calls(file)
        if OWN_DICE.match(ast.unparse(call))
    ]
    assert drawn == []


@pytest.mark.parametrize("text", ["np.random.default_rng()", "default_rng()", "np.random.normal(0, 1)"])
def test_dice_of_its_own_are_recognised(text):
    assert OWN_DICE.match(text)


@pytest.mark.parametrize(
    "text", ["np.random.default_rng(seed)", "rng.normal(0, 1)", "np.random.SeedSequence(1)"]
)
def test_a_generator_made_from_a_seed_is_no_dice_of_its_own(text):
    assert not OWN_DICE.match(text)


def test_screens_ask_selectors_and_write_through_services():
    found = [
        f"{where(file)}:{number}: {text.strip()}"
        for file in sorted(WEB.rglob("*.py"))
        for number, text in enumerate(file.read_text("utf-8").splitlines(), 1)
        if QUERIES.search(text)
    ]
    assert found == []


@pytest.mark.parametrize(
    "text",
    [
        "Entry.objects.get(pk=1)",
        "kitchen.entries.count()",
        "with transaction.atomic():",
        "person.save()",
        "from django.db.models import Q",
        "found = get_object_or_404(Entry, pk=entry)",
    ],
)
def test_a_query_is_recognised(text):
    assert QUERIES.search(text)


def loop_names(file: Path) -> Iterator[str]:
    """Yield the names that a file gives to what it goes through, one by one."""
    for node in ast.walk(ast.parse(file.read_text("utf-8"))):
        if isinstance(node, ast.For | ast.comprehension):
            yield from (name.id for name in ast.walk(node.target) if isinstance(name, ast.Name))


def test_screens_say_what_they_go_through():
    """A loop over baths goes through baths: "one" tells a stranger nothing."""
    names = {where(file): set(loop_names(file)) for file in sorted(WEB.rglob("*.py"))}
    assert any(names.values())
    assert [file for file, found in names.items() if "one" in found] == []


def room_of(module: str) -> str:
    """Return the room of a module, such as kettlewell.core."""
    return ".".join(module.split(".")[:2])


def home_of(module: str, name: str) -> str:
    """Return the module in which a name is written, whichever hand it on; a module is its own."""
    tree = ast.parse(Path(importlib.import_module(module).__file__).read_text("utf-8"))
    for node in tree.body:
        if isinstance(node, ast.ImportFrom) and name in {alias.asname or alias.name for alias in node.names}:
            return home_of(node.module, name) if node.module.startswith("kettlewell") else node.module
        if name in bound_by(node):
            return module
    return f"{module}.{name}"


def bound_by(node: ast.stmt) -> set[str]:
    """Return the names that a statement of a module gives a meaning."""
    if isinstance(node, ast.ClassDef | Function):
        return {node.name}
    targets = node.targets if isinstance(node, ast.Assign) else [getattr(node, "target", None)]
    return {target.id for target in targets if isinstance(target, ast.Name)}


def is_value(found: object) -> bool:
    """Tell whether something is a frozen class, a choice, or a constant: nothing that computes."""
    if isinstance(found, type):
        return issubclass(found, Enum) or (is_dataclass(found) and found.__dataclass_params__.frozen)
    return isinstance(found, str | int | float | tuple | frozenset)


def imported_by_screens() -> Iterator[tuple[str, str, str]]:
    """Yield the file, the module and the name of each import from another room of ours."""
    for file in sorted(WEB.rglob("*.py")):
        for node in ast.walk(ast.parse(file.read_text("utf-8"))):
            if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("kettlewell"):
                yield from ((where(file), node.module, alias.name) for alias in node.names)


def test_screens_name_values_of_the_core_and_nothing_of_the_folder():
    """The bridge answers with values of the core; what computes them stays behind it."""
    homes = {each: home_of(each[1], each[2]) for each in imported_by_screens()}
    behind = {each: home for each, home in homes.items() if room_of(home) in BEHIND_THE_BRIDGE}
    assert behind
    assert [each for each, home in behind.items() if room_of(home) != room_of(each[1])] == []
    assert [each for each, home in behind.items() if room_of(home) == "kettlewell.folder"] == []
    named = {each: getattr(importlib.import_module(each[1]), each[2]) for each in behind}
    assert [each for each, found in named.items() if not is_value(found)] == []


def test_a_name_handed_on_and_a_function_are_recognised():
    assert home_of("kettlewell.folder", "Setup") == "kettlewell.book.setup"
    assert home_of("kettlewell.bridge.standing", "answer") == "kettlewell.core.outlook.assess"
    assert not is_value(importlib.import_module("kettlewell.core").assess)
    assert is_value(importlib.import_module("kettlewell.core.outlook.values").Assessment)
