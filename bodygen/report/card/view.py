"""The bait on the card: as it lies in the water, painted in greys, every bore and saw cut with its number.

One that lies on its side, and a body that is a mesh, are seen as outlines alone.
"""

from collections.abc import Callable, Sequence
from dataclasses import replace
from math import hypot

import numpy as np

from bodygen.assessment import Assessment
from bodygen.form.cuts import Prism, Revolved
from bodygen.form.cuts.wired import bent_wires
from bodygen.form.facing import SIDE, side_of
from bodygen.plane.page import Array, Label, Mark, Stroke, bounds, moved, stroke
from bodygen.plane.shapes import Point
from bodygen.report.card.lettering import SMALLEST
from bodygen.report.card.words import CutRow
from bodygen.report.pictures.dimension import spread
from bodygen.report.pictures.drawn.painted import layers_on, whole
from bodygen.report.pictures.floating_view import floating_view_of, look_from, projections
from bodygen.report.pictures.views import view_of
from bodygen.shop.masks.regions import side_view_of

BALLOON = 2.8
"""Radius of a number's circle [mm]."""
NUMBER = 3.6
"""Size of the numbers [mm]."""
AWAY = 5.0
"""From the bait to its numbers [mm]."""
UPRIGHT_DEG = 3.0
"""A bait that rolls no more is seen from its flank."""
LIGHTEST, DARKEST = 255, 95
"""Greys that paint is drawn in, of 255: numbers and lines stay readable on the darkest."""


def bait_view(a: Assessment, rows: Sequence[CutRow], width: float, height: float) -> list[Mark]:
    """Draw the bait as large as fits into a box with its upper left corner at (0, 0) [mm]."""
    shapes, points = _lying(a)
    x0, y0, x1, y1 = bounds(shapes)
    above = len(rows) * (2 * BALLOON + 0.8) > width
    bands = 2 if above else 1
    room = height - bands * (AWAY + 2 * BALLOON) - SMALLEST * 1.5
    scale = max(min((width - 4.0) / (x1 - x0), room / max(y1 - y0, y1, -y0)), 1e-3)
    dx, dy = (width - scale * (x0 + x1)) / 2, AWAY + 2 * BALLOON + (room - scale * (y1 - y0)) / 2 - scale * y0
    marks = moved([_scaled(mark, scale) for mark in shapes], dx, dy)
    top, low = bounds(marks)[1], bounds(marks)[3]
    if a.flotation.attitude.water_height is not None:
        marks += [*_water(width, dy)]
        top, low = min(top, dy), max(low, dy)
    numbers = [
        (row.number, (points[place][0] * scale + dx, points[place][1] * scale + dy))
        for row in rows
        for place in row.places[:1]
    ]
    numbers.sort(key=lambda one: one[1])
    for band, y in enumerate((top - AWAY + BALLOON / 2, low + AWAY - BALLOON / 2)[:bands]):
        marks += _balloons(numbers[band::bands], y - BALLOON / 2 if band == 0 else y + BALLOON / 2, width)
    says = f"as it lies in the water, drawn {scale:.2f} times its size; depths go from the skin along the bit"
    return [*marks, Label(says, (width / 2, height - 0.3 * SMALLEST), SMALLEST, "centre")]


def _lying(a: Assessment) -> tuple[list[Stroke], list[Array]]:
    """Lines of the bait with the water at y = 0, y down [mm]; where each tool's number leads to."""
    at = a.flotation.attitude
    projection = projections(at)[0]
    zero = float(np.dot(at.up, at.centre_of_buoyancy)) if at.water_height is None else at.water_height
    away, flip = np.array([0.0, zero]), np.array([1.0, -1.0])
    body = a.shaped.body
    upright = at.roll_deg is not None and abs(at.roll_deg) <= UPRIGHT_DEG
    if body is None or not upright:
        look = look_from(floating_view_of(a), projection)
        traces = [stroke((t.points - away) * flip, t.pen, closed=t.closed, part=t.part) for t in look.traces]
        mouths = [(projection.flat(np.array([_mouth(tool)]))[0] - away) * flip for tool in a.shaped.tools]
        return traces, mouths
    turn = np.array([[projection.right[0], projection.up[0]], [projection.right[2], projection.up[2]]])

    def lying(points: Array) -> Array:
        return np.asarray((points @ turn - away) * flip)

    wires = [wire.line for wire in bent_wires(a.recipe, a.shaped.tools, a.shaped.caster)]
    view = view_of(SIDE, body, a.shaped.tools, a.shaped.plate, wires)
    drawn = [stroke(lying(t.points), t.pen, closed=t.closed, part=t.part) for t in view.traces if t.pen != "centre"]
    return [*_paint(a, lying), *drawn], [lying(view.marks[n][None])[0] for n in range(len(a.shaped.tools))]


