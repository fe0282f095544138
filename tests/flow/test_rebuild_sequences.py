"""Whatever was built before, in whatever order, place or language, a build gives the bytes of a fresh one.

``BODYGEN_REBUILDS=40`` runs so many sequences, and four locales, over every kind of file; without it none.
A second Python is compared where ``BODYGEN_OTHER_PYTHON`` names one that has bodygen's libraries in the same versions.
"""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
import tomlkit
from recipe_strategies import seeded

from bodygen.building import build
from bodygen.errors import BodygenError, InputError
from bodygen.export.stl import write_stl
from bodygen.files.kinds import KINDS
from bodygen.files.made_with import made_with
from bodygen.pipeline import assess, shape
from bodygen.recipe.read import read_recipe, recipe_from_bytes

ROOT = Path(__file__).parents[2]
DEMOS = sorted((ROOT / "params").glob("*.toml"))
WANTED = int(os.environ.get("BODYGEN_REBUILDS", "0"))
QUICK = ("templates", "gauges", "block", "cradles", "mould", "carrier")
UNIVERSE = tuple(kind.name for kind in KINDS) if WANTED else QUICK
SMALL = Path(__file__).parent / "small-dace-48.toml"
STEPS = 3
SHOP = {
    "printer_bed": [["220 mm", "220 mm", "250 mm"], ["120 mm", "120 mm", "120 mm"]],
    "fit": ["press", "slide", "loose"],
    "follower_allowance": ["0.5 mm", "1 mm"],
    "shrink_percent": [0.5, 1.5],
    "scallop": ["0.05 mm", "0.1 mm"],
    "roughing": ["flat_3", "flat_6"],
    "profile_cutter": ["flat_2", "flat_3"],
    "bush": ["17 mm", "20 mm"],
    "cutter": ["6 mm", "8 mm"],
}


def changed(text, rng):
    """A recipe's text with one thing about it changed."""
    document = tomlkit.parse(text)
    way = rng.randrange(6)
    tables = [key for key in ("fitting", "mask", "coat", "bore") if len(document.get(key, ())) > 1]
    if way == 0:
        document["name"] = f"Bait {rng.randrange(100)}"
    elif way == 1:
        key = rng.choice(list(SHOP))
        document.setdefault("shop", {})[key] = rng.choice(SHOP[key])
    elif way == 2 and tables:
        rows = document[rng.choice(tables)]
        del rows[rng.randrange(len(rows))]
    else:
        table, key = rng.choice([pair for part in document.values() for pair in _figures(part)])
        table[key] = _nearly(table[key], rng)
    return tomlkit.dumps(document)


def _figures(part):
    """Every (table, key) below a part of the recipe whose value is a figure, bare or with its unit."""
    if isinstance(part, dict):
        for key, value in part.items():
            if isinstance(value, dict | list):
                yield from _figures(value)
            elif _split(value):
                yield part, key
    elif isinstance(part, list):
        for place, value in enumerate(part):
            if isinstance(value, dict | list):
                yield from _figures(value)
            elif _split(value):
                yield part, place


def _split(value):
    if isinstance(value, bool):
        return None
    if isinstance(value, int | float):
        return float(value), ""
    number, _, unit = str(value).partition(" ")
    try:
        return (float(number), unit) if unit in {"mm", "in", "g", "deg", "degC", "degF", "mil"} else None
    except ValueError:  # a fraction, a word
        return None


def _nearly(value, rng):
    number, unit = _split(value)
    moved = round(number * rng.uniform(0.97, 1.03), 4)
    if isinstance(value, int):
        moved = max(0, int(number) + rng.choice([-1, 1]))
    return f"{moved:g} {unit}" if unit else moved


def built(text, folder):
    """The recipe of a text that can be built; None where the change broke a rule."""
    try:
        recipe = recipe_from_bytes(text.encode(), folder / "bait.toml")
        return None if assess(recipe).failed else recipe
    except (InputError, BodygenError):
        return None


def contents(folder):
    return {path.name: path.read_bytes() for path in sorted(folder.iterdir())}


def differing(one, other):
    return sorted(name for name in one.keys() | other.keys() if one.get(name) != other.get(name))


