"""Key paths and lines against awkward TOML; every path and value also against what tomllib reads."""

import tomllib

import pytest
from recipe_strategies import random_recipe_text, seeded

from bodygen.recipe.text.source_positions import join, places

AWKWARD = '''# [not.a] = table
format = 1
a.b.c = "x = [y"  # c
'odd key' = { x = 1, "y.z" = [1, 2.5, {k = 3}], w.v = 1979-05-27 07:32:00.5 }
text = """
[not.a]
k = 1 """"
raw = \'\'\'
k = "\'\'\'
[shape] # it's a table
points = [
  [0, 1], # c ]
  [1,
   2],
]
[[bore]]
x = 1
[bore.fill]
mass = -1.5e3
[[bore]]
x=2
 [ bore . fill ]
mass=2
[[bore.sub]]
z=1
[[bore.sub]]
z=2
["quo\\"ted"]
"\\u00e9" = 1
'''


def test_awkward_toml_is_placed_line_by_line():
    found = {path: place.line for path, place in places(AWKWARD).items()}
    expected = {
        "format": 2,
        "a": 3,
        "a.b.c": 3,
        '"odd key"': 4,
        '"odd key".x': 4,
        '"odd key"."y.z"[3].k': 4,
        '"odd key".w.v': 4,
        "text": 5,
        "raw": 8,
        "shape": 10,
        "shape.points": 11,
        "shape.points[1]": 12,
        "shape.points[2]": 13,
        "shape.points[2][2]": 14,
        "bore": 16,
        "bore[1]": 16,
        "bore[1].x": 17,
        "bore[1].fill": 18,
        "bore[1].fill.mass": 19,
        "bore[2]": 20,
        "bore[2].x": 21,
        "bore[2].fill.mass": 23,
        "bore[2].sub[1].z": 25,
        "bore[2].sub[2]": 26,
        "bore[2].sub[2].z": 27,
    }
    assert {path: found.get(path) for path in expected} == expected


def paths(value, path=""):
    """Every key path in what tomllib read."""
    if isinstance(value, dict):
        for key, inner in value.items():
            yield join(path, key)
            yield from paths(inner, join(path, key))
    elif isinstance(value, list):
        for number, inner in enumerate(value, start=1):
            yield f"{path}[{number}]"
            yield from paths(inner, f"{path}[{number}]")


@pytest.mark.parametrize("text", [AWKWARD, *(random_recipe_text(seeded(seed)) for seed in range(20))])
def test_the_scan_finds_exactly_what_tomllib_finds(text):
    assert set(places(text)) == set(paths(tomllib.loads(text)))


def test_values_are_kept_as_written_on_one_line_and_cut_short():
    found = places(AWKWARD)
    assert found["a.b.c"].written == '"x = [y"'
    assert found["bore[1].fill.mass"].written == "-1.5e3"
    assert found['"odd key".w.v'].written == "1979-05-27 07:32:00.5"
    assert found["shape.points[2]"].written == "[1, 2]"
    assert found['"odd key"'].written.endswith("...")
    assert found["bore[1]"].written == ""
