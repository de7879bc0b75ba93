"""Make small slips in the heart of the program, one at a time, and tell which ones no test catches.

python tools/mutants.py [MUTANTS] [SEED] [PLACES]    200 of book/, belief and decision: about 30 minutes

PLACES are files or folders of src/kettlewell. Each slip is made in a copy of the sources; the tests of
the same name run first, then those of the folder, of the room, and of what stands on it, until one
fails. A slip that makes them run without end (five times as long as the sound program) counts as caught,
and is told: beside other work on the machine that says little. What survives is printed as a difference,
to be caught by a test or to be shown to change nothing.
"""

import ast
import os
import random
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from difflib import unified_diff
from enum import Enum
from pathlib import Path
from queue import SimpleQueue

ROOT = Path(__file__).resolve().parents[1]
SRC, TESTS = ROOT / "src", ROOT / "tests"
CORES, PATIENCE, LEAST_PATIENCE_S = 2, 5, 60
PLACES = ("book", "core/belief", "core/decision")
# what stands on a room, and so is wrong where it is; in turns
STANDS_ON = {
    "book": (("properties", "test_one_place.py"), ("folder", "core"), ("bridge",)),
    "core": (
        ("properties",),
        ("practice", "reference/test_filter.py", "reference/test_smoother.py"),
        ("bridge",),
    ),
}
PYTEST = ("-m", "pytest", "-x", "-q", "-n0", "-p", "no:cacheprovider", "-m", "not slow and not browser")
NOTHING_COLLECTED = 5
COMPARISONS = {
    ast.Lt: ast.LtE,
    ast.LtE: ast.Lt,
    ast.Gt: ast.GtE,
    ast.GtE: ast.Gt,
    ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq,
    ast.Is: ast.IsNot,
    ast.IsNot: ast.Is,
    ast.In: ast.NotIn,
    ast.NotIn: ast.In,
}
SUMS = {ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.BitOr: ast.BitAnd}
SUMS |= {ast.BitAnd: ast.BitOr, ast.FloorDiv: ast.Mult, ast.Mod: ast.Mult, ast.Pow: ast.Mult}
CALLED_OTHERWISE = {"min": "max", "max": "min", "any": "all", "all": "any"}


Turn = tuple[str, ...]


class Ended(Enum):
    """How tests ended."""

    PASSED = "survived"
    FAILED = "."
    NEVER = "(no end)"


@dataclass(frozen=True, slots=True, kw_only=True)
class Slip:
    """A file, and what it holds once the slip is made in it."""

    file: Path
    text: str

    @property
    def difference(self) -> str:
        """The slip as a difference of lines."""
        before = self.file.read_text("utf-8").splitlines()
        name = str(self.file.relative_to(ROOT))
        return "\n".join(unified_diff(before, self.text.splitlines(), name, name, n=1, lineterm=""))


def other(node: ast.AST) -> Iterator[ast.expr]:
    """Yield what could stand by mistake where an expression stands."""
    match node:
        case ast.Compare(left=left, ops=[op], comparators=right) if type(op) in COMPARISONS:
            yield ast.Compare(left=left, ops=[COMPARISONS[type(op)]()], comparators=right)
        case ast.BinOp(left=left, op=op, right=right) if type(op) in SUMS:
            yield ast.BinOp(left=left, op=SUMS[type(op)](), right=right)
        case ast.BoolOp(op=op, values=values):
            yield ast.BoolOp(op=ast.Or() if isinstance(op, ast.And) else ast.And(), values=values)
        case ast.UnaryOp(op=ast.Not() | ast.USub() | ast.Invert(), operand=operand):
            yield operand
        case ast.IfExp(test=test, body=body, orelse=orelse):
            yield ast.IfExp(test=test, body=orelse, orelse=body)
        case ast.Call(func=ast.Name(id=name), args=args, keywords=keywords) if name in CALLED_OTHERWISE:
            yield ast.Call(func=ast.Name(id=CALLED_OTHERWISE[name]), args=args, keywords=keywords)
        case ast.Constant(value=bool(value)):
            yield ast.Constant(value=not value)
        case ast.Constant(value=int(value) | float(value)):
            yield ast.Constant(value=value + 1)


def counted(tree: ast.AST) -> Iterator[ast.AST]:
    """Yield the nodes that are run: no annotations, no decorators."""
    for name, found in ast.iter_fields(tree):
        if name in {"annotation", "returns", "decorator_list", "type_params"}:
            continue
        for node in found if isinstance(found, list) else [found]:
            if isinstance(node, ast.AST):
                yield node
                yield from counted(node)


