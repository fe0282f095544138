"""Would the tests notice a slip of the pen? As in: python .ci/mutate.py --seed 7 --count 200.

Draws small changes at random over the files that compute (form, weights, flotation, ballast, and the shop's paths),
makes one at a time in a copy of the project, and runs the tests that are nearest to the changed file. Says of each
change how it was caught: by an assertion, by a crash, by taking for ever; or that it survived. The same seed draws the
same changes. With ``--covered`` (what pytest-cov's --cov-context=test wrote) and ``--times`` (pytest's --junitxml) the
tests that run the changed line are asked first, the quickest of them before all.

What it changes: numbers, arithmetic, comparisons, and/or, signs, min and max, sine and cosine. Not texts, not types.
"""

import argparse
import ast
import os
import random
import re
import shutil
import sqlite3
import subprocess
import sys
import tempfile
import xml.etree.ElementTree as ET
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from queue import Queue

ROOT = Path(__file__).parent.parent
PLACES = (
    *("bodygen/form/**/*.py", "bodygen/weights/*.py", "bodygen/flotation/*.py", "bodygen/ballast/**/*.py"),
    *(f"bodygen/shop/mill/{name}.py" for name in ("profile", "carve", "raster", "helix", "drop_cutter", "touching")),
    *(f"bodygen/shop/mill/{name}.py" for name in ("carving_setup", "job")),
    *(f"bodygen/plane/{name}.py" for name in ("kerf", "parallel", "arcs", "polygon")),
)
SWAPPED = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.Pow: ast.Mult,
    ast.Lt: ast.GtE, ast.GtE: ast.Lt, ast.Gt: ast.LtE, ast.LtE: ast.Gt, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq,
    ast.And: ast.Or, ast.Or: ast.And,
}  # fmt: skip
NAMES = {
    "min": "max", "max": "min", "sin": "cos", "cos": "sin", "argmin": "argmax", "argmax": "argmin",
    "minimum": "maximum", "maximum": "minimum", "floor": "ceil", "ceil": "floor", "any": "all", "all": "any",
}  # fmt: skip
LONGEST_S = 900.0
FIRST_S, MOST_S = 8.0, 60.0
NOTHING_TO_RUN = 5  # pytest of a file without an example


@dataclass(frozen=True, slots=True)
class Change:
    """One change: which node of which file, and what stands there then."""

    file: str
    node: int
    line: int
    what: str


def changes_of(path: Path) -> Iterator[Change]:
    """Every change that can be made to a file."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    file = path.relative_to(ROOT).as_posix()
    for number, node in enumerate(ast.walk(tree)):
        what = _described(node)
        if what:
            yield Change(file, number, node.lineno, what)  # type: ignore[attr-defined]


def _described(node: ast.AST) -> str:  # noqa: PLR0911  one answer a kind of change
    match node:
        case ast.Constant(value=bool()):
            return ""
        case ast.Constant(value=int() | float() as value):
            return f"{value} -> {_other(value)}"
        case ast.BinOp(op=op) if type(op) in SWAPPED and not _of_text(node):
            return f"{type(op).__name__} -> {SWAPPED[type(op)].__name__}"
        case ast.Compare(ops=[op]) if type(op) in SWAPPED:
            return f"{type(op).__name__} -> {SWAPPED[type(op)].__name__}"
        case ast.BoolOp(op=op):
            return f"{type(op).__name__} -> {SWAPPED[type(op)].__name__}"
        case ast.UnaryOp(op=ast.USub(), operand=operand) if not isinstance(operand, ast.Constant):
            return "minus sign dropped"
        case ast.Call(func=ast.Name(id=name) | ast.Attribute(attr=name)) if name in NAMES:
            return f"{name} -> {NAMES[name]}"
    return ""


def _of_text(node: ast.BinOp) -> bool:
    """Whether a sum is of texts, lists or types rather than numbers, as far as its own parts tell."""
    parts = [n for n in ast.walk(node) if isinstance(n, ast.JoinedStr | ast.List | ast.Tuple)]
    texts = [n for n in ast.walk(node) if isinstance(n, ast.Constant) and isinstance(n.value, str)]
    return bool(parts or texts) or isinstance(node.op, ast.BitOr)


def _other(value: float) -> float:
    if isinstance(value, int):
        return value + 1
    return value * 1.25 if value else 0.1


def changed(source: str, change: Change) -> str:
    """The file's text with the change made; only the changed line differs in layout."""
    tree = ast.parse(source)
    node = next(n for i, n in enumerate(ast.walk(tree)) if i == change.node)
    lines = source.splitlines(keepends=True)
    start = sum(len(line.encode()) for line in lines[: node.lineno - 1]) + node.col_offset  # type: ignore[attr-defined]
    end = sum(len(line.encode()) for line in lines[: node.end_lineno - 1]) + node.end_col_offset  # type: ignore[attr-defined]
    match node:
        case ast.Constant(value=value):
            new = repr(_other(value))
        case ast.BinOp(op=op) | ast.BoolOp(op=op):
            node.op = SWAPPED[type(op)]()
            new = f"({ast.unparse(node)})"
        case ast.Compare(ops=[op]):
            node.ops = [SWAPPED[type(op)]()]
            new = f"({ast.unparse(node)})"
        case ast.UnaryOp(operand=operand):
            new = f"({ast.unparse(operand)})"
        case ast.Call(func=func):
            if isinstance(func, ast.Name):
                func.id = NAMES[func.id]
            else:
                func.attr = NAMES[func.attr]
            new = ast.unparse(node)
        case _:
            raise AssertionError(change)
    raw = source.encode()
    return (raw[:start] + new.encode() + raw[end:]).decode()


