"""The three angles of a lip on its drawing: each by what it is measured from, and right for the solid that is cut."""

from dataclasses import replace
from math import acos, degrees, radians

import numpy as np
import pytest
from shaped import recipe, shaped
from shapely import LineString, Polygon

from bodygen.form.cuts import slot_of
from bodygen.plane.shapes import Arc, Line, Text, corners
from bodygen.shop.lip.angles import angle_sketches
from bodygen.shop.lip.plate import lip_plate
from bodygen.shop.lip.sheet import angle_lines, nominal_drawing
from bodygen.units import length_text

LIP = recipe("tarn-perch-70").lip


def _figures(lip):
    return [float(line.partition(":")[2].split(" deg")[0].split()[-1]) for line in angle_lines(lip)]


@pytest.mark.parametrize(("name", "face"), [("tarn-perch-70", (0, 0, 1)), ("fell-reed-110", (1, 0, 0))])
def test_the_saw_leans_as_the_slot_does_from_the_face_that_it_enters(name, face):
    along = np.array(slot_of(shaped(name).tools).along)
    plate, saw, block = _figures(recipe(name).lip)
    assert saw == pytest.approx(degrees(acos(float(along @ face))), abs=0.05)  # told to a tenth
    assert plate == block == pytest.approx(degrees(acos(float(along[0]))), abs=0.05)


def test_a_slot_beyond_straight_down_runs_ahead():
    _, saw, block = angle_lines(replace(LIP, angle=radians(100)))
    assert "10.0 deg" in saw
    assert saw.endswith("runs ahead")
    assert block.endswith("none, it would be a needle")


@pytest.mark.parametrize(("degrees_", "none"), [(3.0, True), (45.0, False), (88.0, True)])
def test_no_block_is_told_where_none_is_made(degrees_, none):
    assert ("needle" in angle_lines(replace(LIP, angle=radians(degrees_)))[2]) == none


def test_the_drawing_has_all_three_in_lines_of_their_own():
    plate, _ = lip_plate(LIP, 10.0)
    drawn = nominal_drawing(plate, LIP, "perch", lambda mm: length_text(mm, "mm"), "")
    said = [item.label for layer in drawn.layers for item in layer.items if isinstance(item, Text)]
    assert [line for line in said if line in angle_lines(LIP)] == list(angle_lines(LIP))


SKETCHED = [("belly", angle) for angle in (0.0, 5.0, 40.0, 84.0, 90.0, 100.0)] + [("nose", 0.0), ("nose", 25.0)]


@pytest.mark.parametrize(("entry", "angle"), SKETCHED)
def test_each_angle_is_sketched_by_itself_as_large_as_it_is_lettered(entry, angle):
    """The arc of each sketch sweeps what the lettering beside it says; where there is no block there is no sketch."""
    lip = replace(LIP, angle=radians(angle), entry=entry)
    items = angle_sketches(lip, (0.0, 0.0))
    figures = [item for item in items if isinstance(item, Text) and item.label.endswith("deg")]
    assert [float(item.label.split()[0]) for item in figures] == pytest.approx(_told(lip), abs=0.051)
    arcs = [item for item in items if isinstance(item, Arc)]
    assert [degrees(arc.sweep) for arc in arcs] == pytest.approx([told for told in _told(lip) if told > 0.5], abs=0.06)
    assert len(figures) == 3 - ("needle" in angle_lines(lip)[2])


def _told(lip):
    return [float(line.partition(":")[2].split(" deg")[0].split()[-1]) for line in angle_lines(lip) if "deg" in line]


@pytest.mark.parametrize(("entry", "angle"), SKETCHED)
def test_no_line_of_a_sketch_runs_through_its_letters(entry, angle):
    """By the generous boxes of the letters."""
    items = angle_sketches(replace(LIP, angle=radians(angle), entry=entry), (0.0, 0.0))
    boxes = [Polygon([corners(t)[k] for k in (0, 1, 3, 2)]) for t in items if isinstance(t, Text)]
    lines = [LineString(item.points(0.01)) for item in items if not isinstance(item, Text)]
    assert not [box for box in boxes for line in lines if box.intersects(line)]
    assert not [one for i, one in enumerate(boxes) for other in boxes[:i] if one.intersects(other)]


def test_the_plate_points_ahead_and_down_and_the_cut_aft_and_up():
    """Of the perch: 40 deg below straight ahead; the cut goes into the wood along the same line."""
    items = angle_sketches(LIP, (0.0, 0.0))
    lines = [item for item in items if isinstance(item, Line)]
    plate, cut = lines[1], lines[4]
    for line, way in ((plate, -1), (cut, 1)):
        along = np.subtract(line.end, line.start) / line.length
        assert along == pytest.approx(way * np.array([np.cos(LIP.angle), np.sin(LIP.angle)]))
