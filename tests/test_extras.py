"""What an installation without extras can do, and what it says of the rest. Libraries are hidden, not uninstalled."""

import json
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest
from amount import MORE
from leaves import SHAPE

import bodygen
from bodygen import extras
from bodygen.cli import main
from bodygen.extras import EXTRAS, MissingExtraError, missing, refuse_missing
from bodygen.files.kinds import KINDS

ROOT = Path(__file__).parents[1]
PERCH = ROOT / "params" / "tarn-perch-70.toml"
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
MODULES = {"cadquery-ocp-novtk": "OCP", "opencv-python-headless": "cv2", "pillow": "PIL"}
"""Distributions that bring a module of another name."""
LITTLE = f"""{SHAPE}
back = "leaf"
[wood]
species = "balsa"
[water]
salinity = 30
[[bore]]
kind = "eye"
from = "side"
x = 17
height = 2.5
diameter = 4
depth = 1.5
[[bore]]
name = "tie"
kind = "tie"
from = "back"
x = 30
diameter = 2
depth = 4
[[fitting]]
kind = "wire"
size = "0.7 mm"
on = "tie"
bent = {{ form = "line_tie" }}
[lip]
sheet = "polycarbonate"
thickness = 1
angle = 40
x = 7
slot_depth = 4
length = 9
width = 8
[[fitting]]
kind = "screw_eye"
size = "1 x 12 mm"
at = [0, 0, 0]
[[fitting]]
kind = "screw_eye"
size = "1 x 12 mm"
at = [50, 0, 0]
[[mask]]
kind = "back"
[goal]
reserve = "2 g"
"""
"""A little bait of which every kind has something to make, and quickly."""
COMMANDS = {
    "photo": "no kind: `trace page`, `trace photo`",
    "scan": "no kind: `trace scan`",
    "page": "no kind: `serve`",
    "study": "no kind: `study`",
}
BARE = [kind.name for kind in KINDS if not kind.needs]
HIDDEN = """
import json, sys
hide, runs = json.loads(sys.argv[1])
for name in hide:
    sys.modules[name] = None
from bodygen.cli import main
sys.exit(max(main(words) for words in runs))
"""


def distributions(lines):
    return {re.match(r"[\w-]+", line)[0] for line in lines}


def hidden(names, *runs):
    """Run commands one after the other in a process that has none of these libraries."""
    words = [sys.executable, "-c", HIDDEN, json.dumps([sorted(names), runs])]
    return subprocess.run(words, capture_output=True, text=True, check=False)


def without(*given):
    """Modules of all extras but these."""
    return {m for modules in EXTRAS.values() for m in modules} - {m for extra in given for m in EXTRAS[extra]}


@pytest.fixture
def little(tmp_path):
    path = tmp_path / "leaf.toml"
    path.write_text(LITTLE, encoding="utf-8")
    return str(path)


@pytest.fixture
def bare(monkeypatch):
    for module in without():
        monkeypatch.setitem(sys.modules, module, None)


def test_each_extra_installs_the_libraries_that_are_looked_for():
    for extra, modules in EXTRAS.items():
        brought = {MODULES.get(name, name) for name in distributions(PROJECT["optional-dependencies"][extra])}
        assert brought == {*modules}, extra


def test_no_library_of_an_extra_is_a_dependency_of_all():
    needed = {MODULES.get(name, name) for name in distributions(PROJECT["dependencies"])}
    assert not needed & without()


def test_dev_brings_every_extra_and_the_readmes_first_command_all_but_the_large_one_that_builds_nothing():
    every, first = (f"[{','.join(extras)}]" for extras in (EXTRAS, [one for one in EXTRAS if one != "study"]))
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    assert f"pip install -q -e '.{first}'" in re.search(r"^```sh\n(.*)$", readme, re.MULTILINE)[1]
    assert f"bodygen{every}" in PROJECT["optional-dependencies"]["dev"]


def test_the_readme_says_which_kinds_need_which_extra():
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    for extra in EXTRAS:
        kinds = ", ".join(f"`{kind.name}`" for kind in KINDS if extra in kind.needs)
        assert f"| `{extra}` | {kinds or COMMANDS[extra]} |" in readme


