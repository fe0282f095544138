"""Where a recipe was read stands beside what it says; a changed recipe is in no file and does not claim to be."""

import pickle
from dataclasses import fields, replace
from pathlib import Path

import pytest

from bodygen.errors import DesignError, InputError
from bodygen.files.kinds import KINDS, digest_of
from bodygen.form.cuts.hung import hung
from bodygen.pipeline import assess, solve_ballast
from bodygen.recipe.model import Goal, Source, Wood, read_from
from bodygen.recipe.read import read_recipe, recipe_from_bytes
from bodygen.report.properties import properties
from bodygen.report.stamp import stamp

PERCH = Path(__file__).parents[2] / "params" / "tarn-perch-70.toml"
BARE = b"""format = 1
units = "mm"
[shape]
length = 60
depth = 16
thickness = 12
back = "leaf"
belly = "leaf"
plan = "leaf"
[wood]
density_g_cm3 = 0.4
[[bore]]
kind = "ballast"
from = "belly"
x = 25
diameter = 5
depth = 8
"""


@pytest.fixture(scope="module")
def perch():
    return read_recipe(PERCH)


@pytest.mark.parametrize("change", [{}, {"name": "other"}, {"bores": ()}, {"wood": Wood("balsa")}])
def test_a_changed_recipe_carries_no_hash_and_no_lines_of_the_old_one(perch, change):
    changed = replace(perch, **change)
    assert changed.source is None
    assert changed.sha256 is None
    assert changed.place("bore[2].x") == ("", 0)


def test_a_recipe_as_it_was_read_knows_its_file_its_hash_and_its_lines(perch):
    assert perch.place("bore[2].x") == (PERCH.as_posix(), 45)
    assert perch.place("bore[2].no such", "bore[2].x") == (PERCH.as_posix(), 45)
    assert pickle.loads(pickle.dumps(perch)).source == perch.source  # noqa: S301  our own


def test_where_everything_stands_is_looked_for_only_when_somebody_asks(perch):
    again = read_recipe(PERCH)
    assert "made" not in vars(again.source.lines)
    assert again.source.lines == perch.source.lines
    assert "made" in vars(again.source.lines)


@pytest.mark.parametrize("deep", range(380, 480, 4))  # tomllib gives up at about as many as our own look for places
def test_lists_inside_each_other_are_refused_in_words_however_deep(deep):
    text = BARE.replace(b"thickness = 12", b"thickness = " + b"[" * deep + b"1" + b"]" * deep)
    with pytest.raises(InputError, match=r"too deep inside each other|shape\.thickness = \[\[\["):
        recipe_from_bytes(text, Path("deep.toml"))


def test_recipes_that_say_the_same_are_equal_wherever_they_were_read(perch):
    other = recipe_from_bytes(PERCH.read_bytes() + b"\n# a remark\n", PERCH.with_name("elsewhere.toml"))
    assert other == perch
    assert other.sha256 != perch.sha256
    assert replace(perch) == perch
    assert hash(replace(perch)) == hash(perch)


def test_the_places_worked_out_for_fittings_are_no_change_of_the_recipe(perch):
    assert hung(perch, (a := assess(perch)).shaped.tools, a.shaped.caster).source == perch.source


def test_pages_and_figures_of_a_changed_recipe_name_no_hash(perch):
    changed = replace(perch, name="Tarn perch, tried")
    assert properties(assess(changed))["recipe_sha256"] is None
    assert stamp(changed).endswith("recipe changed, in no file")
    assert stamp(perch).endswith(f"recipe {perch.sha256[:8]}")


def test_files_of_two_changed_recipes_are_not_taken_for_each_other(perch):
    """What hangs on the whole recipe is known by the hash of its file; where there is none, by all that it says."""
    (pictures,) = [kind for kind in KINDS if kind.name == "pictures"]
    tried = [replace(perch, wood=Wood(density_g_cm3=density)) for density in (0.40, 0.41, 0.41)]
    first, second, third = (digest_of(pictures, recipe) for recipe in tried)
    assert first != second
    assert second == third
    assert digest_of(pictures, replace(perch)) != digest_of(pictures, perch)


def test_no_field_but_its_source_is_left_behind_by_a_change(perch):
    assert [f.name for f in fields(perch) if not f.init] == ["source"]
    assert read_from(replace(perch), perch.source).source is perch.source


def test_a_mistake_in_a_changed_recipe_is_told_without_a_place_and_found_with_one():
    """The search for ballast changes a recipe, and yet tells the line of what was wrong in it before."""
    recipe = recipe_from_bytes(BARE.replace(b"x = 25", b"x = 250"), Path("a.toml"))
    with pytest.raises(InputError) as read:
        assess(recipe)
    with pytest.raises(InputError) as changed:
        assess(replace(recipe))
    assert str(read.value).startswith("a.toml:")
    assert "a.toml" not in str(changed.value)
    assert changed.value.mistakes[0].key == read.value.mistakes[0].key
    assert not str(changed.value).startswith(":")
    assert recipe.source is not None
    located = changed.value.located("a.toml", recipe.source.lines)
    assert located.mistakes[0].file == "a.toml"
    assert located.mistakes[0].line == read.value.mistakes[0].line
    with pytest.raises(InputError) as searched:
        solve_ballast(recipe, Goal(reserve=2.0))
    assert str(searched.value) == str(located)


def test_a_fitting_on_a_bore_that_a_change_took_away_is_told_by_its_key(perch):
    bores = tuple(bore for bore in perch.bores if bore.kind != "eye")
    with pytest.raises(InputError, match=r'^fitting\[\d\]\.on = "eye socket": no such bore\.\n    one of ballast, .*'):
        assess(replace(perch, bores=bores))
    with pytest.raises(InputError, match=r"at = \[x, y, z\]$"):
        assess(replace(perch, bores=()))


def test_an_error_of_design_is_told_without_a_place_too():
    error = DesignError("no wood is left", "bore[1].depth", "drill less deep")
    assert str(error.located("", {})) == "bore[1].depth: no wood is left\n    drill less deep"
    assert str(error.located("a.toml", Source("a.toml", "", {"bore[1]": 7}).lines)).startswith("a.toml:7: ")