def in_code(path: Path, change: Change) -> bool:
    """Whether the change is to what computes: no import, decorator, example or error's text."""
    line = path.read_text(encoding="utf-8").splitlines()[change.line - 1]
    return not re.search(r"^\s*(from|import|@|class|raise|msg =|>>>|assert)\b|noqa: S101", line)


def tests_for(file: str) -> list[list[str]]:
    """The tests to ask, nearest first: those that name the file's functions, its room's, then the whole job's."""
    room, stem = Path(*Path(file).parts[1:-1]), Path(file).stem
    named = [p for p in sorted((ROOT / "tests").rglob("test_*.py")) if _asks(p, room, stem)]
    own = [p for p in named if stem in p.stem]
    near = [p for p in named if p not in own]
    beside = next(folder for folder in (room, *room.parents) if (ROOT / "tests" / folder).is_dir())
    rest = [p for p in sorted((ROOT / "tests" / beside).glob("test_*.py")) if p not in named]
    far = [p for p in sorted((ROOT / "tests" / "published").glob("test_*.py")) if p not in named]
    flow = [ROOT / "tests/test_pipeline.py", ROOT / "tests/flow/test_random_recipes.py"]
    groups = [[*own, ROOT / file], near, [*rest, *far], flow]
    return [[p.relative_to(ROOT).as_posix() for p in group] for group in groups if group]


def _asks(test: Path, room: Path, stem: str) -> bool:
    dotted = re.escape(".".join(room.parts))
    return bool(re.search(rf"from bodygen\.{dotted}(\.{stem} import| import .*\b{stem}\b)", test.read_text("utf-8")))


Covering = dict[str, dict[int, list[tuple[float, str]]]]
"""File to line to (seconds, test), the quickest first."""


def covering(data: Path, times: Path) -> Covering:
    """Which tests run each line, from pytest-cov's data and pytest's junit file of the same run."""
    from coverage.numbits import numbits_to_nums  # noqa: PLC0415  only where a map is asked for

    took = {}
    for case in ET.parse(times).getroot().iter("testcase"):  # noqa: S314  our own pytest's file
        took[case.get("classname", "").replace(".", "/") + ".py::" + case.get("name", "")] = float(case.get("time", 0))
    found: Covering = {}
    rows = sqlite3.connect(data).execute(
        "select path, context, numbits from line_bits "
        "join file on file.id = file_id join context on context.id = context_id"
    )
    for path, context, bits in rows:
        test = context.rpartition("|")[0]
        if test.startswith("tests/"):
            of_file = found.setdefault(path, {})
            for line in numbits_to_nums(bits):
                of_file.setdefault(line, []).append((took.get(test, 1.0), test))
    return {file: {line: sorted(set(tests)) for line, tests in lines.items()} for file, lines in found.items()}


def asked_of(change: Change, known: Covering) -> list[list[str]]:
    """The tests that run a changed line: those that take ten seconds together first, then for two minutes more."""
    lines = next((lines for file, lines in known.items() if file.endswith(change.file)), {})
    # a constant of the module is read by lines that no test's context has
    asked = lines.get(change.line) or sorted(set().union(*lines.values()))
    groups: list[list[str]] = [[], []]
    spent = 0.0
    for seconds, test in asked:
        if groups[0] and spent > MOST_S:
            break
        groups[spent > FIRST_S].append(test)
        spent += seconds
    # what an earlier test left in a cache runs under that test's name alone: the file's own tests are asked besides
    return [group for group in (*groups, *tests_for(change.file)[:1]) if group]


