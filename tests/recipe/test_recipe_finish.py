"""``[finish]`` and ``[[paint]]``: days, hours and colours as they may be written."""

from pathlib import Path

import pytest

from bodygen import tables
from bodygen.errors import InputError
from bodygen.recipe.read import recipe_from_bytes

BODY = 'format = 1\nname = "Test"\nshape = { length = 70, depth = 22, thickness = 16 }\n'
COLOURS = tables.load("colours")["colour"]["srgb"]


def read(extra):
    return recipe_from_bytes((BODY + extra).encode(), Path("x.toml"))


@pytest.mark.parametrize("written", ['"2031-03-04"', "2031-03-04", '" 2031-03-04 "'])
def test_a_day_may_be_a_text_or_tomls_own_date(written):
    assert read(f"[finish]\nstart = {written}\n").finish.start == "2031-03-04"


@pytest.mark.parametrize("written", ["2031-02-29", "31-03-04", "20310304", "1492-10-12"])
def test_a_day_that_is_none_is_refused(written):
    """2031 is no leap year; the others are no dates as ISO 8601's extended form has them, or before any bench."""
    with pytest.raises(InputError, match="not a day of the calendar"):
        read(f'[finish]\nstart = "{written}"\n')


@pytest.mark.parametrize(("written", "hour"), [('"18:30"', 18.5), ('"7:15"', 7.25), ("18:30:00", 18.5)])
def test_an_hour_may_be_a_text_or_tomls_own_time(written, hour):
    assert read(f"[finish]\nopens = {written}\n").finish.opens == hour


def test_weekdays_are_taken_short_and_put_in_order():
    found = read('[finish]\ndays = ["sat", "Tues", "Thursday", "Sat"]\n').finish.days
    assert found == ("Tuesday", "Thursday", "Saturday")


@pytest.mark.parametrize(
    ("written", "colour"),
    [("olivedrab", "#6b8e23"), ("Olive Drab", "#6b8e23"), ("#FA0", "#ffaa00"), ("#6B8E23", "#6b8e23")],
)
def test_colours_are_names_or_digits(written, colour):
    (paint,) = read(f'[[paint]]\ncolour = "{written}"\n').paints
    assert (paint.colour, paint.name, paint.region, paint.mask) == (colour, written, None, None)


def test_the_names_of_colours_are_those_of_the_open_standard():
    """CSS Color Module Level 4, section 6.1, as matplotlib has its names."""
    from matplotlib.colors import CSS4_COLORS

    assert {name: value.lower() for name, value in CSS4_COLORS.items()} == COLOURS
