"""Make small slips in the heart of the program, one at a time, and tell which ones no test catches.

python tools/mutants.py [MUTANTS] [SEED] [PLACES]    200 of book/, belief and decision: an hour or two

PLACES are files or folders of src/kettlewell. First every file of tests runs alone on the sound program,
and what lines it comes by is noted. Then each slip is made in a copy of the sources, and the files that
come by its line run: those of the same name first, then those of its rooms, the quickest first, for two
minutes of them in all, until a test fails. A slip that makes them compute without end counts as caught,
and is told. What survives is printed as a difference, to be caught by a test or to be shown to change
nothing.
"""

import ast
import os
import random
import resource
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from difflib import unified_diff
from enum import Enum
from pathlib import Path
from queue import SimpleQueue

from coverage import CoverageData

ROOT = Path(__file__).resolve().parents[1]
SRC, TESTS = ROOT / "src", ROOT / "tests"
CORES = 2
PLACES = ("book", "core/belief", "core/decision")
RUN_S, PATIENCE = 120, 3  # a slip's tests together, as they take on the sound program, and how often that
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


class Ended(Enum):
    """How tests ended."""

    PASSED = "survived"
    FAILED = "."
    NEVER = "(no end)"


@dataclass(frozen=True, slots=True, kw_only=True)
class Slip:
    """A file, the lines in which the slip is made, and what the file holds then."""

    file: Path
    lines: frozenset[int]
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


def counted(tree: ast.AST, statement: int = 1) -> Iterator[tuple[int, ast.AST]]:
    """Yield the nodes that are run (no annotations, no decorators) and where their statement begins."""
    for name, found in ast.iter_fields(tree):
        if name in {"annotation", "returns", "decorator_list", "type_params"}:
            continue
        for node in found if isinstance(found, list) else [found]:
            if isinstance(node, ast.AST):
                begins = node.lineno if isinstance(node, ast.stmt) else statement
                yield begins, node
                yield from counted(node, begins)


def slips(file: Path) -> Iterator[Slip]:
    """Yield every slip that can be made in a file."""
    source = file.read_bytes()
    starts = [0]
    for line in source.splitlines(keepends=True):
        starts.append(starts[-1] + len(line))
    for statement, node in counted(ast.parse(source)):
        for instead in other(node):
            begin = starts[node.lineno - 1] + node.col_offset
            end = starts[node.end_lineno - 1] + node.end_col_offset
            made = f"({ast.unparse(ast.fix_missing_locations(instead))})".encode()
            yield Slip(
                file=file,
                lines=frozenset(range(statement, node.end_lineno + 1)),
                text=(source[:begin] + made + source[end:]).decode(),
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class Tests:
    """A file of tests: how long it takes on the sound program, in s, and what lines it runs."""

    file: Path
    takes_s: float
    runs: Mapping[Path, frozenset[int]]

    @classmethod
    def of(cls, file: Path, copy: Path) -> "Tests | None":
        """Run a file of tests on a sound copy; what fails as it is catches nothing, and is told."""
        with tempfile.NamedTemporaryFile() as noted:
            trace = ("-m", "coverage", "run", f"--data-file={noted.name}", f"--source={copy}")
            begun = time.perf_counter()
            if ended(copy, (*trace, *PYTEST, str(file)), None) is not Ended.PASSED:
                print(f"{file.relative_to(ROOT)} is left out: it fails as it is.", flush=True)
                return None
            takes_s = time.perf_counter() - begun
            data = CoverageData(noted.name)
            data.read()
            runs = {
                SRC / Path(name).relative_to(copy): frozenset(data.lines(name) or ())
                for name in data.measured_files()
            }
        return cls(file=file, takes_s=takes_s, runs=runs)


def tests_of(slip: Slip, all_tests: Sequence[Tests]) -> Iterator[Tests]:
    """Yield the tests that come by a slip, its own and those of its rooms first, until they take too long."""
    namesake, rooms = f"test_{slip.file.stem}.py", {TESTS.name, *slip.file.parts}

    def far(tests: Tests) -> tuple[bool, bool, float]:
        return tests.file.name != namesake, tests.file.parent.name not in rooms, tests.takes_s

    passing = (tests for tests in all_tests if slip.lines & tests.runs.get(slip.file, frozenset()))
    left_s = RUN_S
    for tests in sorted(passing, key=far):
        left_s -= tests.takes_s
        if left_s < 0:
            return
        yield tests


def ended(copy: Path, command: tuple[str, ...], patience_s: float | None) -> Ended:
    """Return how a command ends with a copy of the sources, in so much time of the processor."""
    one_thread = dict.fromkeys(("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"), "1")
    env = {**os.environ, **one_thread, "PYTHONPATH": str(copy), "PYTHONDONTWRITEBYTECODE": "1"}
    # examples that are kept would fail for every slip once the sound program has failed one
    with tempfile.TemporaryDirectory() as examples:
        env["HYPOTHESIS_STORAGE_DIRECTORY"] = examples
        process = subprocess.Popen(  # noqa: S603 - our own tests
            [sys.executable, *command],
            cwd=ROOT,
            env=env,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        if patience_s is not None:
            limit_s = int(patience_s) + 1
            resource.prlimit(process.pid, resource.RLIMIT_CPU, (limit_s, limit_s + 1))
        code = process.wait()
    if code in {-signal.SIGXCPU, -signal.SIGKILL}:
        return Ended.NEVER
    return Ended.PASSED if code in {0, NOTHING_COLLECTED} else Ended.FAILED


def tried(copy: Path, slip: Slip, all_tests: Sequence[Tests]) -> Ended:
    """Return how the tests end once a slip is made in a copy of the sources."""
    run = list(tests_of(slip, all_tests))
    if not run:
        return Ended.PASSED
    name = copy / slip.file.relative_to(SRC)
    name.write_text(slip.text, "utf-8")
    try:
        patience_s = PATIENCE * (RUN_S / 4 + sum(tests.takes_s for tests in run))
        return ended(copy, (*PYTEST, *(str(tests.file) for tests in run)), patience_s)
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
        files = sorted(TESTS.rglob("test_*.py"))
        all_tests = [tests for tests in pool.map(lambda file: Tests.of(file, sound), files) if tests]
        print(f"{len(all_tests)} files of tests run.", flush=True)

        def try_out(slip: Slip) -> Ended:
            copy = copies.get()
            try:
                return tried(copy, slip, all_tests)
            finally:
                copies.put(copy)

        ends = []
        for slip, end in zip(drawn, pool.map(try_out, drawn), strict=True):
            ends.append(end)
            print(end.value, end="" if end is Ended.FAILED else f"\n{slip.difference}\n", flush=True)
    unending = f", {ends.count(Ended.NEVER)} of them by computing without end" if Ended.NEVER in ends else ""
    print(f"\n{len(ends) - ends.count(Ended.PASSED)} of {len(ends)} slips caught{unending}.")


if __name__ == "__main__":
    main(*sys.argv[1:])
