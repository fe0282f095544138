"""A page as a picture: grey where nothing on it has a colour, and the colour asked for where something has."""

from io import BytesIO

import numpy as np
from PIL import Image

from bodygen.export import png
from bodygen.export.png import page_png
from bodygen.plane.page import PENS, PaperPage, Stroke

SQUARE = ((2.0, 2.0), (8.0, 2.0), (8.0, 8.0), (2.0, 8.0))


def picture(**ink):
    page = PaperPage(10.0, 10.0, "square", "made up", (Stroke(SQUARE, "outline", closed=True, **ink),))
    return Image.open(BytesIO(page_png(page, 254.0)))  # ten dots to a millimetre


def test_a_page_without_colours_is_grey():
    assert picture(fill="white").mode == "L"


def test_lines_and_fills_have_the_colours_asked_for():
    drawn = picture(fill="#44cc11", colour="#b22222")
    pixels = np.asarray(drawn)
    assert drawn.mode == "RGB"
    assert tuple(pixels[50, 50]) == (0x44, 0xCC, 0x11)
    assert tuple(pixels[50, 20]) == (0xB2, 0x22, 0x22)


def test_lines_drawn_many_at_once_are_the_same_pixels_as_one_by_one(monkeypatch):
    """Lines of every pen that cross, open and closed: where two meet, the later one lies over the earlier."""
    places = np.random.default_rng(5).uniform(0.5, 9.5, (len(PENS), 6, 4, 2)).tolist()
    marks = tuple(
        Stroke(tuple((x, y) for x, y in line), pen, closed=number % 2 == 1, colour=("black", "#b22222")[number // 3])
        for pen, lines in zip(PENS, places, strict=True)
        for number, line in enumerate(lines)
    )
    page = PaperPage(10.0, 10.0, "lines", "made up", marks)
    together = page_png(page, 254.0)
    monkeypatch.setattr(png, "_is_short_line", lambda _: False)
    assert page_png(page, 254.0) == together