def verdict(copy: Path, change: Change, known: Covering | None) -> str:
    """Make the change in the copy, ask the tests, put the file back."""
    path = copy / change.file
    source = path.read_text(encoding="utf-8")
    path.write_text(changed(source, change), encoding="utf-8")
    try:
        crashed = ""
        for group in tests_for(change.file) if known is None else asked_of(change, known):
            kind, told = _ask(copy, group)
            if kind == "assertion":
                return f"caught by an assertion ({told})"
            if kind == "slow":
                return "caught: it took for ever"
            crashed = crashed or told
        return f"caught by a crash ({crashed})" if crashed else "SURVIVED"
    finally:
        path.write_text(source, encoding="utf-8")


def _ask(copy: Path, tests: list[str]) -> tuple[str, str]:
    plugins = ("-p", "no:cacheprovider", "-p", "first_assertion")
    listed = copy / "asked.txt"
    listed.write_text("\n".join(tests), encoding="utf-8")
    words = [sys.executable, "-m", "pytest", "-q", "--maxfail=12", "--tb=line", *plugins, f"@{listed}"]
    try:
        done = subprocess.run(
            words, cwd=copy, capture_output=True, text=True, timeout=LONGEST_S, check=False, env=_env(copy)
        )
    except subprocess.TimeoutExpired:
        return "slow", ""
    if done.returncode in {0, NOTHING_TO_RUN}:
        return "", ""
    lines = [line for line in done.stdout.splitlines() if re.match(r"(E  |FAILED|ERROR|/|.*Error|.*: assert)", line)]
    asserted = r"AssertionError|: assert |DID NOT RAISE|Failed: |Regex pattern|DocTestFailure"
    told = [line for line in lines if re.search(asserted, line)]
    return ("assertion", told[0][-140:]) if told else ("crash", (lines or ["?"])[0][-140:])


def _env(copy: Path) -> dict[str, str]:
    return {**os.environ, "PYTHONPATH": f"{copy}:{ROOT / '.ci'}", "PYTHONDONTWRITEBYTECODE": "1"}


def drawn(seed: int, count: int, only: str) -> list[Change]:
    """The changes of a seed, as many of each file as its share of all that could be made."""
    paths = [p for pattern in PLACES for p in sorted(ROOT.glob(pattern)) if only in p.as_posix()]
    possible = [c for p in paths for c in changes_of(p) if in_code(p, c)]
    return random.Random(seed).sample(possible, min(count, len(possible)))  # noqa: S311  no secret


def main() -> int:
    """Draw, ask, tell; 0 whatever comes out: the figure is for a person to judge."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--count", type=int, default=20)
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--only", default="", help="files whose path holds this")
    parser.add_argument("--covered", type=Path, help="data of pytest-cov --cov-context=test")
    parser.add_argument("--times", type=Path, help="pytest's --junitxml of that run")
    parser.add_argument("--skip", type=int, default=0, help="the first so many of the draw, done before")
    options = parser.parse_args()
    changes = drawn(options.seed, options.count, options.only)[options.skip :]
    known = covering(options.covered, options.times) if options.covered else None
    tally: dict[str, int] = {}
    with tempfile.TemporaryDirectory() as folder, ThreadPoolExecutor(options.workers) as threads:
        copies: Queue[Path] = Queue()
        for i in range(options.workers):
            copy = Path(folder) / str(i)
            left_out = shutil.ignore_patterns(".git", ".venv", "out", "__pycache__", ".*_cache")
            shutil.copytree(ROOT, copy, ignore=left_out)
            copies.put(copy)

        def ask(change: Change) -> tuple[Change, str]:
            copy = copies.get()
            try:
                return change, verdict(copy, change, known)
            finally:
                copies.put(copy)

        for number, (change, told) in enumerate(threads.map(ask, changes), options.skip + 1):
            tally[told.split(" (")[0]] = tally.get(told.split(" (")[0], 0) + 1
            print(f"{number} {change.file}:{change.line}: {change.what}: {told}", flush=True)
    print(", ".join(f"{count} {what}" for what, count in sorted(tally.items())))
    return 0


if __name__ == "__main__":
    sys.exit(main())
