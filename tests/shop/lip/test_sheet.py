"""Drawings of a lip: layers by what the machine does, lettering inside the plate."""

from dataclasses import replace
from math import cos, pi, radians

import pytest
from amount import MORE, only_with_more
from hypothesis import example, given, settings
from hypothesis import strategies as st
from shapely import LinearRing, Point, Polygon

from bodygen.errors import DesignError
from bodygen.plane.shapes import Arc, Circle, Line, Loop, Text, corners
from bodygen.recipe.model import Cutting, Lip, TieHole
from bodygen.shop.lip.plate import lip_plate
from bodygen.shop.lip.sheet import cutting_drawing, engraving, lip_layout, nominal_drawing, sheet_drawings
from bodygen.tables import load
from bodygen.units import length_text

CUT = Cutting("router", 1.0, 5, (120.0, 90.0), 2.0)
LIP = Lip("glass_epoxy", 1.575, pi / 4, 9.0, 24.0, 20.0, tie_hole=TieHole(1.6, 6.0), cutting=CUT)


def items(drawing, name):
    return [item for layer in drawing.layers if layer.name == name for item in layer.items]


def words(drawing):
    return " | ".join(i.label for layer in drawing.layers for i in layer.items if isinstance(i, Text))


def drawings():
    plate, _ = lip_plate(LIP, 13.0)
    sheets, _ = sheet_drawings(plate, LIP, "Tarn perch 70")
    nominal = nominal_drawing(plate, LIP, "Tarn perch 70", lambda mm: length_text(mm, "in"))
    return plate, nominal, cutting_drawing(plate, LIP, "Tarn perch 70"), sheets


def test_cut_layers_hold_nothing_but_loops_and_circles():
    _, nominal, path, sheets = drawings()
    for drawing in (nominal, path, *sheets):
        cut = [i for layer in drawing.layers if layer.role == "cut" for i in layer.items]
        assert cut
        assert all(isinstance(i, Loop | Circle) for i in cut)
        assert all(isinstance(p, Line | Arc) for i in cut if isinstance(i, Loop) for p in i.pieces)


def test_the_kerf_is_applied_once_to_the_cutting_drawing_and_not_to_the_nominal_one():
    plate, nominal, path, sheets = drawings()
    hole, outline = items(nominal, "CUT")
    assert (outline, hole.radius) == (plate.outline, 0.8)
    hole, outline = items(path, "CUT")
    assert hole.radius == pytest.approx(0.3)
    assert outline.length == pytest.approx(plate.outline.length + 2 * pi * 0.5, abs=0.01)
    assert "moved 0.500 mm for a cut 1 mm wide" in path.name
    assert sum(isinstance(i, Loop) for i in items(sheets[0], "CUT")) == 5


def test_holes_come_before_outlines_on_the_one_layer_that_is_cut():
    """A part that is cut free may move."""
    _, _, path, sheets = drawings()
    for drawing in (path, *sheets):
        (cut,) = [layer for layer in drawing.layers if layer.role == "cut"]
        kinds = [isinstance(item, Circle) for item in cut.items]
        assert kinds == sorted(kinds, reverse=True)
        assert any(kinds)


