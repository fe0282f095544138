"""Dimension lines, number balloons and the scale bar, on paper in mm, y down the page.

Conventions after ISO 129-1 and ISO 128 from memory: thin extension and dimension lines, closed filled arrows, running
dimensions from a common origin. Knows nothing of baits; the figures come in as texts.
"""

from collections.abc import Sequence
from math import atan2, cos, hypot, pi, sin

import numpy as np

from bodygen.plane.page import CAPITAL, Label, Mark, Stroke, stroke, text_width
from bodygen.plane.shapes import Point

FIGURE, RUNNING = 2.8, 2.5
"""Font size of dimensions, and of running ones, which stand close [mm]."""
ARROW = 2.4
GAP, BEYOND = 0.8, 1.2
"""From the outline to its extension line, and from the dimension line to the end of it [mm]."""
BALLOON = 2.2
"""Radius of a number balloon [mm]."""


def spread(wanted: Sequence[float], half_widths: Sequence[float]) -> list[float]:
    """Move places on a line as little as possible until none overlap, keeping their order.

    Least squares under a least distance, by pooling neighbours (isotonic regression, exact).

    Parameters
    ----------
    wanted : sequence of float
        Places, rising [mm].
    half_widths : sequence of float
        Half of the room that each one takes [mm].

    Examples
    --------
    >>> spread([0.0, 1.0, 9.0], [1.0, 1.0, 1.0])
    [-0.5, 1.5, 9.0]
    """
    offsets, total = [], 0.0
    for i, half in enumerate(half_widths):
        total += half + half_widths[i - 1] if i else 0.0
        offsets.append(total)
    pools: list[tuple[float, int]] = []
    for place, offset in zip(wanted, offsets, strict=True):
        pool = place - offset, 1
        while pools and pools[-1][0] > pool[0]:
            mean, count = pools.pop()
            pool = (mean * count + pool[0] * pool[1]) / (count + pool[1]), count + pool[1]
        pools.append(pool)
    means = [mean for mean, count in pools for _ in range(count)]
    return [mean + offset for mean, offset in zip(means, offsets, strict=True)]


def arrow(tip: Point, angle: float, part: str = "") -> Stroke:
    """Closed filled arrowhead whose tip points along ``angle`` [rad], y down."""
    back, half = ARROW, 0.16 * ARROW
    c, s = cos(angle), sin(angle)
    corners = [(0.0, 0.0), (-back, half), (-back, -half)]
    points = tuple((tip[0] + c * u - s * v, tip[1] + s * u + c * v) for u, v in corners)
    return Stroke(points, "hair", closed=True, fill="black", part=part)


def level(start: Point, end: Point, row: float, text: str, part: str) -> list[Mark]:
    """Dimension between two points along x, drawn at height ``row``, the figure above the line."""
    (x0, y0), (x1, y1) = start, end
    marks: list[Mark] = [_extension((x, y), (x, row)) for x, y in ((x0, y0), (x1, y1))]
    marks += [stroke([(x0, row), (x1, row)], "thin", part=part), *_arrows((x0, row), (x1, row), 0.0)]
    return [*marks, Label(text, ((x0 + x1) / 2, row - 0.9), FIGURE, "centre")]


def upright(top: Point, bottom: Point, column: float, text: str, part: str) -> list[Mark]:
    """Dimension between two points along y, drawn at ``column``; a figure that does not fit lies level beside it."""
    (x0, y0), (x1, y1) = top, bottom
    marks: list[Mark] = [_extension((x, y), (column, y)) for x, y in ((x0, y0), (x1, y1))]
    marks += [stroke([(column, y0), (column, y1)], "thin", part=part), *_arrows((column, y0), (column, y1), pi / 2)]
    middle = (y0 + y1) / 2
    if text_width(text, FIGURE) + 2 * ARROW <= y1 - y0:
        return [*marks, Label(text, (column - 0.9, middle), FIGURE, "centre", upright=True)]
    return [*marks, Label(text, (column + 1.2, middle + CAPITAL * FIGURE / 2), FIGURE)]


def _arrows(start: Point, end: Point, angle: float) -> list[Mark]:
    """Arrowheads inside, or outside where the line is too short for both."""
    short = hypot(end[0] - start[0], end[1] - start[1]) < 2.6 * ARROW
    heads: list[Mark] = [arrow(start, angle if short else angle + pi), arrow(end, angle + pi if short else angle)]
    if short:
        u, v = cos(angle) * 1.8 * ARROW, sin(angle) * 1.8 * ARROW
        heads.append(stroke([(start[0] - u, start[1] - v), start], "thin"))
        heads.append(stroke([end, (end[0] + u, end[1] + v)], "thin"))
    return heads


def _extension(start: Point, end: Point) -> Stroke:
    """Extension line from near the outline to just beyond the dimension line; along one axis."""
    dx, dy = float(np.sign(end[0] - start[0])), float(np.sign(end[1] - start[1]))
    points = [(start[0] + dx * GAP, start[1] + dy * GAP), (end[0] + dx * BEYOND, end[1] + dy * BEYOND)]
    return stroke(points, "hair")


