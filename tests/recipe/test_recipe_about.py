"""Each key once: it says what it is, its example is taken, and what stands for it is what the reader takes."""

import re
from dataclasses import fields
from pathlib import Path

import pytest

from bodygen.errors import InputError
from bodygen.recipe.about import FIELDS, MODELS, accepted, every_key, example, left_out, names_of, unit_of
from bodygen.recipe.keys import RECIPE
from bodygen.recipe.read import recipe_from_bytes
from bodygen.recipe.text.read_context import ReadContext, read_value

KEYS = dict(every_key())
PLAIN = {path: key for path, key in KEYS.items() if not key.table}
BODY = '[shape]\nlength = "70 mm"\ndepth = "22 mm"\nthickness = "16 mm"\n'
BORE = '[[bore]]\nfrom = "belly"\nx = 30\ndepth = 8\n'
LIP = '[lip]\nsheet = "polycarbonate"\nthickness = 1.5\nangle = 40\nx = 9\nslot_depth = 5\n'
AROUND = {
    "outline": BODY,
    "widest": BODY,
    "squareness": BODY,
    "drill": BODY + BORE,
    "plate": BODY + LIP,
    "corners": BODY + LIP + "length = 12\nwidth = 14\n[lip.cutting]\n",
    "speeds": BODY + "[shop]\n",
    "date": BODY + "[finish]\n",
    "clock": BODY + "[finish]\n",
    "colour": BODY + "[[paint]]\n",
}
"""A recipe that wants but a line with a value of this form, in its last table."""


def test_every_key_says_what_it_is_in_one_sentence():
    assert [path for path, key in KEYS.items() if not key.about or "\n" in key.about] == []
    assert [path for path, key in PLAIN.items() if re.search(r"\. |\.$", key.about)] == []


def test_what_stands_for_a_key_is_told_unless_it_must_be_there():
    assert [path for path, key in PLAIN.items() if bool(left_out(path, key)) == key.required] == []


@pytest.mark.parametrize("path", [path for path, key in PLAIN.items() if key.kind != "other"])
def test_an_example_is_taken(path):
    ctx = ReadContext("x.toml", Path(), {})
    read_value(ctx, path, KEYS[path].example, KEYS[path])
    assert ctx.mistakes == []
    if KEYS[path].names:
        assert KEYS[path].example in names_of(KEYS[path])


@pytest.mark.parametrize("path", [path for path, key in PLAIN.items() if key.kind == "other"])
def test_an_example_of_a_form_of_its_own_is_taken(path):
    line = example(path, KEYS[path]).splitlines()[-1]
    text = f"format = 1\n{AROUND[KEYS[path].form]}{line}\n"
    recipe_from_bytes(text.encode(), Path("x.toml"))
    with pytest.raises(InputError, match=re.escape(path.rpartition(".")[2])):
        recipe_from_bytes(text.replace(line, f"{path.rpartition('.')[2]} = true").encode(), Path("x.toml"))


def test_the_example_of_a_table_has_every_key_that_must_be_there():
    for path, key in KEYS.items():
        if key.table:
            needed = [name for name, one in key.table.items() if one.required and not one.table]
            assert all(f"\n{name} = " in example(path, key) for name in needed)
    assert example("bore.fill.level", KEYS["bore.fill.level"]) == "[bore.fill]\nlevel = 0.9"
    assert example("bore", RECIPE["bore"]).startswith("[[bore]]\n")


def test_a_default_that_is_told_is_the_one_that_the_reader_takes():
    """As the model has it; words of its own are for what no single value says."""
    told = 0
    for path, key in PLAIN.items():
        table, _, name = path.rpartition(".")
        if table not in MODELS or key.required or key.left_out:
            continue
        (default,) = [one.default for one in fields(MODELS[table]) if one.name == FIELDS.get(name, name)]
        shown = re.sub(r" \(.*\)$", "", left_out(path, key))
        value = {"true": True, "false": False}.get(shown, shown.strip('"'))
        if key.kind in {"number", "whole"}:
            value = int(shown) if key.kind == "whole" else float(shown)
        elif key.kind == "lengths":
            value = [f"{one} mm" for one in shown.removesuffix(" mm").split(" x ")]
        assert read_value(ReadContext("x.toml", Path(), {}), path, value, key) == pytest.approx(default), path
        told += 1
    assert told > 25


def test_bounds_are_told_in_the_unit_of_a_bare_number():
    assert accepted(KEYS["line.length_m"]) == "length, 0.5 to 300 m"
    assert accepted(KEYS["shop.fastest_feed"]) == "speed, 10 to 30000 mm/min"
    assert accepted(KEYS["lip.angle"]) == "angle, 0 to 110 deg"
    assert unit_of(KEYS["water.salinity"]) == ""


def test_a_figure_of_the_tables_is_told_with_its_fraction_of_an_inch():
    assert left_out("limits.bore_to_skin", KEYS["limits.bore_to_skin"]) == (
        "3.175 mm (1/8 in), in balsa 4.7625 mm (3/16 in)"
    )
    assert left_out("shop.printer_bed", KEYS["shop.printer_bed"]) == "220 x 220 x 250 mm"
