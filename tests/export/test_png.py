"""A page as a picture: grey where nothing on it has a colour, and the colour asked for where something has."""

from io import BytesIO

import numpy as np
from PIL import Image

from bodygen.export.png import page_png
from bodygen.plane.page import PaperPage, Stroke

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
