"""Did a change keep every figure? As in: python .ci/same_figures.py write before.json --files, and later compare.

    python .ci/same_figures.py write FILE [--count 300] [--files]
    python .ci/same_figures.py compare BEFORE AFTER

``write`` weighs the demos and so many random recipes (``tests/random_baits.py``, seeds 0 on) and keeps every figure,
with ``--files`` the sha256 of every file of the demos as well. ``compare`` names every figure that differs by more than
1e-6 of its size (or of 1), and every file that is not the same byte for byte.
"""

import argparse
import contextlib
import hashlib
import io
import json
import sys
import tempfile
from pathlib import Path
from typing import Any, TypeGuard

ROOT = Path(__file__).parent.parent
sys.path.insert(0, str(ROOT / "tests"))

from random_baits import random_bait  # noqa: E402

from bodygen.cli import main as bodygen  # noqa: E402

SAME = 1e-6
OWN = {"manifest.json"}
"""Files that carry the time of day or the program's own digests."""


def weighed(recipe: Path) -> dict[str, Any]:
    """What ``weigh --json`` says, or how the recipe was refused."""
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        code = bodygen(["weigh", str(recipe), "--json"])
    said = out.getvalue()
    return {"code": code, **(json.loads(said) if said else {"said": err.getvalue()})}


def written(count: int, *, files: bool) -> dict[str, Any]:
    """Every figure of the demos and of random recipes; the files' digests where asked for."""
    found: dict[str, Any] = {}
    demos = sorted((ROOT / "params").glob("*.toml"))
    with tempfile.TemporaryDirectory() as folder:
        for path in demos:
            found[path.stem] = weighed(path)
        for seed in range(count):
            bait, place = random_bait(seed), Path(folder) / str(seed)
            place.mkdir()
            for name, text in bait.files.items():
                (place / name).write_text(text, encoding="utf-8")
            (place / "bait.toml").write_text(bait.text(), encoding="utf-8")
            found[f"seed {seed}"] = json.loads(json.dumps(weighed(place / "bait.toml")).replace(str(place), ""))
        for path in demos if files else []:
            with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()):
                bodygen(["build", str(path), "--out", folder])
            made = sorted(p for p in (Path(folder) / path.stem).rglob("*") if p.is_file() and p.name not in OWN)
            found[f"files of {path.stem}"] = {p.name: hashlib.sha256(p.read_bytes()).hexdigest() for p in made}
    return found


def differences(before: object, after: object, where: str = "") -> list[str]:
    """Where two documents differ, in words."""
    if isinstance(before, dict) and isinstance(after, dict):
        one_sided = [f"{where}.{key}: only on one side" for key in sorted(before.keys() ^ after.keys())]
        both = [key for key in before if key in after]
        return one_sided + [d for key in both for d in differences(before[key], after[key], f"{where}.{key}")]
    if isinstance(before, list) and isinstance(after, list) and len(before) == len(after):
        return [
            d for i, (a, b) in enumerate(zip(before, after, strict=True)) for d in differences(a, b, f"{where}[{i}]")
        ]
    if _is_number(before) and _is_number(after):
        same = abs(before - after) <= SAME * max(1.0, abs(before))
    else:
        same = before == after
    return [] if same else [f"{where}: {before!r} -> {after!r}"[:300]]


def _is_number(value: object) -> TypeGuard[float]:
    return isinstance(value, int | float) and not isinstance(value, bool)


def main() -> int:
    """Write or compare; 1 where something differs."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    tasks = parser.add_subparsers(dest="task", required=True)
    write = tasks.add_parser("write")
    write.add_argument("file", type=Path)
    write.add_argument("--count", type=int, default=300)
    write.add_argument("--files", action="store_true")
    compare = tasks.add_parser("compare")
    compare.add_argument("before", type=Path)
    compare.add_argument("after", type=Path)
    asked = parser.parse_args()
    if asked.task == "write":
        found = written(asked.count, files=asked.files)
        asked.file.write_text(json.dumps(found, indent=1), encoding="utf-8")
        return 0
    before, after = (json.loads(path.read_text(encoding="utf-8")) for path in (asked.before, asked.after))
    told = differences(before, after)
    print("\n".join(told) or f"the same, {len(before)} entries")
    return 1 if told else 0


if __name__ == "__main__":
    sys.exit(main())