def running(origin: Point, places: Sequence[tuple[Point, str]], row: float) -> list[Mark]:
    """Running dimensions to the right of a common origin: arrows on one line, upright figures below it.

    Parameters
    ----------
    origin : Point
        Zero, at the outline [mm].
    places : sequence of (Point, str)
        Where each extension line begins, and its figure.
    row : float
        Height of the dimension line [mm].
    """
    if not places:
        return []
    ordered = sorted(places, key=lambda place: place[0][0])
    xs = [origin[0], *(point[0] for point, _ in ordered)]
    texts = ["0", *(text for _, text in ordered)]
    slots = spread(xs, [RUNNING * 0.62] * len(xs))
    dot = [(origin[0] + 0.7 * cos(a), row + 0.7 * sin(a)) for a in np.linspace(0, 2 * pi, 24, endpoint=False)]
    marks: list[Mark] = [stroke([(origin[0], row), (max(xs), row)], "thin", part="running dimension")]
    marks += [stroke([(x, y + GAP), (x, row)], "hair", part="running place") for (x, y), _ in ordered]
    marks += [stroke([(origin[0], origin[1] + GAP), (origin[0], row)], "hair"), stroke(dot, "thin", closed=True)]
    marks += [arrow((x, row), 0.0) for x in xs[1:] if x - origin[0] > ARROW]
    for x, slot, text in zip(xs, slots, texts, strict=True):
        marks.append(stroke([(x, row), (x, row + 0.8), (slot, row + 2.6), (slot, row + 3.2)], "hair"))
        marks.append(Label(text, (slot + CAPITAL * RUNNING / 2, row + 3.8), RUNNING, "right", upright=True))
    return marks


def balloons(
    row: float, numbers: Sequence[tuple[str, tuple[Point, ...]]], letters: Sequence[tuple[str, Point]]
) -> list[Mark]:
    """A row of numbers in circles and of bare letters, with lines to what they name, the first of a number's below.

    A number's line ends in a dot inside the outline, a letter's plainly at its tick.
    """
    both = [(text, points, True) for text, points in numbers] + [(text, (at,), False) for text, at in letters]
    both.sort(key=lambda item: (item[1][0][0], item[2]))
    places = spread(
        [points[0][0] for _, points, _ in both], [BALLOON + 0.4 if circled else 1.7 for *_, circled in both]
    )
    marks: list[Mark] = []
    for x, (text, points, circled) in zip(places, both, strict=True):
        reach = BALLOON if circled else 1.6
        for px, py in points:
            away = hypot(px - x, py - row)
            start = x + (px - x) * reach / away, row + (py - row) * reach / away
            marks.append(stroke([start, (px, py)], "hair", part="leader"))
            marks += [_disc((px, py), 0.4, "black")] if circled else []
        marks += [_disc((x, row), BALLOON, "white")] if circled else []
        size = 2.5 if circled else 2.8
        marks.append(Label(text, (x, row + CAPITAL * size / 2), size, "centre", bold=not circled))
    return marks


def _disc(centre: Point, radius: float, fill: str) -> Stroke:
    angles = np.linspace(0, 2 * pi, 40, endpoint=False)
    points = tuple((centre[0] + radius * float(np.cos(a)), centre[1] + radius * float(np.sin(a))) for a in angles)
    return Stroke(points, "thin", closed=True, fill="white" if fill == "white" else "black")


def slope(corner: Point, way: Point, radius: float, text: str, *, drawn: bool) -> list[Mark]:
    """Angle between straight left of ``corner`` and ``way`` (y down), the figure left of the level line.

    ``drawn``: the sloping side is in the picture already.
    """
    end = atan2(way[1], way[0])
    turn = (end - pi + pi) % (2 * pi) - pi  # from straight left, the short way round
    arc = [
        (corner[0] + radius * cos(pi + turn * t), corner[1] + radius * sin(pi + turn * t))
        for t in np.linspace(0, 1, 40)
    ]
    tip, reach = corner[0] - radius - 2.0, radius + 2.0
    marks: list[Mark] = [stroke([corner, (tip, corner[1])], "hair"), stroke(arc, "thin", part="slope")]
    if not drawn:
        marks.append(stroke([corner, (corner[0] + reach * cos(end), corner[1] + reach * sin(end))], "hair"))
    if abs(turn) * radius > 1.5 * ARROW:
        side = 1.0 if turn > 0 else -1.0
        lag = side * ARROW / radius / 2  # a head lies along the chord of its own length
        short = abs(turn) * radius < 2.6 * ARROW  # then one head must do
        marks += [arrow(arc[-1], end + side * pi / 2 - lag)]
        marks += [] if short else [arrow(arc[0], pi - side * pi / 2 + lag)]
    return [*marks, Label(text, (tip - 1.0, corner[1] + CAPITAL * FIGURE / 2), FIGURE, "right")]


def scale_bar(corner: Point, scale: float, ratio: str) -> list[Mark]:
    """50 mm above and 2 in below one line, both at the drawing's scale; ``corner`` is the zero on that line."""
    x0, y = corner
    marks: list[Mark] = [stroke([(x0, y), (x0 + 50.8 * scale, y)], "visible")]
    for way, unit, steps, long, part in (
        (-1.0, 1.0, 50, 10, "scale bar 50 mm"),
        (1.0, 25.4 / 8, 16, 8, "scale bar 2 in"),
    ):
        tops = [2.6 if i % long == 0 else 1.8 if 2 * i % long == 0 else 1.2 for i in range(steps + 1)]
        for i, top in enumerate(tops):
            x = x0 + i * unit * scale
            marks.append(stroke([(x, y), (x, y + way * top)], "thin", part=part))
    paper = f", {50 * scale:g} mm and {2 * scale:g} in on this paper" if ratio != "1:1" else ""
    texts = [(f"50 mm at {ratio}{paper}", y - 3.3), ("2 in", y + 3.3 + CAPITAL * 2.2)]
    return marks + [Label(text, (x0, row), 2.2) for text, row in texts]
