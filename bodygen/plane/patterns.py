"""How equal shapes lie beside each other: rows that repeat, parts and parts turned by half a turn, densest first.

Knows one shape and a gap. Knows no sheet. No arrangement of one convex shape has a better proven bound than the best
of these double lattices, sqrt(3)/2 of the plane (G. Kuperberg and W. Kuperberg, Double-lattice packings of convex
bodies in the plane, Discrete and Computational Geometry 5, 1990; from memory). The search visits a fixed list of
arrangements, without chance or clock.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from math import ceil, pi

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from bodygen.plane.parallel import parallel
from bodygen.plane.shapes import Loop, Placement, Point, placed

CELL_MM = 0.02
"""Outlines are measured by their extremes in strips this wide, which never makes a gap smaller."""
SAG_MM = 0.004
"""By which the chords may cut into the arcs; added to the gap."""
ANGLES = tuple(i * pi / 12 for i in range(12))
TRIED = 24
"""Denser patterns that are laid out on the real sheet."""

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Turned:
    """A shape, grown by half the gap, by strips of CELL_MM from its lower left corner."""

    angle: float
    corner: Point  # before the move to the origin
    size: Point
    top: Floats
    bottom: Floats
    right: Floats
    left: Floats


RowPart = tuple[Turned, int, int]
"""A shape with a height in its row, or a place, and the step to the next part [strips]."""


@dataclass(frozen=True, slots=True)
class Pattern:
    """Two rows in turn, each a repeat of two parts; every other row is moved aside by ``shift`` [strips]."""

    rows: tuple[tuple[RowPart, RowPart], tuple[RowPart, RowPart]]
    shift: int
    density: float

    def row(self, which: int, count: int) -> list[RowPart]:
        """Parts of a row with their lower left corners, x and y [strips]."""
        parts, x = [], 0
        for i in range(count):
            shape, lift, step = self.rows[which][i % 2]
            parts.append((shape, x, lift))
            x += step
        return parts


def patterns_of(outline: Loop, gap: float, angles: tuple[float, ...]) -> list[Pattern]:
    """Rows and rows of rows, densest first; a few of each angle, since only some fit the sheet well."""
    grown, area = parallel(outline, gap / 2 + SAG_MM)[0], outline.area
    found: list[Pattern] = []
    for angle in angles:
        up, down = _shape(grown, angle), _shape(grown, angle + pi)
        local = [p for pair in _pairs_of_rows(up, down) for p in _shifted(pair, area)]
        local.sort(key=lambda p: -p.density)
        found += local[:TRIED]
    found.sort(key=lambda p: -p.density)
    straight = [p for p in found if p.rows[0][0][0].angle in angles[:: len(angles) // 2]]  # these suit narrow sheets
    return found[: 2 * TRIED] + straight[:TRIED]


def _shape(grown: Loop, angle: float) -> Turned:
    loop = placed(grown, Placement(angle=angle))
    x0, y0, x1, y1 = loop.box
    corners = np.array(loop.points(SAG_MM)) - (x0, y0)
    top, bottom = _extremes(corners)
    right, left = _extremes(corners[:, ::-1])
    return Turned(angle, (x0, y0), (x1 - x0, y1 - y0), top, bottom, right, left)


def _extremes(corners: Floats) -> tuple[Floats, Floats]:
    """Greatest and least second coordinate of a polygon in each strip of the first."""
    count = ceil(corners[:, 0].max() / CELL_MM)
    (ax, ay), (bx, by) = corners.T, np.roll(corners, -1, axis=0).T
    first = np.ceil(np.minimum(ax, bx) / CELL_MM).astype(int)
    crossed = np.floor(np.maximum(ax, bx) / CELL_MM).astype(int) + 1 - first  # borders that each edge meets
    crossed[ax == bx] = 0
    edge = np.repeat(np.arange(len(corners)), crossed)
    line = (np.arange(len(edge)) - np.repeat(np.cumsum(crossed) - crossed, crossed) + first[edge]) * CELL_MM
    x = np.concatenate((ax, line))
    y = np.concatenate((ay, ay[edge] + (line - ax[edge]) * (by - ay)[edge] / (bx - ax)[edge]))
    high, low = np.full(count, -np.inf), np.full(count, np.inf)
    for strip in (np.floor(x / CELL_MM + 1e-9), np.ceil(x / CELL_MM - 1e-9) - 1):
        cells = np.clip(strip.astype(int), 0, count - 1)  # a point on a border counts for the strips on both sides
        np.maximum.at(high, cells, y)
        np.minimum.at(low, cells, y)
    return high, low


def _lifts(up: Turned) -> range:
    """Heights by which the turned part may lie higher or lower than its neighbour [strips]."""
    tall = len(up.right)
    return range(-tall // 2, tall // 2 + 1, max(1, tall // 24))


def _beside(first: Turned, second: Turned, lift: int) -> int:
    """Least distance between the lower left corners of two neighbours in a row [strips]."""
    low, high = max(0, lift), min(len(first.right), len(second.left) + lift)
    if high <= low:
        return 1
    return ceil(float(np.max(first.right[low:high] - second.left[low - lift : high - lift])) / CELL_MM - 1e-9)


def _pairs_of_rows(up: Turned, down: Turned) -> Iterator[tuple[tuple[RowPart, RowPart], tuple[RowPart, RowPart]]]:
    """Rows of parts all one way, then rows in which every other part is turned; the next row as it is or turned."""
    alone = max(_beside(up, up, 0), _beside(down, down, 0))
    one_way, other_way = ((up, 0, alone),) * 2, ((down, 0, alone),) * 2
    yield one_way, one_way
    yield one_way, other_way
    for lift in _lifts(up):
        there = _beside(up, down, lift)
        back = max(_beside(down, up, -lift), alone - there)  # the next but one must not touch either
        if there > 0 and back > 0:
            pair = ((up, 0, there), (down, lift, back))
            yield pair, pair
            yield pair, pair[::-1]


def _shifted(rows: tuple[tuple[RowPart, RowPart], tuple[RowPart, RowPart]], area: float) -> Iterator[Pattern]:
    """Patterns of two rows at every shift that makes a difference."""
    period = rows[0][0][2] + rows[0][1][2]
    long = max(len(shape.top) for shape, _, _ in rows[0])
    count = 2 * ceil(2 * long / period) + 4
    whole = slice(long, long + period)  # here every part that reaches in is there, so that it repeats
    (top, bottom), (other_top, other_bottom) = (
        (high[whole], low[whole]) for high, low in (profile_of(Pattern(rows, 0, 0.0).row(i, count)) for i in (0, 1))
    )
    shifts = np.arange(0, period, max(1, period // 24))
    rises = _above(top, other_bottom, shifts) + _above(other_top, bottom, -shifts)  # of two rows, four parts
    for shift, rise in zip(shifts.tolist(), rises.tolist(), strict=True):
        yield Pattern(rows, shift, 4 * area / (period * CELL_MM * rise))


def profile_of(row: list[RowPart]) -> tuple[Floats, Floats]:
    """Top and bottom of a row by strips [mm]; where there is none, minus and plus infinity."""
    wide = max(x + len(shape.top) for shape, x, _ in row)
    top, bottom = np.full(wide, -np.inf), np.full(wide, np.inf)
    for shape, x, y in row:
        part = slice(x, x + len(shape.top))
        np.maximum(top[part], shape.top + y * CELL_MM, out=top[part])
        np.minimum(bottom[part], shape.bottom + y * CELL_MM, out=bottom[part])
    return top, bottom


def _above(top: Floats, bottom: Floats, shifts: NDArray[np.int_]) -> Floats:
    """How much higher a row must lie whose bottom is this, shifted by so many strips each [mm]; both repeat."""
    shifted = sliding_window_view(np.concatenate((bottom, bottom)), len(top))[-shifts % len(top)]
    return np.asarray(np.max(np.subtract(top, shifted, out=shifted), axis=1))


@dataclass(frozen=True, slots=True)
class PatternOver:
    """A pattern laid over a square: shifts (n, 2) [mm] and angles (n,) [rad] of its parts, and how far it repeats [mm].

    ``firsts`` are the numbers of the four parts that repeat.

    It covers the square from the origin even when it is moved back by up to one repeat.
    """

    shifts: Floats
    angles: Floats
    repeat: Point
    firsts: tuple[int, ...]


def patterns_over(outline: Loop, gap: float, side: float, most: int) -> list[PatternOver]:
    """Lay the densest patterns of a part over a square of this side [mm], and as many that lie square to it."""
    found = patterns_of(outline, gap, ANGLES)
    return [_over(p, side) for p in (*found[:most], *found[2 * TRIED : 2 * TRIED + most])]


def _over(pattern: Pattern, side: float) -> PatternOver:
    period = (pattern.rows[0][0][2] + pattern.rows[0][1][2]) * CELL_MM
    size = max(max(shape.size) for shape, _, _ in pattern.rows[0])
    count = 2 * ceil((side + size) / period + 2)
    rows = [pattern.row(0, count), [(shape, x + pattern.shift, y) for shape, x, y in pattern.row(1, count)]]
    parts: list[tuple[Point, float]] = []
    heights: list[float] = []
    profiles = [profile_of(row) for row in rows]
    skyline = np.zeros(max(len(top) for top, _ in profiles))
    while len(heights) < 3 or heights[-1] < side + size + heights[2]:
        k = len(heights) % 2
        top, bottom = profiles[k]
        under = skyline[: len(top)]
        y = float(np.max(under - bottom))
        np.maximum(under, top + y, out=under)
        parts += [
            ((x * CELL_MM - s.corner[0] - period, y + up * CELL_MM - s.corner[1]), s.angle) for s, x, up in rows[k]
        ]
        heights.append(y)
    shifts = np.array([shift for shift, _ in parts])
    return PatternOver(
        shifts, np.array([angle for _, angle in parts]), (period, heights[2] - heights[0]), (0, 1, count, count + 1)
    )
