"""Many equal plates on sheets: how they lie, how many sheets they need, how much of the sheet becomes parts.

Knows one shape, a sheet and a gap. Knows no lip. Equal shapes are laid as a double lattice: parts and parts turned by
half a turn, in rows that repeat. No arrangement of one convex shape has a better proven bound than the best of these,
sqrt(3)/2 of the plane (G. Kuperberg and W. Kuperberg, Double-lattice packings of convex bodies in the plane, Discrete
and Computational Geometry 5, 1990; from memory). The search visits a fixed list of arrangements, without chance or
clock, so that the same lip always gives the same sheet.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from math import ceil, floor, pi

import numpy as np
from numpy.typing import NDArray

from bodygen.errors import DesignError
from bodygen.shop.parallel import parallel
from bodygen.shop.plane import Loop, Placement, Point, placed

_CELL = 0.02  # mm: outlines are measured by their extremes in strips this wide, which never makes a gap smaller
_SAG = 0.004  # mm: by which the chords may cut into the arcs; added to the gap
_ANGLES = tuple(i * pi / 12 for i in range(12))
_SOME = 60  # parts up to which rows of every length are tried
_MANY = 6  # patterns laid out for more than that, of the densest and of those square to the sheet
_TOLD = 20  # parts from which a person is told how far the search is
_TRIED = 24  # denser patterns that are laid out on the real sheet

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Sheet:
    """One sheet: where each part lies, and the width and height that the parts occupy with no gap around [mm]."""

    placements: tuple[Placement, ...]
    occupied: Point


@dataclass(frozen=True, slots=True)
class Nest:
    """All sheets, and how well they are used.

    ``yield_share`` is the parts' area over that of the rectangles they occupy [-], ``plain_share`` the same for rows of
    bounding boxes all one way on the same sheets, which is what a packer of rectangles makes of equal ones.
    """

    sheets: tuple[Sheet, ...]
    yield_share: float
    plain_share: float


@dataclass(frozen=True, slots=True)
class _Shape:
    """A shape, grown by half the gap, by strips of _CELL from its lower left corner."""

    angle: float
    corner: Point  # before the move to the origin
    size: Point
    top: Floats
    bottom: Floats
    right: Floats
    left: Floats


Part = tuple[_Shape, int, int]  # a shape with a height in its row, or a place, and the step to the next part [strips]


@dataclass(frozen=True, slots=True)
class _Pattern:
    """Two rows in turn, each a repeat of two parts; every other row is moved aside by ``shift`` [strips]."""

    rows: tuple[tuple[Part, Part], tuple[Part, Part]]
    shift: int
    density: float

    def row(self, which: int, count: int) -> list[Part]:
        """Parts of a row with their lower left corners, x and y [strips]."""
        parts, x = [], 0
        for i in range(count):
            shape, lift, step = self.rows[which][i % 2]
            parts.append((shape, x, lift))
            x += step
        return parts


def nested(
    outline: Loop,
    quantity: int,
    sheet_size: Point,
    gap: float,
    area: float | None = None,
    say: Callable[[str], None] = lambda _: None,
) -> Nest:
    """Lay ``quantity`` equal parts on as few sheets as the pattern allows.

    Parameters
    ----------
    outline : Loop
        Of one part [mm].
    quantity : int
        Parts wanted, >= 1.
    sheet_size : Point
        Width and height [mm].
    gap : float
        Least distance between parts and from a part to the edge [mm].
    area : float, optional
        Of one part for the yield [mm^2]; the outline's own if left out.
    say : function, optional
        Is told how far the search for many parts is.

    Returns
    -------
    Nest
        Coordinates from the sheet's lower left corner.

    Raises
    ------
    DesignError
        If not even one part fits the sheet.
    """
    one = outline.area if area is None else area
    if quantity >= _TOLD:
        say(f"{quantity} parts: which way they lie closest")
    patterns = _patterns(outline, gap, _ANGLES if quantity > 2 else (0.0, pi / 2))
    sheets = tuple(_filled(patterns, quantity, sheet_size, gap, say))
    plain = plain_occupied(outline, quantity, sheet_size, gap)
    occupied = sum(s.occupied[0] * s.occupied[1] for s in sheets)
    return Nest(sheets, quantity * one / occupied, quantity * one / plain)


def _patterns(outline: Loop, gap: float, angles: tuple[float, ...]) -> list[_Pattern]:
    """Rows and rows of rows, densest first; a few of each angle, since only some fit the sheet well."""
    grown = parallel(outline, gap / 2 + _SAG)[0]
    found: list[_Pattern] = []
    for angle in angles:
        up, down = _shape(grown, angle), _shape(grown, angle + pi)
        local = [p for pair in _pairs_of_rows(up, down) for p in _shifted(pair, outline.area)]
        local.sort(key=lambda p: -p.density)
        found += local[:_TRIED]
    found.sort(key=lambda p: -p.density)
    straight = [p for p in found if p.rows[0][0][0].angle in angles[:: len(angles) // 2]]  # these suit narrow sheets
    return found[: 2 * _TRIED] + straight[:_TRIED]


def _shape(grown: Loop, angle: float) -> _Shape:
    loop = placed(grown, Placement(angle=angle))
    x0, y0, x1, y1 = loop.box
    corners = np.array(loop.points(_SAG)) - (x0, y0)
    top, bottom = _extremes(corners)
    right, left = _extremes(corners[:, ::-1])
    return _Shape(angle, (x0, y0), (x1 - x0, y1 - y0), top, bottom, right, left)


def _extremes(corners: Floats) -> tuple[Floats, Floats]:
    """Greatest and least second coordinate of a polygon in each strip of the first."""
    count = ceil(corners[:, 0].max() / _CELL)
    high, low = np.full(count, -np.inf), np.full(count, np.inf)
    for (ax, ay), (bx, by) in zip(corners, np.roll(corners, -1, axis=0), strict=True):
        first, last = sorted((ax, bx))
        lines = np.arange(ceil(first / _CELL), floor(last / _CELL) + 1) * _CELL
        x = np.concatenate(([ax, bx], lines))
        y = np.concatenate(([ay, by], ay + (lines - ax) * (by - ay) / (bx - ax))) if bx != ax else np.array([ay, by])
        for strip in (np.floor(x[: len(y)] / _CELL + 1e-9), np.ceil(x[: len(y)] / _CELL - 1e-9) - 1):
            cells = np.clip(strip.astype(int), 0, count - 1)  # a point on a border counts for the strips on both sides
            np.maximum.at(high, cells, y)
            np.minimum.at(low, cells, y)
    return high, low


def _lifts(up: _Shape) -> range:
    """Heights by which the turned part may lie higher or lower than its neighbour [strips]."""
    tall = len(up.right)
    return range(-tall // 2, tall // 2 + 1, max(1, tall // 24))


def _beside(first: _Shape, second: _Shape, lift: int) -> int:
    """Least distance between the lower left corners of two neighbours in a row [strips]."""
    low, high = max(0, lift), min(len(first.right), len(second.left) + lift)
    if high <= low:
        return 1
    return ceil(float(np.max(first.right[low:high] - second.left[low - lift : high - lift])) / _CELL - 1e-9)


def _pairs_of_rows(up: _Shape, down: _Shape) -> Iterator[tuple[tuple[Part, Part], tuple[Part, Part]]]:
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


def _shifted(rows: tuple[tuple[Part, Part], tuple[Part, Part]], area: float) -> Iterator[_Pattern]:
    """Patterns of two rows at every shift that makes a difference."""
    period = rows[0][0][2] + rows[0][1][2]
    count = 2 * ceil(2 * max(len(shape.top) for shape, _, _ in rows[0]) / period) + 4
    (top, bottom), (other_top, other_bottom) = (_profile(_Pattern(rows, 0, 0.0).row(i, count)) for i in (0, 1))
    for shift in range(0, period, max(1, period // 24)):
        rise = _above(top, other_bottom, shift) + _above(other_top, bottom, -shift)  # of two rows, four parts
        yield _Pattern(rows, shift, 4 * area / (period * _CELL * rise))


def _profile(row: list[Part]) -> tuple[Floats, Floats]:
    """Top and bottom of a row by strips [mm]; where there is none, minus and plus infinity."""
    wide = max(x + len(shape.top) for shape, x, _ in row)
    top, bottom = np.full(wide, -np.inf), np.full(wide, np.inf)
    for shape, x, y in row:
        part = slice(x, x + len(shape.top))
        np.maximum(top[part], shape.top + y * _CELL, out=top[part])
        np.minimum(bottom[part], shape.bottom + y * _CELL, out=bottom[part])
    return top, bottom


def _above(top: Floats, bottom: Floats, shift: int) -> float:
    """How much higher a row must lie whose bottom is this, shifted by so many strips [mm]."""
    low, high = max(0, shift), min(len(top), len(bottom) + shift)
    return float(np.max(top[low:high] - bottom[low - shift : high - shift]))


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
    found = _patterns(outline, gap, _ANGLES)
    return [_over(p, side) for p in (*found[:most], *found[2 * _TRIED : 2 * _TRIED + most])]


def _over(pattern: _Pattern, side: float) -> PatternOver:
    period = (pattern.rows[0][0][2] + pattern.rows[0][1][2]) * _CELL
    size = max(max(shape.size) for shape, _, _ in pattern.rows[0])
    count = 2 * ceil((side + size) / period + 2)
    rows = [pattern.row(0, count), [(shape, x + pattern.shift, y) for shape, x, y in pattern.row(1, count)]]
    parts: list[tuple[Point, float]] = []
    heights: list[float] = []
    profiles = [_profile(row) for row in rows]
    skyline = np.zeros(max(len(top) for top, _ in profiles))
    while len(heights) < 3 or heights[-1] < side + size + heights[2]:
        k = len(heights) % 2
        top, bottom = profiles[k]
        under = skyline[: len(top)]
        y = float(np.max(under - bottom))
        np.maximum(under, top + y, out=under)
        parts += [((x * _CELL - s.corner[0] - period, y + up * _CELL - s.corner[1]), s.angle) for s, x, up in rows[k]]
        heights.append(y)
    shifts = np.array([shift for shift, _ in parts])
    return PatternOver(
        shifts, np.array([angle for _, angle in parts]), (period, heights[2] - heights[0]), (0, 1, count, count + 1)
    )


def _filled(
    patterns: list[_Pattern], quantity: int, sheet_size: Point, gap: float, say: Callable[[str], None]
) -> Iterator[Sheet]:
    """Sheets: full ones while parts are left, the last one on the smallest rectangle."""
    left = quantity
    while left:
        tried = patterns if left <= _SOME else patterns[:_MANY] + patterns[2 * _TRIED : 2 * _TRIED + _MANY]
        options: list[Sheet] = []
        for number, pattern in enumerate(tried):
            if quantity >= _TOLD and number % ceil(len(tried) / 4) == 0:
                say(
                    f"{quantity - left} of {quantity} parts lie; {100 * number // len(tried)} % of the next sheet tried"
                )
            options += _laid_out(pattern, left, sheet_size, gap)
        if not options:
            msg = f"no part fits a sheet of {sheet_size[0]:g} x {sheet_size[1]:g} mm with {gap:g} mm to the edge"
            raise DesignError(msg)
        most = max(len(o.placements) for o in options)
        best = min((o for o in options if len(o.placements) == most), key=lambda o: o.occupied[0] * o.occupied[1])
        yield best
        left -= most


def _laid_out(pattern: _Pattern, quantity: int, sheet_size: Point, gap: float) -> Iterator[Sheet]:
    """Lay out up to ``quantity`` parts in rows of every length that fits."""
    room_x, room_y = (side - gap + 2 * _SAG for side in sheet_size)  # the grown shapes carry half a gap each
    for count in _row_lengths(pattern, quantity, room_x):
        rows = [pattern.row(0, count), pattern.row(1, count)]
        profiles = [_profile(row) for row in rows]
        wide = max(len(profiles[0][0]), len(profiles[1][0]) + pattern.shift)
        if wide * _CELL > room_x:
            return
        skyline = np.zeros(wide)
        parts: list[tuple[_Shape, float, float]] = []
        for k in range(ceil(quantity / count)):
            top, bottom = profiles[k % 2]
            x = pattern.shift * (k % 2)
            under = skyline[x : x + len(top)]
            y = ceil(float(np.max(under - bottom)) / _CELL - 1e-9) * _CELL
            if y + float(top.max()) > room_y:
                break
            np.maximum(under, top + y, out=under)
            parts += [(s, (px + x) * _CELL, y + py * _CELL) for s, px, py in rows[k % 2]]
        if parts:
            yield _sheet(parts[:quantity], gap)


def _row_lengths(pattern: _Pattern, quantity: int, room_x: float) -> list[int]:
    """How many parts a row may have: all that fit; above ``_SOME`` parts one for each number of rows, and the most."""
    period = (pattern.rows[0][0][2] + pattern.rows[0][1][2]) * _CELL
    most = min(quantity, 2 * ceil(room_x / period) + 2)  # the layout itself says which do not fit
    if quantity <= _SOME:
        return list(range(1, most + 1))
    even = {ceil(quantity / rows) for rows in range(1, quantity + 1)}
    return sorted({*(count for count in even if count <= most), *range(max(1, most - 5), most + 1)})


def _sheet(parts: list[tuple[_Shape, float, float]], gap: float) -> Sheet:
    """Move the parts so that the lowest and leftmost lie one gap from the edge."""
    grown = gap / 2 + _SAG
    wide = max(x + s.size[0] for s, x, _ in parts)
    tall = max(y + s.size[1] for s, _, y in parts)
    x0, y0 = min(x for _, x, _ in parts), min(y for _, _, y in parts)
    places = tuple(
        Placement((x - x0 - s.corner[0] + gap - grown, y - y0 - s.corner[1] + gap - grown), s.angle)
        for s, x, y in parts
    )
    return Sheet(places, (wide - x0 - 2 * grown, tall - y0 - 2 * grown))


def plain_occupied(outline: Loop, quantity: int, sheet_size: Point, gap: float) -> float:
    """Least area that rows of equal bounding boxes occupy on the same sheets [mm^2]."""
    x0, y0, x1, y1 = outline.box
    left, total = quantity, 0.0
    while left:
        options = []
        for wide, tall in ((x1 - x0, y1 - y0), (y1 - y0, x1 - x0)):
            across, up = floor((sheet_size[0] - gap) / (wide + gap)), floor((sheet_size[1] - gap) / (tall + gap))
            for columns in range(1, across + 1):
                rows = min(up, ceil(left / columns))
                box = (columns * (wide + gap) - gap) * (rows * (tall + gap) - gap)
                if rows:
                    options.append((min(left, columns * rows), box))
        if not options:
            return float("inf")  # boxes that fit in no direction; turned parts may
        most = max(n for n, _ in options)
        total += min(box for n, box in options if n == most)
        left -= most
    return total