@only_with_more
@settings(max_examples=60 if MORE else 20)
@given(
    st.sampled_from([*load("outlines")["lip"], "points"]),
    st.floats(8, 60),
    st.floats(6, 50),
    st.floats(0.0, 3.0),
    st.sampled_from([0.0, 0.1, 0.2, 1.0, 2.0]),
    st.floats(3.0, 30.0),
    st.lists(st.floats(0.3, 1.0), min_size=3, max_size=8),
)
@example("coin", 20.0, 15.0, 1e-9, 0.2, 12.0, [0.5, 0.7, 1.0])  # a radius that rounds nothing
def test_no_arc_of_a_cut_is_one_that_readers_take_for_a_line(outline, length, width, radius, kerf, body, halves):
    """None shorter than 0.05 mm, nor under a degree where a line stays within 0.002 mm; and the cut has not moved.

    A quarter turn of 0.05 mm bulges by 0.0093 mm, which no cut shows.
    """
    points = (*((i * length / len(halves), width / 2 * half) for i, half in enumerate(halves)), (length, 0.0))
    shape = replace(LIP, outline=outline, length=length, width=width, corner_radius=radius, points=points)
    lip = replace(
        shape, tie_hole=None, cutting=Cutting("laser" if kerf < 1 else "router", kerf, 2, (300.0, 200.0), 2.0)
    )
    try:
        plate, _ = lip_plate(lip, body)
        drawn = (
            nominal_drawing(plate, lip, "a", str),
            cutting_drawing(plate, lip, "a"),
            *sheet_drawings(plate, lip, "a")[0],
        )
    except DesignError:
        return
    for drawing in drawn:
        loops = [item for item in items(drawing, "CUT") if isinstance(item, Loop)]
        assert loops
        for arc in (piece for loop in loops for piece in loop.pieces if isinstance(piece, Arc)):
            assert arc.length >= 0.05
            assert abs(arc.sweep) >= radians(1) or arc.radius * (1 - cos(arc.sweep / 2)) > 0.002
    true, (cut,) = LinearRing(plate.outline.points(0.0005)), items(drawn[1], "CUT")
    drawn_cut = LinearRing(cut.points(0.0005))
    for point in map(Point, cut.points(0.01)):
        assert true.distance(point) == pytest.approx(kerf / 2, abs=0.011)
    assert drawn_cut.is_simple


def test_the_nominal_drawing_says_every_size_in_the_recipes_units():
    _, nominal, _, _ = drawings()
    for size in (24.0, 20.0, 13.0, 8.5, 6.0, 1.6, 1.575, 1.675, 9.0):
        assert length_text(size, "in") in words(nominal)


def test_no_two_labels_of_the_nominal_drawing_overlap():
    """By their generous boxes."""
    _, nominal, _, _ = drawings()
    boxes = [
        Polygon([corners(t)[k] for k in (0, 1, 3, 2)]) for t in items(nominal, "MARK_DIMENSIONS") if isinstance(t, Text)
    ]
    assert not any(a.intersects(b) for i, a in enumerate(boxes) for b in boxes[:i])


@pytest.mark.parametrize("length", [8.0, 14.0, 24.0, 60.0])
def test_lettering_lies_on_the_plate_and_clear_of_the_hole(length):
    lip = Lip("polycarbonate", 1.5, pi / 4, 9.0, length, 0.8 * length, tie_hole=TieHole(1.6, 4.0))
    plate, _ = lip_plate(lip)
    free = Polygon(plate.outline.points(0.01), [h.points(0.01) for h in plate.holes])
    texts = engraving(plate, lip, "Tarn perch 70")
    assert all(free.contains(Polygon([corners(t)[k] for k in (0, 1, 3, 2)])) for t in texts)
    assert bool(texts) == (length > 10)
    assert all(t.height >= 1.0 for t in texts)


def test_a_wide_tongue_carries_the_lettering_out_of_sight():
    lip = Lip("polycarbonate", 1.5, pi / 4, 12.0, 40.0, 36.0)
    plate, _ = lip_plate(lip)
    assert all(t.at[0] < 0 for t in engraving(plate, lip, "Tarn perch 70"))


def test_a_hole_as_wide_as_the_cutter_is_marked_for_the_drill_and_not_cut():
    """1.5 mm through 1.5 mm: no path is left. The outline is cut, a cross as wide as the hole stands in its place."""
    lip = replace(LIP, tie_hole=TieHole(1.5, 6.0), cutting=replace(LIP.cutting, process="router", kerf=1.5))
    plate = lip_plate(lip, 13.0)[0]
    for drawing in (cutting_drawing(plate, lip, "bait"), sheet_drawings(plate, lip, "bait")[0][0]):
        cut = [item for layer in drawing.layers if layer.role == "cut" for item in layer.items]
        assert not any(isinstance(item, Circle) for item in cut)
        assert any(isinstance(item, Loop) for item in cut)
        (marks,) = (layer for layer in drawing.layers if layer.name == "MARK_DRILL")
        assert {round(line.length, 9) for line in marks.items} == {1.5}


def test_many_lips_are_laid_once_however_many_ask_and_the_first_is_told_how_far_it_is():
    plate = lip_plate(LIP, 16.0)[0]
    many, told = replace(LIP, cutting=replace(LIP.cutting, quantity=31)), []
    assert lip_layout(plate, many, told.append) is lip_layout(plate, many)
    assert any(text.startswith("0 of 31 parts lie") for text in told)
