"""The template against the recipe's own numbers; its tiles join; no two of its labels touch."""

from dataclasses import replace
from math import hypot

import numpy as np
import pytest
from carved import body, body_skin, tools
from shaped import NAMES, recipe, shaped
from shapely import LineString, Polygon
from shapely import Point as PointOf

from bodygen.errors import DesignError
from bodygen.form.blank import blank_of, default_allowance
from bodygen.form.cuts import Revolved
from bodygen.plane.label_places import label_box, overlap
from bodygen.plane.polygon import rectangle
from bodygen.plane.shapes import Arc, Circle, Drawing, Layer, Line, Loop, Text
from bodygen.plane.tiles import clipped, paper_named, tiles_of, within
from bodygen.shop.cards.outline_cards import card_templates
from bodygen.shop.cards.paper_template import default_template, paper_template
from bodygen.shop.cards.section_gauges import stations_of
from bodygen.shop.cards.tool_marks import marks_in, way_out
from bodygen.shop.skin.silhouette import plan_view, side_view

LETTER, A4 = paper_named("letter"), paper_named("a4")


def blank(name):
    caster = shaped(name).caster
    return blank_of(caster.low, caster.high, default_allowance(recipe(name).units))


def outlines(name):
    s = shaped(name)
    return side_view(s.body, s.mesh), plan_view(s.body, s.mesh)


def template(name):
    said, s = recipe(name), shaped(name)
    stations = stations_of(s.sizes[0], said.units)
    return paper_template(said, outlines(name), blank(name), s.tools, stations, default_template())


def layer(drawing, name):
    return next((la.items for la in drawing.layers if la.name == name), ())


@pytest.mark.parametrize("name", NAMES)
def test_finished_and_saw_lines_stand_the_allowance_apart(name):
    drawing, box = template(name), blank(name)
    finished = [LineString([*loop.points(0.001), loop.pieces[0].start]) for loop in layer(drawing, "MARK_FINISHED")]
    assert [loop.box[2] - loop.box[0] for loop in layer(drawing, "MARK_FINISHED")] == pytest.approx(
        [shaped(name).sizes[0]] * 2, abs=0.01
    )
    fold = box.high[2]
    for piece in layer(drawing, "MARK_SAW"):
        for point in piece.points(0.001):
            line = finished[point[1] > fold]
            assert line.distance(PointOf(point)) == pytest.approx(default_template().saw, abs=0.01)


@pytest.mark.parametrize("name", NAMES)
def test_no_two_labels_touch(name):
    texts = [item for la in template(name).layers for item in la.items if isinstance(item, Text)]
    boxes = [(text.label, label_box(text)) for text in texts]
    touching = [(a, b) for i, (a, box) in enumerate(boxes) for b, other in boxes[:i] if overlap(box, other, 0.0)]
    assert touching == []


@pytest.mark.parametrize("name", NAMES)
def test_every_cut_is_lettered_once_and_explained(name):
    drawing, s = template(name), shaped(name)
    texts = [item.label for item in layer(drawing, "MARK_WORDS")]
    cuts = {tool.name for tool in s.tools if tool.kind != "mouth"}
    letters = [text for text in texts if text.isupper() and len(text) < 3]
    assert len(letters) == len(set(letters)) == len(cuts)
    for letter in letters:
        assert sum(text.startswith(f"{letter}  ") for text in texts) == 1


@pytest.mark.parametrize("name", NAMES)
def test_a_bore_is_marked_where_its_axis_leaves_the_blank(name):
    """Found anew: from a point outside, along the axis, the first point of the blank's box (slab method)."""
    box = blank(name)
    low, high = np.array(box.low), np.array(box.high)
    for mark in marks_in("side", shaped(name).tools, box):
        if not isinstance(mark.tool, Revolved):
            continue
        start, way = np.array(mark.tool.origin) - 500 * np.array(mark.tool.axis), np.array(mark.tool.axis)
        with np.errstate(divide="ignore", invalid="ignore"):
            first, second = (low - start) / way, (high - start) / way
        near = np.where(np.abs(way) > 1e-12, np.minimum(first, second), -np.inf)
        entry = start + near.max() * way
        assert hypot(mark.at[0] - entry[0], mark.at[1] - entry[2]) < 1e-6
        assert (
            mark.face
            == (("nose", "tail"), ("left", "right"), ("belly", "back"))[int(near.argmax())][int(way[near.argmax()] < 0)]
        )


def test_the_marks_of_a_bore_are_as_wide_as_its_drill_and_as_deep():
    box = blank_of(np.array([0.0, -10, -15]), np.array([80.0, 10, 15]), default_allowance("mm"))
    marks = {mark.tool.name: mark for mark in marks_in("side", tools(), box)}
    eye = marks["eye"]
    assert eye.end_on
    assert [side.radius for side in eye.sides] == [3.0]
    ballast = marks["ballast"]
    axis = np.array(ballast.tool.axis)[[0, 2]]
    middle = np.array(ballast.tool.origin)[[0, 2]]
    points = np.array([p for side in ballast.sides for p in (side.start, side.end)]) - middle
    assert (points @ axis).max() == pytest.approx(ballast.tool.point)
    assert np.abs(points @ np.array([-axis[1], axis[0]])).max() == pytest.approx(ballast.tool.diameter / 2)
    rattle = marks["rattle"]
    assert sum(isinstance(side, Arc) for side in rattle.sides) == 2  # the ball's end
    assert {round(side.radius, 6) for side in rattle.sides if isinstance(side, Arc)} == {3.0}
    assert way_out(box, np.zeros(3), np.array([0.0, 0.0, 1.0])) == (box.high[2], "back")


