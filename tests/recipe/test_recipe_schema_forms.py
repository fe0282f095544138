"""The schema takes and refuses values of a form of their own, lines and drills and corners, as ``check`` does."""

import tomllib

import pytest
from jsonschema import Draft7Validator

from bodygen.errors import InputError
from bodygen.recipe.read import recipe_from_bytes
from bodygen.recipe.schema import schema

VALIDATOR = Draft7Validator(schema())
GOOD = (
    'format = 1\nname = "Test perch"\nunits = "mm"\n\n[shape]\nlength = "70 mm"\ndepth = "22 mm"\nthickness = "16 mm"\n'
)
SHAPE = GOOD + "{} = {}\n"
LIP = GOOD + '[lip]\nsheet = "petg"\nthickness = 1.5\nangle = 40\nx = 9\nslot_depth = 5\n{} = {}\n'
CUT = LIP.replace("{} = {}", "length = 12\nwidth = 14\n[lip.cutting]\n{} = {}")
BORE = GOOD + '[[bore]]\nfrom = "belly"\nx = 30\ndepth = 8\n{} = {}\n'
SHOP = GOOD + "[shop]\n{} = {}\n"
LINE = "[[0, 0], [30, 8], [70, 0]]"
FORMS = {
    (SHAPE, "back"): [
        '"leaf"',
        '"Leaf"',
        "4",
        f"{{ points = {LINE} }}",
        f"{{ fractions = {LINE} }}",
    ],
    (SHAPE, "belly"): [
        "{ points = [[0, 0], [70, 0]] }",
        '{ points = [[0, 0], ["3 cm", "8 mm", "corner"], [70, 0]] }',
    ],
    (SHAPE, "plan"): [
        "{ points = [[0, 0], [30, 8, 1], [70, 0]] }",
        "{ points = [[0, 0], [30, 151], [70, 0]] }",
        "{ fractions = [[0, 0], [0.4, 1], [1, 0]] }",
        f"{{ points = {LINE}, fractions = {LINE} }}",
        "{}",
    ],
    (SHAPE, "widest"): [
        "{ fractions = [[0, 0], [0.4, -0.2], [1, 0]] }",
        '"leaf"',
        "{ fractions = [[0, 0], [0.4, -2], [1, 0]] }",
    ],
    (SHAPE, "squareness"): [
        "2.2",
        "0.5",
        "[[0, 2], [1, 3]]",
        '[["20 mm", 2], [60, 3]]',
        "[[0, 2], [20, 3]]",
        "[]",
        '"2"',
        "{ back = 2, belly = [[0.5, 2]] }",
        "{ plan = 2 }",
        '[["20 mm", 2]]',
        "{}",
        "[[0.5, 2, 'corner']]",
    ],
    (BORE, "drill"): [
        '"1/4"',
        '"#56"',
        '"# 5 6"',
        '"#81"',
        '"#0"',
        '"F"',
        '"Ä"',
        '"6.3 mm"',
        "6",
        "61",
        "true",
        '"6 g"',
        '"FF"',
    ],
    (LIP, "points"): [
        '[[0, 5], ["8 mm", 8], [15, 0]]',
        "[[0, 5]]",
        "[[0, 5, 1], [8, 8]]",
        "[[0, 5], [8, -1]]",
        "5",
        "[[0, 5], [15, 3]]",
        "[[0], [15, 3]]",
    ],
    (CUT, "offcut"): [
        '[[0, 0], [120, 0], ["9 cm", 60]]',
        "[[0, 0], [120, 0]]",
        "[[0, 0], [120, 0], [401, 60]]",
        "[0, 1, 2]",
        "[[0, 0], [120], [0, 60]]",
        "[[0, 0], [120, 0, 1], [0, 60]]",
    ],
    (SHOP, "spindle_speeds"): [
        "10000",
        "[10000, 16000]",
        "[]",
        "900",
        '"fast"',
        "[900]",
    ],
    (SHOP, "roughing"): [
        '"flat_2"',
        '"flat 1/16 in"',
        '"FLAT  2.0 mm"',
        '"flat 2 g"',
        '"round"',
        "2",
    ],
    (SHOP, "finishing"): [
        '"ball 3 mm"',
        '"flat_2"',
        '"ball"',
    ],
}


@pytest.mark.parametrize(
    ("around", "name", "value"),
    [pytest.param(*place, value, id=f"{place[1]} = {value}") for place, values in FORMS.items() for value in values],
)
def test_a_form_of_its_own_is_taken_and_refused_as_check_does(around, name, value, tmp_path):
    text = around.format(name, value)
    try:
        recipe_from_bytes(text.encode(), tmp_path / "bait.toml")
    except InputError:
        assert not VALIDATOR.is_valid(tomllib.loads(text))
    else:
        VALIDATOR.validate(tomllib.loads(text))