def test_an_installation_without_extras_weighs_floats_ballasts_logs_and_starts_a_recipe(little, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    done = hidden(
        without(),
        ["new", "Tarn leaf two", "--from", little],
        *([command, little] for command in ("weigh", "check")),
        ["bore", "6 mm", "--depth", "9 mm"],
        ["log", little, "--start", "pale board"],
        ["completion", "bash"],
        ["explain", "bore.depth"],
        ["build", little, "--only", ",".join(BARE if MORE else ["block"])],
        ["ballast", "tarn-leaf-two.toml", "--bores", "one", "--metal", "tungsten_putty", "--reserve", "2 g"],
    )
    assert done.returncode == 0, done.stderr
    assert "wrote tarn-leaf-two.toml" in done.stderr
    assert (tmp_path / "bench-log.sqlite").exists()
    assert {path.suffix for path in (tmp_path / "out" / "leaf").iterdir()} == {".html", ".stl", ".txt", ".json"}


@pytest.mark.parametrize(
    "extra", [e for e in EXTRAS if e not in ({*COMMANDS} if MORE else {"mill", "paper", *COMMANDS})]
)
def test_kinds_need_the_extras_that_they_name_and_no_other(extra, little, tmp_path):
    kinds = [kind.name for kind in KINDS if {*kind.needs} == {extra}]
    done = hidden(without(extra), ["build", little, "--out", str(tmp_path), "--only", ",".join(kinds)])
    assert (done.returncode, done.stderr) == (0, ""), done.stderr
    manifest = json.loads((tmp_path / "leaf" / "manifest.json").read_text(encoding="utf-8"))
    assert {name for name, kind in manifest["kinds"].items() if kind["files"]} == {*kinds}


def test_a_kind_whose_libraries_are_hidden_cannot_be_made(little, tmp_path):
    """Or the hiding would show nothing: the same kinds, let through by a list that names no library."""
    code = HIDDEN.replace(
        "from bodygen.cli", "import bodygen.files.writing as k; k.refuse_missing = lambda *_: None\nfrom bodygen.cli"
    )
    words = json.dumps([sorted(without()), [["build", little, "--out", str(tmp_path), "--only", "carrier"]]])
    done = subprocess.run([sys.executable, "-c", code, words], capture_output=True, text=True, check=False)
    assert done.returncode == 3
    assert "import of ezdxf halted" in done.stderr


def test_a_build_without_extras_is_refused_in_one_line_before_any_work(bare, tmp_path, capsys, monkeypatch):
    monkeypatch.setattr("bodygen.building.assess", lambda _: pytest.fail("worked before it asked"))
    assert main(["build", str(PERCH), "--out", str(tmp_path / "out")]) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert told.err == (
        "extras that are not installed: cad (for solids), "
        "paper (for lip, pictures, templates, gauges, masks, carrier, card, wire), "
        "mill (for gcode). In bodygen's own folder: "
        "pip install '.[cad,paper,mill]'; or --only block,cradles,mould,calendar\n"
    )
    assert not (tmp_path / "out").exists()


def test_a_kind_asked_for_alone_names_its_own_extra_and_no_way_around(bare, tmp_path):
    with pytest.raises(MissingExtraError) as caught:
        bodygen.build(bodygen.read_recipe(PERCH), tmp_path, only="lip,carrier")
    assert str(caught.value) == (
        "extras that are not installed: paper (for lip, carrier). In bodygen's own folder: pip install '.[paper]'"
    )
    assert isinstance(caught.value, bodygen.BodygenError)


def test_a_mesh_has_no_step_and_so_needs_no_kernel(bare, tmp_path):
    from bodygen.export.stl import write_stl

    write_stl(bodygen.assess(bodygen.parse_recipe(LITTLE)).shaped.mesh, tmp_path / "b.stl", "b")
    text = 'format = 1\nname = "mesh"\n[shape]\nmesh = "b.stl"\n[wood]\nspecies = "balsa"\n'
    made = bodygen.build(bodygen.parse_recipe(text, tmp_path / "b.toml"), tmp_path / "out", only="solids")
    assert "body.stl" in {file.name for file in made.manifest.files}


def test_nothing_is_said_where_everything_is_there(monkeypatch):
    monkeypatch.setattr(extras, "EXTRAS", {"one": ("json",), "two": ("no_such_module",), "three": ()})
    assert missing(["one", "two", "three"]) == ("two",)
    refuse_missing({"a": ("one", "three"), "b": ()}, "{}")
    with pytest.raises(
        MissingExtraError, match=r"^extras that are not installed: two \(for c\)\. .*'\.\[two\]'; or take a,b$"
    ):
        refuse_missing({"a": ("one",), "b": (), "c": ("two", "one")}, "take {}")


def test_no_library_of_an_extra_may_be_loaded_where_a_module_begins():
    """Or whatever imports that module would need the extra; the linter holds the list."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    banned = project["tool"]["ruff"]["lint"]["flake8-tidy-imports"]["banned-module-level-imports"]
    assert without() <= {*banned}


def test_a_page_in_the_browser_says_what_it_needs_in_one_line(tmp_path):
    done = hidden(without("cad"), ["serve", str(tmp_path), "--no-open"])
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.count("\n") == 1
    assert "pip install '.[page]'" in done.stderr


@pytest.mark.parametrize(
    "words", [["page"], ["photo", "side.png", "--page", "a4", "--name", "x"]], ids=["page", "photo"]
)
def test_a_page_and_its_photographs_say_what_they_need_in_one_line(words, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    done = hidden(without(), ["trace", *words])
    assert (done.returncode, done.stdout, done.stderr.count("\n")) == (2, "", 1)
    assert f"photo (for trace {words[0]})" in done.stderr
    assert "pip install '.[photo]'" in done.stderr
    assert not list(tmp_path.iterdir())