def _mouth(tool: Revolved | Prism) -> Array:
    """Where a cut begins (3,) [mm]."""
    if isinstance(tool, Revolved) or tool.kind != "wire":
        return np.asarray(tool.origin)
    return np.array([min(x for x, _ in tool.polygon), 0.0, float(np.mean([z for _, z in tool.polygon]))])


def _paint(a: Assessment, lying: Callable[[Array], Array]) -> list[Stroke]:
    """Layers in greys with a line round each, and eyes."""
    marks: list[Stroke] = []
    if a.recipe.paints:
        for layer in layers_on(a, side_view_of(a.shaped.caster), "left"):
            grey = _grey(layer.colour)
            filled = [stroke(lying(points), "hair", closed=True, part="paint") for points in whole(layer.shape)]
            marks += [replace(shape, fill=grey, colour=grey) for shape in filled]
            seams = layer.shape.to_polygons()
            marks += [stroke(lying(np.asarray(points)), "hair", closed=True, part="seam") for points in seams]
    turn = np.linspace(0.0, 2 * np.pi, 48, endpoint=False)
    for eye in a.shaped.tools:
        if isinstance(eye, Revolved) and eye.kind == "eye" and side_of(-eye.axis[1]) == "left":
            for share, fill in ((0.5, "white"), (0.25, "black")):
                ring = np.column_stack([np.cos(turn), np.sin(turn)]) * share * eye.diameter
                shape = stroke(lying(ring + np.array(eye.origin)[[0, 2]]), "thin", closed=True, part="eye")
                marks.append(replace(shape, fill=fill))
    return marks


def _grey(colour: str) -> str:
    """The grey of a colour, between the two ends of what reads well.

    The lightness of sRGB by Rec. 709's weights of red, green and blue (from memory).
    """
    red, green, blue = (int(colour[i : i + 2], 16) for i in (1, 3, 5))
    light = (0.2126 * red + 0.7152 * green + 0.0722 * blue) / 255
    level = round(DARKEST + light * (LIGHTEST - DARKEST))
    return f"#{level:02x}{level:02x}{level:02x}"


def _scaled(mark: Stroke, scale: float) -> Stroke:
    return replace(mark, points=tuple((x * scale, y * scale) for x, y in mark.points))


def _water(width: float, y: float) -> list[Mark]:
    """The surface: a line across, shorter ones below it at both ends."""
    marks: list[Mark] = [stroke([(0.0, y), (width, y)], "path", part="water")]
    for step in (1, 2, 3):
        inset, down = 2.5 * step, 1.1 * step
        for x in (0.0, width - 18.0):
            marks += [stroke([(x + inset, y + down), (x + 18.0 - inset, y + down)], "hair", part="water")]
    return marks


def _balloons(numbers: Sequence[tuple[str, Point]], y: float, width: float) -> list[Mark]:
    """A row of numbers in circles, each with a line to its place that is seen on any grey."""
    half = min(BALLOON + 0.4, width / 2 / max(len(numbers), 1))
    places = spread([point[0] for _, point in numbers], [half] * len(numbers))
    low, high = (min(places), max(places)) if places else (0.0, 0.0)
    shift = min(max(half - low, 0.0), max(width - half - low, 0.0)) - max(high + half - width, 0.0)
    marks: list[Mark] = []
    turn = np.linspace(0.0, 2 * np.pi, 40, endpoint=False)
    circle = np.column_stack([np.cos(turn), np.sin(turn)])
    for x, (text, (px, py)) in zip([place + shift for place in places], numbers, strict=True):
        away = hypot(px - x, py - y) or 1.0
        line = stroke([(x + (px - x) * BALLOON / away, y + (py - y) * BALLOON / away), (px, py)], "thin", part="leader")
        dot = replace(stroke(circle * 0.6 + (px, py), "hair", closed=True, part="leader"), fill="black")
        marks += [replace(line, pen="outline", colour="white"), line, dot]
        marks.append(replace(stroke(circle * BALLOON + (x, y), "thin", closed=True, part="number"), fill="white"))
        marks.append(Label(text, (x, y + 0.36 * NUMBER), NUMBER, "centre", bold=True))
    return marks
