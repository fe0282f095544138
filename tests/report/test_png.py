"""The picture of a page: its size, its ink, and that it is the same every time."""

import struct
from io import BytesIO

import numpy as np
from PIL import Image

from bodygen.export.png import page_png
from bodygen.plane.page import Label, PaperPage, stroke

SQUARE = stroke([(10, 10), (30, 10), (30, 30), (10, 30)], "outline", closed=True)


def sheet(*marks):
    return PaperPage(50.8, 40.0, "test", "", marks)


def test_the_picture_is_as_large_as_the_page_and_says_so():
    """Header after RFC 2083 (PNG): width and height from byte 16; pHYs in pixels per metre, 100 per inch = 3937."""
    data = page_png(sheet(SQUARE), 100.0)
    assert struct.unpack(">II", data[16:24]) == (200, 157)
    at = data.index(b"pHYs") + 4
    assert struct.unpack(">IIB", data[at : at + 9]) == (3937, 3937, 1)


def test_ink_lies_where_the_marks_are():
    """A 20 mm square drawn with a 0.5 mm pen inks 80 * 0.5 mm^2 and a little at the corners."""
    pixels = np.asarray(Image.open(BytesIO(page_png(sheet(SQUARE), 254.0))))
    ink = (255 - pixels.astype(float)).sum() / 255 / 100  # 10 dots a millimetre
    assert abs(ink - 40.0) < 0.5
    assert pixels[100, 200] == 0
    assert pixels[200, 200] == 255


def test_lettering_stays_in_its_box_even_with_letters_of_no_face():
    label = Label("Ø3/16 (0.188) größer 鱒", (5.0, 20.0), 2.5)
    rows, columns = np.nonzero(np.asarray(Image.open(BytesIO(page_png(sheet(label), 254.0)))) < 128)
    x0, y0, x1, y1 = label.box
    assert x0 * 10 - 1 <= columns.min() < columns.max() <= x1 * 10 + 1
    assert y0 * 10 - 1 <= rows.min() < rows.max() <= y1 * 10 + 1


def test_the_same_page_gives_the_same_bytes():
    page = sheet(SQUARE, Label("$5 & more", (5.0, 20.0), 2.5, bold=True))
    assert page_png(page) == page_png(page)
