"""Offcut, tabs and bend as a recipe writes them: read to the millimetre, and refused where they contradict."""

from math import radians

import pytest

from bodygen.errors import InputError
from bodygen.recipe.read import read_recipe

BASE = """format = 1
[shape]
length = 70
depth = 20
thickness = 16
[wood]
species = "basswood"
[lip]
sheet = "polycarbonate"
thickness = 1.5
angle = "40 deg"
x = 9
slot_depth = 7
length = 16
width = 15
"""
SQUARE = "offcut = [[0, 0], [60, 0], [60, 40], [0, 40]]"


def lip_of(tmp_path, more):
    path = tmp_path / "bait.toml"
    path.write_text(BASE + more, encoding="utf-8")
    return read_recipe(path).lip


def test_they_are_read(tmp_path):
    more = (
        'bend = { distance = 9, angle = "-8 deg" }\n[lip.cutting]\nprocess = "laser"\nkerf = 0.2\ntabs = 3\n' + SQUARE
    )
    lip = lip_of(tmp_path, more)
    assert (lip.bend.distance, lip.bend.angle) == (9.0, pytest.approx(radians(-8)))
    assert lip.cutting.offcut == ((0.0, 0.0), (60.0, 0.0), (60.0, 40.0), (0.0, 40.0))
    assert (lip.cutting.tabs, lip.cutting.tab_width) == (3, None)


def test_left_out_there_are_none(tmp_path):
    lip = lip_of(tmp_path, "")
    assert (lip.bend, lip.cutting.offcut, lip.cutting.tabs) == (None, (), 0)


@pytest.mark.parametrize(
    ("more", "key", "says"),
    [
        ('bend = { distance = 16, angle = "8 deg" }', "lip.bend.distance", "not on the plate"),
        ("bend = { distance = 9 }", "lip.bend.angle", "missing"),
        (f"[lip.cutting]\nsheet_size = [100, 80]\n{SQUARE}", "lip.cutting.sheet_size", "does not go with offcut"),
        ("[lip.cutting]\ntabs = 2", "lip.cutting.tabs", 'process = "hand"'),
        ("[lip.cutting]\ntab_width = 2", "lip.cutting.tab_width", "no tabs"),
        ("[lip.cutting]\noffcut = [[0, 0], [60, 0]]", "lip.cutting.offcut", "not an outline"),
        ("[lip.cutting]\noffcut = [[0, 0], [60, 40], [60, 0], [0, 40]]", "lip.cutting.offcut", "meets itself"),
        ("[lip.cutting]\noffcut = [[0, 0], [60, 0], [60, 0], [0, 40]]", "lip.cutting.offcut", "meets itself"),
        ("[lip.cutting]\noffcut = [[0, 0], [60, 0], [30, 0]]", "lip.cutting.offcut", "meets itself"),
        ("[lip.cutting]\noffcut = [[0, 0], [60, 0], [0]]", "lip.cutting.offcut[3]", "not a list of 2"),
    ],
)
def test_a_contradiction_is_refused_by_its_key(tmp_path, more, key, says):
    with pytest.raises(InputError) as refused:
        lip_of(tmp_path, more)
    (mistake,) = refused.value.mistakes
    assert mistake.key == key
    assert says in mistake.problem