@pytest.mark.skipif(not WANTED, reason="BODYGEN_REBUILDS asks for it, as CI does")
@pytest.mark.parametrize("seed", range(WANTED or 1))
def test_any_sequence_of_changes_ends_in_the_bytes_of_a_fresh_build(seed, tmp_path):
    rng = seeded(seed)
    demo = DEMOS[seed // 10 % len(DEMOS)] if seed % 10 == 3 else SMALL  # a demo's files take three times as long
    text = demo.read_text(encoding="utf-8")
    told = [demo.stem]
    for _ in range(STEPS):
        only = ",".join(rng.sample(UNIVERSE, rng.randint(1, len(UNIVERSE))))
        build(built(text, demo.parent), tmp_path / "often", "bait", only, replace_other=True)
        told.append(only)
        for _ in range(rng.choice([1, 1, 2, 3])):  # mostly one, so that most kinds are still current
            other = changed(text, rng)
            text = other if built(other, demo.parent) else text
    last = built(text, demo.parent)
    build(last, tmp_path / "often", "bait", ",".join(UNIVERSE), replace_other=True)
    build(last, tmp_path / "fresh", "bait", ",".join(UNIVERSE))
    often, fresh = (contents(tmp_path / way / "bait") for way in ("often", "fresh"))
    assert not differing(often, fresh), "\n".join([*told, text])


def test_a_mesh_recipe_in_two_folders_gives_the_same_bytes(tmp_path):
    """Where a recipe and its mesh lie stands in no file, nor does it enter a checksum that stands in one."""
    text = 'format = 1\nname = "Twice"\n[shape]\nmesh = "body.stl"\n[wood]\nspecies = "basswood"\n'
    found = []
    for place in ("one", "two/deeper"):
        folder = tmp_path / place
        folder.mkdir(parents=True)
        write_stl(shape(read_recipe(DEMOS[-1]))[0].mesh, folder / "body.stl", "body")
        (folder / "twice.toml").write_text(text, encoding="utf-8")
        build(read_recipe(folder / "twice.toml"), folder, "out", "pictures,templates,gauges,block,cradles")
        found.append(contents(folder / "out"))
    assert not differing(*found)


SPEAKING = """
import locale, sys
locale.setlocale(locale.LC_ALL, "")  # what Python leaves to others: libraries then write commas for points
from bodygen.cli import main
sys.exit(main(sys.argv[1:]))
"""


def built_elsewhere(python, out, only, **environment):
    """A whole new process of its own habits."""
    run = subprocess.run(
        [python, "-c", SPEAKING, "build", str(DEMOS[-1]), "--out", str(out), "--only", only],
        env={**os.environ, "PYTHONPATH": str(ROOT), **environment},
        capture_output=True,
        check=False,
    )
    assert run.returncode == 0, run.stderr.decode(errors="replace")
    return contents(out / DEMOS[-1].stem)


HABITS = (
    {"LC_ALL": "C.UTF-8", "PYTHONUTF8": "1", "PYTHONHASHSEED": "2"},
    {
        "LC_ALL": "de_DE.UTF-8",
        "PYTHONUTF8": "0",
        "PYTHONHASHSEED": "3",
        "TZ": "Asia/Kathmandu",
    },  # a comma for the point
    {"LC_ALL": "tr_TR.UTF-8", "PYTHONUTF8": "1", "PYTHONHASHSEED": "4"},  # a capital i keeps its dot
)
SPOKEN = ",".join(UNIVERSE) if WANTED else "lip,templates,block"


@pytest.fixture(scope="module")
def plain(tmp_path_factory):
    """Built by a process that knows ASCII and points."""
    habit = {"LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONHASHSEED": "1"}
    return built_elsewhere(sys.executable, tmp_path_factory.mktemp("plain"), SPOKEN, **habit)


@pytest.mark.skipif(not WANTED, reason="BODYGEN_REBUILDS asks for it, as CI does")
@pytest.mark.parametrize("habit", HABITS, ids=lambda habit: habit["LC_ALL"])
def test_a_build_is_the_same_in_every_locale(habit, plain, tmp_path):
    """STEP, PDF, DXF and programs are written by libraries of their own habits."""
    known = subprocess.run(
        [sys.executable, "-c", "import locale; locale.setlocale(locale.LC_ALL, '')"],
        env={**os.environ, **habit},
        capture_output=True,
        check=False,
    )
    if known.returncode:
        pytest.skip(f"NO LOCALE {habit['LC_ALL']} on this system: nothing was compared")
    assert not differing(plain, built_elsewhere(sys.executable, tmp_path, SPOKEN, **habit))


def test_another_python_with_the_same_libraries_writes_the_same_bytes(tmp_path):
    """The manifest names what it was made with, and may differ."""
    python = os.environ.get("BODYGEN_OTHER_PYTHON")
    if not python:
        pytest.skip("NO SECOND PYTHON at BODYGEN_OTHER_PYTHON: nothing was compared")
    ask = "import json; from bodygen.files.made_with import made_with; print(json.dumps(made_with()))"
    said = subprocess.run([python, "-c", ask], cwd=ROOT, capture_output=True, check=True, text=True)
    theirs, ours = json.loads(said.stdout), made_with()
    other = {name for name in ours if ours[name] != theirs[name]}
    assert other <= {"python", "zlib"}, "compare with the same versions"
    one, two = (built_elsewhere(p, tmp_path / str(i)) for i, p in enumerate((sys.executable, python)))
    assert set(differing(one, two)) <= {"manifest.json"}