@pytest.mark.parametrize("name", NAMES)
def test_the_template_and_the_cards_fit_their_papers_and_blank(name):
    drawing, box = template(name), blank(name)
    frame = Polygon([(box.low[0], box.low[2]), (box.high[0], box.low[2]), (box.high[0], 99), (box.low[0], 99)])
    inner = frame.buffer(1e-6)
    for what in ("MARK_SAW", "MARK_FINISHED", "MARK_BORES"):
        for item in layer(drawing, what):
            if not isinstance(item, Circle):
                assert all(inner.contains(PointOf(p)) for p in item.points(0.01))
    for card in card_templates(outlines(name), box, shaped(name).tools, stations_of(70.0, "mm"), 2.0):
        free = Polygon(card.outline.points(0.001))
        for hole in card.holes:
            assert free.contains(PointOf(hole.centre).buffer(hole.radius + 0.9))
        boxes = [label_box(mark) for mark in card.marks if isinstance(mark, Text)]
        assert not any(overlap(a, b, 0.0) for i, a in enumerate(boxes) for b in boxes[:i])


def test_a_long_body_is_tiled_so_that_every_point_is_on_a_sheet_and_crosses_coincide():
    drawing = Drawing("long", (Layer("MARK", "mark", (rectangle(500.0, 400.0, (-30.0, -60.0)),)),))
    for paper in (A4, LETTER):
        tiles = tiles_of(drawing, paper)
        assert len(tiles) > 1
        for x in np.linspace(-30, 470, 60):
            for y in np.linspace(-60, 340, 50):
                assert any(within((x, y, x, y), tile.window) for tile in tiles)
        margin = paper.margin
        for tile in tiles:
            wide, high = tile.window[2] - tile.window[0], tile.window[3] - tile.window[1]
            assert tile.place == (margin, margin + paper.footer)
            assert tile.place[0] + wide == pytest.approx(tile.width - margin)
            assert tile.place[1] + high == pytest.approx(tile.height - margin)
        lookup = {(tile.row, tile.column): tile for tile in tiles}
        for (row, column), tile in lookup.items():
            right = lookup.get((row, column + 1))
            if right:
                assert tile.window[2] - right.window[0] == pytest.approx(paper.overlap)
                shared = {mark for mark in tile.marks if mark.start[0] > tile.window[2] - paper.overlap}
                theirs = {mark for mark in right.marks if mark.end[0] < right.window[0] + paper.overlap}
                assert near(shared) == near(theirs)
                assert len(near(shared)) >= 4


def near(marks):
    return {tuple(round(v, 6) for v in (*mark.start, *mark.end)) for mark in marks}


def test_what_fits_one_sheet_has_one_upright_before_turned():
    small = Drawing("small", (Layer("MARK", "mark", (rectangle(150.0, 100.0),)),))
    wide = Drawing("wide", (Layer("MARK", "mark", (rectangle(250.0, 100.0),)),))
    assert [(t.width, t.height) for t in tiles_of(small, A4)] == [(210.0, 297.0)]
    assert [(t.width, t.height) for t in tiles_of(wide, A4)] == [(297.0, 210.0)]
    assert tiles_of(small, A4)[0].label == "A1"


def test_clipping_keeps_lengths_and_circles():
    """Four quarters of a window add up to the whole, for lines, arcs and loops alike."""
    ring, line = Circle((0.3, 0.2), 7.0), Line((-9.0, -3.0), (8.0, 5.0))
    loop = Loop((Line((-5.0, -4.0), (6.0, -4.0)), Arc((6.0, -4.0), (-5.0, -4.0), (0.5, 0.0))))
    windows = [(-20, -20, 0, 0), (0, -20, 20, 0), (-20, 0, 0, 20), (0, 0, 20, 20)]
    for item in (ring, line, loop):
        parts = [part for window in windows for part in clipped(item, window)]
        assert sum(part.length for part in parts) == pytest.approx(item.length)
    assert all(part.radius == pytest.approx(7.0) for window in windows for part in clipped(ring, window))
    assert list(clipped(line, (30, 30, 40, 40))) == []


def test_an_unknown_paper_is_refused_with_those_there_are():
    with pytest.raises(DesignError, match='paper "a5": there are a4, letter'):
        paper_named("a5")


def test_a_mesh_has_a_template_too():
    said = replace(recipe("beck-dace-80"), bores=())
    box = blank_of(body_skin().vertices.min(axis=0), body_skin().vertices.max(axis=0), default_allowance("mm"))
    drawing = paper_template(
        said,
        (side_view(None, body_skin()), plan_view(None, body_skin())),
        box,
        (),
        stations_of(80.0, "mm"),
        default_template(),
    )
    side, plan = layer(drawing, "MARK_FINISHED")
    assert side.area == pytest.approx(side_view(body(), body_skin()).area, rel=1e-3)
    assert plan.area == pytest.approx(plan_view(body(), body_skin()).area, rel=1e-3)
