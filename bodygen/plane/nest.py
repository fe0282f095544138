"""Many equal plates on sheets: how they lie, how many sheets they need, how much of the sheet becomes parts.

Knows one shape, a sheet and a gap. Knows no lip. The patterns of ``patterns.py`` are laid on the sheet, so that the
same lip always gives the same sheet.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from math import ceil, floor, pi

import numpy as np

from bodygen.errors import DesignError
from bodygen.plane.patterns import ANGLES, CELL_MM, SAG_MM, TRIED, Pattern, Turned, patterns_of, profile_of
from bodygen.plane.shapes import Loop, Placement, Point

_SOME = 60  # parts up to which rows of every length are tried
_MANY = 6  # patterns laid out for more than that, of the densest and of those square to the sheet
_TOLD = 20  # parts from which a person is told how far the search is


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
    patterns = patterns_of(outline, gap, ANGLES if quantity > 2 else (0.0, pi / 2))
    sheets = tuple(_filled(patterns, quantity, sheet_size, gap, say))
    plain = plain_occupied(outline, quantity, sheet_size, gap)
    occupied = sum(s.occupied[0] * s.occupied[1] for s in sheets)
    return Nest(sheets, quantity * one / occupied, quantity * one / plain)


def _filled(
    patterns: list[Pattern], quantity: int, sheet_size: Point, gap: float, say: Callable[[str], None]
) -> Iterator[Sheet]:
    """Sheets: full ones while parts are left, the last one on the smallest rectangle."""
    left = quantity
    while left:
        tried = patterns if left <= _SOME else patterns[:_MANY] + patterns[2 * TRIED : 2 * TRIED + _MANY]
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


def _laid_out(pattern: Pattern, quantity: int, sheet_size: Point, gap: float) -> Iterator[Sheet]:
    """Lay out up to ``quantity`` parts in rows of every length that fits."""
    usable_x, usable_y = (side - gap + 2 * SAG_MM for side in sheet_size)  # the grown shapes carry half a gap each
    for count in _row_lengths(pattern, quantity, usable_x):
        rows = [pattern.row(0, count), pattern.row(1, count)]
        profiles = [profile_of(row) for row in rows]
        wide = max(len(profiles[0][0]), len(profiles[1][0]) + pattern.shift)
        if wide * CELL_MM > usable_x:
            return
        skyline = np.zeros(wide)
        parts: list[tuple[Turned, float, float]] = []
        for k in range(ceil(quantity / count)):
            top, bottom = profiles[k % 2]
            x = pattern.shift * (k % 2)
            under = skyline[x : x + len(top)]
            y = ceil(float(np.max(under - bottom)) / CELL_MM - 1e-9) * CELL_MM
            if y + float(top.max()) > usable_y:
                break
            np.maximum(under, top + y, out=under)
            parts += [(s, (px + x) * CELL_MM, y + py * CELL_MM) for s, px, py in rows[k % 2]]
        if parts:
            yield _sheet(parts[:quantity], gap)


def _row_lengths(pattern: Pattern, quantity: int, usable_x: float) -> list[int]:
    """How many parts a row may have: all that fit; above ``_SOME`` parts one for each number of rows, and the most."""
    period = (pattern.rows[0][0][2] + pattern.rows[0][1][2]) * CELL_MM
    most = min(quantity, 2 * ceil(usable_x / period) + 2)  # the layout itself says which do not fit
    if quantity <= _SOME:
        return list(range(1, most + 1))
    even = {ceil(quantity / rows) for rows in range(1, quantity + 1)}
    return sorted({*(count for count in even if count <= most), *range(max(1, most - 5), most + 1)})


def _sheet(parts: list[tuple[Turned, float, float]], gap: float) -> Sheet:
    """Move the parts so that the lowest and leftmost lie one gap from the edge."""
    grown = gap / 2 + SAG_MM
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
