"""Cards of the body's finished outlines, to draw round: side view and plan, with stations and holes for an awl.

Knows outlines and the marks of the cuts. The template that is glued on is paper_template.py's.
"""

from collections.abc import Sequence
from math import dist

from bodygen.form.blank import Blank
from bodygen.form.cuts import Tool
from bodygen.plane.label_places import beside_mark, label_box, line_points
from bodygen.plane.shapes import Box, Circle, Line, Loop, Text
from bodygen.shop.cards.card import Card
from bodygen.shop.cards.section_gauges import Station
from bodygen.shop.cards.tool_marks import ToolMark, View, marks_in

_PRICK_MM = 0.75  # radius of the hole for an awl
_LEFT_MM = 1.0  # card around such a hole
_SAG_MM = 0.01
_VIEWS: tuple[View, View] = ("side", "plan")
_WORDS = {
    "side": (
        "profile card",
        "the finished side view to draw round, with the stations; where a hole is marked right, turn it over",
        "lay it on the blank's left side, its nose on the nose line and its long line on the parting line",
    ),
    "plan": (
        "back card",
        "the finished plan to draw round, with the stations; where a hole is marked belly, turn it over",
        "lay it on the blank's back, its nose on the nose line and its long line on the middle line",
    ),
}


def card_templates(
    outlines: tuple[Loop, Loop], blank: Blank, tools: Sequence[Tool], stations: Sequence[Station], label: float
) -> tuple[Card, Card]:
    """Cards of the side view and of the plan.

    Parameters
    ----------
    outlines : (Loop, Loop)
        Side view (x, z) and plan (x, y) of the body [mm].
    blank : Blank
        The squared blank, in body axes.
    tools : sequence of Tool
        Every bore and saw cut; those seen end on become awl holes.
    stations : sequence of Station
        As the section gauges have them.
    label : float
        Height of a capital [mm].
    """
    side, plan = (
        _card(view, outline, marks_in(view, tools, blank), stations, label)
        for view, outline in zip(_VIEWS, outlines, strict=True)
    )
    return side, plan


def _card(view: View, outline: Loop, marks: Sequence[ToolMark], stations: Sequence[Station], height: float) -> Card:
    from shapely import LineString, Polygon, box
    from shapely import Point as PointOf

    free = Polygon(outline.points(_SAG_MM))
    inner = free.buffer(-_LEFT_MM - _PRICK_MM)
    pricks = [mark for mark in marks if mark.end_on and inner.contains(PointOf(mark.at))]
    x0, y0, x1, y1 = outline.box
    chords = [LineString([(s.x, y0 - 1), (s.x, y1 + 1)]).intersection(free) for s in stations]
    lines = [Line(*chord.coords) for chord in chords if chord.geom_type == "LineString" and len(chord.coords) == 2]
    axis = LineString([(x0 - 1, 0.0), (x1 + 1, 0.0)]).intersection(free)
    lines += [Line(*axis.coords)] if axis.geom_type == "LineString" and len(axis.coords) == 2 else []
    holes: list[Circle] = []
    for mark in pricks:
        if all(dist(mark.at, hole.centre) > 3 * _PRICK_MM for hole in holes):
            holes.append(Circle(mark.at, _PRICK_MM))
    points, boxes = line_points([*lines, outline, *holes]), list[Box]()
    texts: list[Text] = []
    wanted = [(str(s.number), (s.x, min(1.0, y1 / 2)), 0.0) for s in stations if x0 < s.x < x1]
    wanted += [(f"{mark.letter} {mark.face}" if mark.far else mark.letter, mark.at, _PRICK_MM) for mark in pricks]
    for label, at, reach in wanted:
        text = beside_mark(label, at, reach, height, boxes, points, lambda found: inner.contains(box(*found)))
        if text:
            texts.append(text)
            boxes.append(label_box(text))
    name, purpose, use = _WORDS[view]
    return Card(name, outline, tuple(holes), (*lines, *texts), purpose, use)