def slips(file: Path) -> Iterator[Slip]:
    """Yield every slip that can be made in a file."""
    source = file.read_bytes()
    starts = [0]
    for line in source.splitlines(keepends=True):
        starts.append(starts[-1] + len(line))
    for node in counted(ast.parse(source)):
        for instead in other(node):
            begin = starts[node.lineno - 1] + node.col_offset
            end = starts[node.end_lineno - 1] + node.end_col_offset
            made = f"({ast.unparse(ast.fix_missing_locations(instead))})".encode()
            yield Slip(file=file, text=(source[:begin] + made + source[end:]).decode())


def tests_of(file: Path) -> list[Turn]:
    """Return the tests that run for a file, in turns: its own, then those of all that stands on it."""
    place = file.relative_to(SRC / "kettlewell")
    room = place.parts[0]
    turns = (
        (str(place.parent / f"test_{place.stem}.py"),),
        (str(place.parent),),
        (room,),
        *STANDS_ON.get(room, ()),
    )
    there = (tuple(name for name in turn if (TESTS / name).exists()) for turn in turns)
    return list(dict.fromkeys(turn for turn in there if turn))


def ended(copy: Path, turn: Turn, patience_s: float | None) -> Ended:
    """Return how tests end with a copy of the sources."""
    one_thread = dict.fromkeys(("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"), "1")
    env = {**os.environ, **one_thread, "PYTHONPATH": str(copy), "PYTHONDONTWRITEBYTECODE": "1"}
    command = [sys.executable, *PYTEST, *(str(TESTS / name) for name in turn)]
    # examples that are kept would fail for every slip once the sound program has failed one
    with tempfile.TemporaryDirectory() as examples:
        env["HYPOTHESIS_STORAGE_DIRECTORY"] = examples
        try:
            done = subprocess.run(  # noqa: S603 - our own tests
                command, cwd=ROOT, env=env, capture_output=True, timeout=patience_s, check=False
            )
        except subprocess.TimeoutExpired:
            return Ended.NEVER
    return Ended.PASSED if done.returncode in {0, NOTHING_COLLECTED} else Ended.FAILED


def patience_of(copy: Path, turns: set[Turn]) -> dict[Turn, float]:
    """Return how long to wait for tests, in s; raises ValueError where they fail without a slip."""
    found = {}
    for turn in turns:
        begun = time.perf_counter()
        if ended(copy, turn, None) is not Ended.PASSED:
            raise ValueError(f"{' '.join(turn)}: these tests fail as it is; mend them first")
        found[turn] = max(LEAST_PATIENCE_S, PATIENCE * (time.perf_counter() - begun))
    return found


def tried(copy: Path, slip: Slip, patience_s: dict[Turn, float]) -> Ended:
    """Return how the tests end once a slip is made in a copy of the sources."""
    name = copy / slip.file.relative_to(SRC)
    name.write_text(slip.text, "utf-8")
    try:
        each = (ended(copy, turn, patience_s[turn]) for turn in tests_of(slip.file))
        return next((end for end in each if end is not Ended.PASSED), Ended.PASSED)
    finally:
        shutil.copyfile(slip.file, name)


def chosen(number: int, seed: int, places: list[str]) -> list[Slip]:
    """Return so many of all slips, drawn without replacement."""
    folders = [SRC / "kettlewell" / place for place in places]
    files = sorted(
        {file for folder in folders for file in ([folder] if folder.is_file() else folder.rglob("*.py"))}
    )
    everything = [slip for file in files for slip in slips(file)]
    print(f"{len(everything)} slips could be made in {len(files)} files.", flush=True)
    return random.Random(seed).sample(everything, min(number, len(everything)))  # noqa: S311 - no secret


def main(number: str = "200", seed: str = "1", *places: str) -> None:
    """Print each slip that survives, and how many were caught."""
    drawn = chosen(int(number), int(seed), list(places or PLACES))
    with tempfile.TemporaryDirectory() as folder, ThreadPoolExecutor(CORES) as pool:
        copies: SimpleQueue[Path] = SimpleQueue()
        for n in range(CORES):
            copies.put(Path(shutil.copytree(SRC, Path(folder, str(n)))))
        sound = Path(shutil.copytree(SRC, Path(folder, "sound")))
        patience_s = patience_of(sound, {turn for slip in drawn for turn in tests_of(slip.file)})

        def try_out(slip: Slip) -> Ended:
            copy = copies.get()
            try:
                return tried(copy, slip, patience_s)
            finally:
                copies.put(copy)

        ends = []
        for slip, end in zip(drawn, pool.map(try_out, drawn), strict=True):
            ends.append(end)
            print(end.value, end="" if end is Ended.FAILED else f"\n{slip.difference}\n", flush=True)
    unending = f", {ends.count(Ended.NEVER)} of them by running without end" if Ended.NEVER in ends else ""
    print(f"\n{len(ends) - ends.count(Ended.PASSED)} of {len(ends)} slips caught{unending}.")


if __name__ == "__main__":
    main(*sys.argv[1:])
