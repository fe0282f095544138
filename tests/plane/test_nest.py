"""Sheets of equal parts: nothing overlaps, gaps are kept, and the yield is measured on what was laid."""

from functools import cache
from itertools import combinations
from math import pi

import numpy as np
import pytest
from shapely import Polygon, total_bounds

from bodygen.errors import DesignError
from bodygen.plane.nest import nested
from bodygen.plane.patterns import CELL_MM, _extremes
from bodygen.plane.polygon import polygon, rectangle
from bodygen.plane.shapes import placed
from bodygen.recipe.model import Lip
from bodygen.shop.lip.plate import lip_plate


@cache
def plate(outline):
    return lip_plate(Lip("polycarbonate", 1.5, pi / 4, 8.0, 24.0, 20.0, slot_width=9.0, outline=outline))[0]


@cache
def nest_of_24(outline, gap):
    return nested(plate(outline).outline, 24, (300.0, 200.0), gap, plate(outline).area)


def laid(outline, sheet):
    return [Polygon(placed(outline, p).points(0.001)) for p in sheet.placements]


@pytest.mark.parametrize(
    ("outline", "gap"), [("shovel", 1.0), ("spade", 1.0), ("coin", 1.0), ("wedge", 1.0), ("shovel", 3.0)]
)
def test_parts_keep_the_gap_to_each_other_and_to_the_edge(outline, gap):
    loop = plate(outline).outline
    nest = nest_of_24(outline, gap)
    parts = [laid(loop, sheet) for sheet in nest.sheets]
    assert sum(map(len, parts)) == 24
    for sheet in parts:
        assert min(a.distance(b) for a, b in combinations(sheet, 2)) >= gap
        x0, y0, x1, y1 = total_bounds(sheet)
        assert min(x0, y0) >= gap - 1e-9
        assert (x1 <= 300 - gap, y1 <= 200 - gap) == (True, True)


@pytest.mark.parametrize(("outline", "least"), [("shovel", 0.77), ("spade", 0.82), ("coin", 0.78), ("wedge", 0.746)])
def test_24_lips_on_a_laser_use_three_quarters_of_what_they_occupy_and_beat_boxes(outline, least):
    """Measured again on the laid polygons, 1 mm apart; the wedge's ragged ends leave it just under three quarters."""
    one = plate(outline)
    nest = nest_of_24(outline, 1.0)
    (parts,) = [laid(one.outline, sheet) for sheet in nest.sheets]
    x0, y0, x1, y1 = total_bounds(parts)
    measured = sum(p.area for p in parts) / ((x1 - x0) * (y1 - y0))
    assert nest.yield_share == pytest.approx(measured, abs=0.001)
    assert measured >= least
    assert nest.yield_share > nest.plain_share


def test_rectangles_with_no_gap_but_the_allowance_fill_their_sheet():
    nest = nested(rectangle(20, 10), 24, (300.0, 200.0), 0.0)
    assert nest.plain_share == pytest.approx(1.0)
    assert nest.yield_share > 0.98


def test_triangles_pair_up_to_parallelograms():
    """Boxes waste half of a right triangle; two turned to each other waste nothing but the ends of the rows."""
    nest = nested(polygon([(0, 0), (20, 0), (0, 10)]), 40, (300.0, 200.0), 0.5)
    assert nest.plain_share < 0.5
    assert nest.yield_share > 0.8


def test_what_does_not_fit_goes_on_further_sheets():
    loop = plate("shovel").outline
    nest = nested(loop, 24, (100.0, 80.0), 3.0)
    assert len(nest.sheets) > 1
    counts = [len(s.placements) for s in nest.sheets]
    assert sum(counts) == 24
    assert counts == sorted(counts, reverse=True)


def test_the_same_parts_are_laid_the_same_way_every_time():
    loop = plate("coin").outline
    assert nested(loop, 7, (120.0, 90.0), 2.0) == nested(loop, 7, (120.0, 90.0), 2.0)


def test_a_sheet_too_small_for_one_part_is_refused_with_its_size():
    with pytest.raises(DesignError, match=r"no part fits a sheet of 20 x 20 mm with 3 mm to the edge"):
        nested(plate("coin").outline, 1, (20.0, 20.0), 3.0)


@pytest.mark.parametrize("outline", ["shovel", "wedge"])
def test_many_parts_lie_as_close_as_when_every_length_of_row_is_tried(outline, monkeypatch):
    """At least 95 % of that yield, from a bounded number of arrangements."""
    loop = plate(outline).outline
    few = nested(loop, 70, (400.0, 300.0), 3.0)
    monkeypatch.setattr("bodygen.plane.nest._SOME", 1000)
    assert few.yield_share >= 0.95 * nested(loop, 70, (400.0, 300.0), 3.0).yield_share


def test_a_long_search_tells_how_far_it_is_and_a_short_one_is_silent():
    """40 parts of 20 x 10 on sheets for 25: it says how many lie after the first sheet, and lays them no otherwise."""
    loop, told = rectangle(20, 10), []
    nest = nested(loop, 40, (105.0, 53.0), 0.5, say=told.append)
    first = len(nest.sheets[0].placements)
    assert 0 < first < 40
    assert told[0] == "40 parts: which way they lie closest"
    assert told[1] == "0 of 40 parts lie; 0 % of the next sheet tried"
    assert f"{first} of 40 parts lie; 0 % of the next sheet tried" in told
    assert len(told) == 1 + 4 * len(nest.sheets)
    assert nest == nested(loop, 40, (105.0, 53.0), 0.5)
    few = []
    nested(loop, 4, (105.0, 53.0), 0.5, say=few.append)
    assert few == []


def test_strips_hold_what_is_highest_and_lowest_of_an_outline_and_no_more():
    """A star of 40 uneven rays, upright edges among them, held against 200 points on each edge."""
    far = np.random.default_rng(2).uniform(2.0, 6.0, 40)
    angle = np.linspace(0.0, 2 * pi, 40, endpoint=False)
    corners = np.column_stack([far * np.cos(angle), far * np.sin(angle)])
    corners[5::8, 0] = corners[4::8, 0]
    corners -= corners.min(axis=0)
    high, low = _extremes(corners)
    share = np.linspace(0.0, 1.0, 201)[:, None, None]
    points = (corners + share * (np.roll(corners, -1, axis=0) - corners)).reshape(-1, 2)
    strip = np.minimum((points[:, 0] / CELL_MM).astype(int), len(high) - 1)
    assert (high[strip] >= points[:, 1] - 1e-9).all()
    assert (low[strip] <= points[:, 1] + 1e-9).all()
    seen_high, seen_low = np.full(len(high), -np.inf), np.full(len(high), np.inf)
    np.maximum.at(seen_high, strip, points[:, 1])
    np.minimum.at(seen_low, strip, points[:, 1])
    around = [
        np.max([np.roll(seen_high, s) for s in (-1, 0, 1)], 0),
        np.min([np.roll(seen_low, s) for s in (-1, 0, 1)], 0),
    ]
    assert (high <= around[0] + 0.05).all()  # the points lie up to 0.04 mm apart
    assert (low >= around[1] - 0.05).all()
