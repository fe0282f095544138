"""Parts in a left-over piece of sheet: all inside, gaps kept, and about as many as the area promises."""

from itertools import combinations
from math import pi

import pytest
from shapely import Polygon

from bodygen.errors import DesignError
from bodygen.plane.nest import nested
from bodygen.plane.offcut import nested_in_offcut
from bodygen.plane.polygon import polygon, rectangle
from bodygen.plane.shapes import Placement, placed
from bodygen.recipe.model import Cutting, Lip
from bodygen.shop.lip.plate import lip_plate
from bodygen.shop.lip.sheet import sheet_drawings

TRAPEZE = ((0.0, 0.0), (120.0, 0.0), (90.0, 60.0), (0.0, 60.0))
CORNER = ((0.0, 0.0), (100.0, 0.0), (100.0, 40.0), (45.0, 40.0), (45.0, 95.0), (0.0, 95.0))
TURNED = tuple(Placement((30.0, -10.0), 0.4).of(point) for point in CORNER)
LIP = Lip("polycarbonate", 1.5, pi / 4, 8.0, 24.0, 20.0, slot_width=9.0)
PLATE, _ = lip_plate(LIP)


def held(offcut, quantity=99, gap=2.0, outline=PLATE.outline):
    nest = nested_in_offcut(outline, quantity, offcut, gap, outline.area)
    return nest, [Polygon(placed(outline, p).points(0.001)) for p in nest.sheets[0].placements]


@pytest.mark.parametrize("offcut", [TRAPEZE, CORNER, TURNED, TRAPEZE[::-1]])
def test_every_part_lies_inside_and_keeps_the_gap(offcut):
    _, parts = held(offcut)
    free = Polygon(offcut)
    assert len(parts) >= 4
    assert all(free.contains(part) for part in parts)
    assert min(part.distance(free.exterior) for part in parts) >= 2.0
    assert min(a.distance(b) for a, b in combinations(parts, 2)) >= 2.0


def test_a_turned_piece_holds_as_many_as_the_same_piece_straight():
    assert len(held(TURNED)[1]) == len(held(CORNER)[1])


def test_a_rectangle_of_rectangles_is_filled():
    """99 mm hold four of 22 mm with 2 mm gaps and edges, 51 mm two of 22 mm."""
    _, parts = held(((0.0, 0.0), (99.0, 0.0), (99.0, 51.0), (0.0, 51.0)), outline=rectangle(22.0, 22.0))
    assert len(parts) == 8


def test_triangles_fill_a_triangle():
    """A triangle four times as large holds four, with no gap but the allowance: the middle one is turned."""
    _, parts = held(((0.0, 0.0), (41.0, 0.0), (0.0, 31.0)), gap=0.1, outline=polygon([(0, 0), (19.6, 0), (0, 14.7)]))
    assert len(parts) >= 3


def test_no_more_than_wanted_are_laid_and_those_lie_close():
    nest, parts = held(TRAPEZE, 3)
    full, _ = held(TRAPEZE)
    assert len(parts) == 3
    assert (
        nest.sheets[0].occupied[0] * nest.sheets[0].occupied[1]
        < full.sheets[0].occupied[0] * full.sheets[0].occupied[1]
    )


def test_a_rectangle_as_offcut_holds_about_as_many_as_the_sheet_of_that_size():
    whole = nested(PLATE.outline, 60, (150.0, 100.0), 2.0)
    as_sheet = len(whole.sheets[0].placements)
    assert len(held(((0.0, 0.0), (150.0, 0.0), (150.0, 100.0), (0.0, 100.0)))[1]) >= as_sheet - 1


def test_the_drawing_shows_the_offcut_and_says_no_sheet_size():
    lip = Lip(
        "polycarbonate", 1.5, pi / 4, 8.0, 24.0, 20.0, slot_width=9.0, cutting=Cutting(quantity=4, offcut=TRAPEZE)
    )
    (sheet,), nest = sheet_drawings(PLATE, lip, "Tarn perch 70")
    (shown,) = (layer.items for layer in sheet.layers if layer.name == "MARK_SHEET")
    assert shown == (polygon(TRAPEZE),)
    assert len(nest.sheets) == 1


def test_an_offcut_too_small_for_one_part_is_refused_with_its_size():
    with pytest.raises(DesignError, match=r"no part fits an offcut 20 x 20 mm over all with 2 mm to the edge"):
        held(((0.0, 0.0), (20.0, 0.0), (20.0, 20.0)))
