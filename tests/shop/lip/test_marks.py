"""Marks for tabs and a bend: on the plate, clear of the tongue, and no gap in what is cut."""

from dataclasses import replace
from math import hypot, pi, radians

import pytest
from shapely import LineString, Point, Polygon

from bodygen.plane.shapes import Loop, Text, corners
from bodygen.recipe.model import Bend, Cutting, Lip
from bodygen.shop.lip.marks import bend_mark, tab_marks, tab_width
from bodygen.shop.lip.plate import lip_plate
from bodygen.shop.lip.sheet import cutting_drawing, engraving, nominal_drawing, sheet_drawings
from bodygen.tables import load

CUT = Cutting("router", 2.0, 3, (120.0, 90.0), 3.0, tabs=2)
LIP = Lip("polycarbonate", 1.5, pi / 4, 9.0, 24.0, 20.0, slot_width=9.0, outline="shovel", cutting=CUT)
FAMILIES = tuple(load("outlines")["lip"])


def codes(lip):
    return {finding.code for finding in lip_plate(lip)[1]}


def names(drawing):
    return {layer.name for layer in drawing.layers}


@pytest.mark.parametrize("family", FAMILIES)
@pytest.mark.parametrize("tabs", [1, 2, 3])
def test_tabs_are_as_wide_as_told_and_clear_of_the_tongue(family, tabs):
    lip = replace(LIP, outline=family, cutting=replace(CUT, tabs=tabs, tab_width=2.0))
    plate, _ = lip_plate(lip)
    edge = LineString((*plate.outline.points(0.001), plate.outline.points(0.001)[0]))
    marks = tab_marks(plate.outline, lip.cutting)
    assert len(marks) == tabs
    for pair in marks:
        crossings = [LineString((tick.start, tick.end)).intersection(edge) for tick in pair]
        assert all(isinstance(place, Point) for place in crossings)
        first, last = sorted(edge.project(place) for place in crossings)
        along = min(last - first, edge.length - (last - first))  # a tab may lie over the edge's own start
        assert along == pytest.approx(2.0, abs=2e-3)  # of an edge drawn to 0.001 mm
        assert min(place.x for place in crossings) > 0
        (ux, uy), (vx, vy) = ((t.end[0] - t.start[0], t.end[1] - t.start[1]) for t in pair)
        assert (ux * vx + uy * vy) / (hypot(ux, uy) * hypot(vx, vy)) > 0.86  # the edge hardly turns under a tab


def test_two_tabs_lie_across_from_each_other():
    plate, _ = lip_plate(LIP)
    (low, _), (high, _) = (pair for pair in tab_marks(plate.outline, CUT))
    assert low.start[1] < -5 < 5 < high.start[1]


def test_a_tick_reaches_across_the_cut():
    plate, _ = lip_plate(LIP)
    tick = tab_marks(plate.outline, CUT)[0][0]
    inside, outside = Polygon(plate.outline.points(0.001)), load("lips")["tab"]["tick_mm"]
    assert inside.contains(Point(tick.start))
    assert inside.distance(Point(tick.end)) == pytest.approx(1.0 + outside, abs=0.05)


def test_the_path_stays_one_closed_loop_with_tabs_and_nothing_is_marked_without():
    plate, _ = lip_plate(LIP)
    marked = cutting_drawing(plate, LIP, "Tarn perch 70")
    bare = cutting_drawing(plate, replace(LIP, cutting=replace(CUT, tabs=0)), "Tarn perch 70")
    assert [layer for layer in marked.layers if layer.role == "cut"] == [l for l in bare.layers if l.role == "cut"]
    assert all(isinstance(item, Loop) for layer in marked.layers if layer.role == "cut" for item in layer.items)
    assert names(marked) - names(bare) == {"MARK_TABS"}
    (sheet,), _ = sheet_drawings(plate, LIP, "Tarn perch 70")
    assert sum(len(layer.items) for layer in sheet.layers if layer.name == "MARK_TABS") == 3 * 2 * 2


def test_a_tab_is_as_wide_as_usual_for_the_machine_unless_told():
    assert tab_width(Cutting("laser", tabs=2)) < tab_width(CUT)
    assert tab_width(replace(CUT, tab_width=1.5)) == 1.5


def test_more_tabs_than_the_edge_holds_are_doubted_with_how_many_it_holds():
    lip = replace(LIP, cutting=replace(CUT, tabs=12))
    plate, findings = lip_plate(lip)
    (doubt,) = (f for f in findings if f.code == "lip-tabs")
    assert doubt.limit == len(tab_marks(plate.outline, lip.cutting)) < 12
    assert "lip-tabs" not in codes(LIP)


@pytest.mark.parametrize("family", FAMILIES)
def test_the_bend_runs_from_edge_to_edge_with_its_angle_beside_it(family):
    lip = replace(LIP, outline=family, bend=Bend(12.0, radians(-10)))
    plate, _ = lip_plate(lip)
    line, text = bend_mark(plate.outline, lip)
    edge = LineString((*plate.outline.points(0.001), plate.outline.points(0.001)[0]))
    assert line.start[0] == line.end[0] == 12.0
    assert max(edge.distance(Point(p)) for p in (line.start, line.end)) < 0.02
    assert Polygon(plate.outline.points(0.01)).buffer(0.02).contains(LineString((line.start, line.end)))
    assert text.label == "bend 10° up"
    boxes = [Polygon([corners(t)[k] for k in (0, 1, 3, 2)]) for t in (text, *engraving(plate, lip, "Tarn perch 70"))]
    assert not any(a.intersects(b) for i, a in enumerate(boxes) for b in boxes[:i])


def test_the_bend_is_on_every_drawing_and_on_every_lip_of_the_sheet():
    lip = replace(LIP, bend=Bend(12.0, radians(8)))
    plate, _ = lip_plate(lip)
    (sheet,), _ = sheet_drawings(plate, lip, "Tarn perch 70")
    nominal = nominal_drawing(plate, lip, "Tarn perch 70", str)
    assert all("MARK_BEND" in names(d) for d in (nominal, cutting_drawing(plate, lip, "Tarn perch 70"), sheet))
    texts = [i for layer in sheet.layers if layer.name == "MARK_BEND" for i in layer.items if isinstance(i, Text)]
    assert [t.label for t in texts] == ["bend 8° down"] * 3


@pytest.mark.parametrize(("sheet", "bends"), [("polycarbonate", True), ("aluminium", True), ("glass_epoxy", False)])
def test_a_sheet_that_does_not_bend_is_doubted(sheet, bends):
    """Laminates of glass and epoxy do not take a set: common practice, no published source."""
    found = codes(replace(LIP, sheet=sheet, bend=Bend(12.0, radians(8))))
    assert ("lip-sheet-bend" not in found) == bends
    assert "lip-bend-flat" in found
    assert not {"lip-sheet-bend", "lip-bend-flat"} & codes(LIP)
