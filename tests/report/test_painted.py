"""The painted picture: each layer where its region is, in its own colour, told apart in grey, too."""

from io import BytesIO

import manifold3d
import numpy as np
import pytest
from PIL import Image

import bodygen
from bodygen.export.png import page_png
from bodygen.plane.page import Label, Stroke
from bodygen.report.pictures.drawn.painted import layers_on, painted_sheet, whole
from bodygen.shop.masks.regions import side_view_of

BAIT = """\
format = 1
name = "Painted"
shape = { length = 60, depth = 18, thickness = 12, tail = { size = 0.2 } }
wood = { species = "basswood" }
[[bore]]
kind = "eye"
x = 12
height = 3
diameter = 4
depth = 0.6
mirror = true
[[mask]]
kind = "bars"
count = 3
[[mask]]
kind = "eye"
[[paint]]
colour = "khaki"
[[paint]]
colour = "darkolivegreen"
region = "back"
[[paint]]
colour = "#102030"
mask = "bars"
[[paint]]
colour = "orange"
mask = "eye"
"""


@pytest.fixture(scope="module")
def painted():
    a = bodygen.assess(bodygen.parse_recipe(BAIT))
    return a, painted_sheet(a)


def strokes(page, part):
    return [mark for mark in page.marks if isinstance(mark, Stroke) and mark.part == part]


def area(points):
    x, y = np.asarray(points).T
    return abs(float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1)))) / 2


def test_each_layer_fills_its_region_in_its_own_colour(painted):
    """At 4:1, the largest scale, as 60 mm are drawn 240 mm long; areas to the page's micrometres."""
    a, page = painted
    for layer in layers_on(a, side_view_of(a.shaped.caster), "left"):
        drawn = sum(area(mark.points) for mark in strokes(page, "paint") if mark.fill == layer.colour)
        assert drawn == pytest.approx(16 * layer.shape.area(), rel=1e-6)


def test_a_pixel_of_each_layer_has_its_colour(painted):
    """Just beside the dot of its number, read off the PNG at 200 dots to an inch."""
    _, page = painted
    pixels = Image.open(BytesIO(page_png(page))).convert("RGB")
    ends = [mark.points[1] for mark in strokes(page, "leader") if mark.colour == "black"]
    found = {pixels.getpixel((round((x + 0.9) / 25.4 * 200), round((y + 0.9) / 25.4 * 200))) for x, y in ends}
    assert found == {(0xF0, 0xE6, 0x8C), (0x55, 0x6B, 0x2F), (0x10, 0x20, 0x30), (0xFF, 0xA5, 0x00)}


def test_a_seam_is_white_with_black_in_it_so_that_grey_tells_colours_apart(painted):
    seams = strokes(painted[1], "seam")
    assert [(one.colour, one.points == other.points) for one, other in zip(seams[::2], seams[1::2], strict=True)] == [
        ("white", True)
    ] * (len(seams) // 2)
    assert {mark.colour for mark in seams[1::2]} == {"black"}


def test_the_list_says_number_name_and_place_of_each_layer(painted):
    said = [mark.text for mark in painted[1].marks if isinstance(mark, Label)]
    for row in (
        "khaki #f0e68c, all over",
        "darkolivegreen #556b2f, on the back",
        "#102030, through the mask bars",
        "orange #ffa500, through the mask eye",
    ):
        assert row in said
    assert {"1", "2", "3", "4", "left flank"} <= set(said)
    assert "right flank" not in said  # its mirror image


def test_flanks_that_differ_are_both_drawn():
    page = painted_sheet(bodygen.assess(bodygen.parse_recipe(BAIT.replace("mirror = true", "mirror = false"))))
    assert {"left flank", "right flank"} <= {mark.text for mark in page.marks if isinstance(mark, Label)}


def test_a_layer_that_is_covered_has_no_number_in_the_picture():
    covered = BAIT + '[[paint]]\ncolour = "white"\n'
    page = painted_sheet(bodygen.assess(bodygen.parse_recipe(covered)))
    assert len([mark for mark in strokes(page, "leader") if mark.colour == "black"]) == 1


def test_a_shape_with_a_hole_is_filled_in_parts():
    ring = manifold3d.CrossSection.circle(5.0, 64) - manifold3d.CrossSection.circle(3.0, 64)
    parts = whole(ring)
    assert sum(area(points) for points in parts) == pytest.approx(ring.area(), rel=1e-6)
    assert len(parts) >= 2
