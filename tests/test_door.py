"""The one door: what ``import bodygen`` gives, what it loads, and that the command line goes through it."""

import ast
import inspect
import json
import re
import shutil
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest
from lxml import etree

import bodygen
from bodygen.cli import main
from bodygen.export.svg import page_svg
from bodygen.files.pictures import waterline

ROOT = Path(__file__).parents[1]
PERCH = ROOT / "params" / "tarn-perch-70.toml"


@pytest.fixture(scope="module")
def perch():
    return bodygen.assess(bodygen.read_recipe(PERCH))


def _notebook():
    """The README's lines for a notebook."""
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    return re.search(r"^```python\n(.*?)^```$", readme, re.MULTILINE | re.DOTALL)[1]


def test_the_ten_line_notebook_of_the_readme_runs(tmp_path, monkeypatch):
    lines = _notebook()
    assert len(lines.splitlines()) <= 10
    shutil.copytree(ROOT / "params", tmp_path / "params")
    monkeypatch.chdir(tmp_path)
    names = {}
    exec(compile(lines, "README.md", "exec"), names)  # noqa: S102  the text under test
    assert (tmp_path / "out" / "tarn-perch-70" / "lip.dxf").is_file()
    assert names["bait"].recipe.name == "Tarn perch 70"


def test_the_door_names_what_it_has_and_nothing_else():
    assert dir(bodygen) == sorted(bodygen.__all__)
    for name in bodygen.__all__:
        assert getattr(bodygen, name) is not None
    with pytest.raises(AttributeError, match="'bodygen' has no attribute 'weigh'"):
        bodygen.weigh  # noqa: B018  asked for its error


def test_what_a_type_checker_sees_is_what_is_loaded():
    tree = ast.parse(inspect.getsource(bodygen))
    (seen,) = [node for node in tree.body if isinstance(node, ast.If)]
    imported = {alias.name: line.module for line in seen.body for alias in line.names}
    assert imported == bodygen._LIES_IN
    assert {*imported, "__version__"} == {*bodygen.__all__}


@pytest.mark.parametrize("name", sorted(set(bodygen.__all__) - {"__version__"}))
def test_every_name_of_the_door_has_a_docstring_and_a_function_says_what_it_raises(name):
    value = getattr(bodygen, name)
    assert inspect.getdoc(value)
    if inspect.isfunction(value) and name not in {"as_text", "properties"}:
        assert all(f"{title}\n---" in inspect.getdoc(value) for title in ("Parameters", "Returns", "Raises"))


def test_the_door_opens_without_numbers_or_kernels_until_a_name_is_used():
    heavy = "[m for m in ('numpy', 'scipy', 'manifold3d', 'OCP', 'cv2') if m in sys.modules]"
    code = f"import sys, bodygen; assert dir(bodygen); print({heavy})"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout == "[]\n"


def test_what_is_printed_of_a_bait_is_a_line(perch):
    shown = [perch.recipe, replace(perch.recipe, lip=None), perch, *perch.findings]
    for value in shown:
        assert len(repr(value)) < 200, repr(value)
        assert "\n" not in repr(value)
    assert repr(perch).startswith("<Assessment of 'Tarn perch 70': 9.9")
    assert repr(perch.recipe).endswith("5 bores, 8 fittings, 4 coats, a lip; " + PERCH.as_posix() + ">")
    assert repr(shown[1]).endswith("changed, in no file>")


def test_what_is_printed_of_offers_and_of_a_build_is_short(perch, tmp_path):
    solution = bodygen.solve_ballast(perch.recipe, bodygen.Goal(reserve=2.0))
    assert len(repr(solution)) < 800
    assert len(repr(solution).splitlines()) == 1 + len(solution.offers)
    made = bodygen.build(perch, tmp_path, only="carrier")
    where, count = (tmp_path / "tarn-perch-70").as_posix(), len(made.manifest.files)
    assert repr(made) == f"<Made {where}: {count} files, anew carrier>"


def test_a_notebook_shows_the_bait_at_its_waterline_as_a_build_draws_it(perch):
    shown = perch._repr_svg_()
    assert shown.startswith("<svg ")  # what stands inside a page is no file of its own
    assert etree.fromstring(shown.encode()).tag.endswith("svg")
    assert page_svg(waterline(perch)).endswith(shown)
    assert replace(perch, draw=None)._repr_svg_() is None


def test_a_recipe_from_text_is_the_recipe_of_the_file():
    text = PERCH.read_text(encoding="utf-8")
    assert bodygen.parse_recipe(text, PERCH) == bodygen.read_recipe(str(PERCH))
    assert bodygen.parse_recipe(text, PERCH).source == bodygen.read_recipe(PERCH).source
    with pytest.raises(bodygen.BodygenError, match=r"^recipe\.toml:1: "):
        bodygen.parse_recipe(text.replace("format", "fromat"))


def test_an_offer_written_into_the_recipe_is_the_bait_that_was_offered(perch):
    """To the digits that are written down."""
    offer = bodygen.solve_ballast(perch.recipe, bodygen.Goal(reserve=2.0)).offers[0]
    text = bodygen.rewrite(str(PERCH), offer.changes)
    again = bodygen.parse_recipe(text, PERCH)
    assert again.bores == offer.recipe.bores
    assert bodygen.assess(again).flotation.reserve_g == pytest.approx(offer.reserve_g, abs=1e-6)


def test_a_goal_is_the_recipes_own_or_handed_over_or_missed(perch):
    own = bodygen.solve_ballast(perch.recipe)
    assert own.goal == perch.recipe.goal
    with pytest.raises(bodygen.BodygenError, match=r"^goal: nothing is asked for\.\n    a table \[goal\]"):
        bodygen.solve_ballast(replace(perch.recipe, goal=None))


def test_a_changed_recipe_is_built_under_its_own_name(perch, tmp_path):
    changed = replace(perch.recipe, name="Tarn perch, tried")
    made = bodygen.build(changed, str(tmp_path), only="carrier")
    assert made.manifest.folder == tmp_path / "tarn-perch-tried"
    manifest = json.loads((made.manifest.folder / "manifest.json").read_text(encoding="utf-8"))
    assert manifest["recipe_sha256"] is None


def test_pictures_of_a_weighed_bait_are_not_kept_for_one_that_is_not(perch, tmp_path):
    """A build of the recipe alone, of the recipe with a reading, and of the recipe again: each has its own pictures."""
    weighed = bodygen.assess(perch.recipe, [("drilled", 5.2)])
    assert weighed.recipe == perch.recipe
    bars = []
    for bait in (perch, weighed, perch.recipe):
        made = bodygen.build(bait, tmp_path, only="pictures")
        assert made.anew == ("pictures",)
        bars.append((made.manifest.folder / "ledger.svg").read_bytes())
    assert bars[0] == bars[2] != bars[1]
    assert not bodygen.build(perch, tmp_path, only="pictures").anew


@pytest.mark.parametrize(
    ("command", "name"),
    [("check", "assess"), ("weigh", "assess"), ("ballast", "solve_ballast"), ("build", "build"), ("log", "assess")],
)
def test_the_command_line_goes_through_the_door(command, name, tmp_path, monkeypatch):
    def through(*_, **__):
        raise LookupError

    recipe = shutil.copy(PERCH, tmp_path)
    for one in (name, "read_recipe"):
        with monkeypatch.context() as patch:
            patch.setattr(bodygen, one, through)
            with pytest.raises(LookupError):
                main(["--debug", command, str(recipe)])
