"""Equal plates in a left-over piece of sheet, whatever its shape: how many it holds, and where they lie.

Knows one shape, an outline and a gap. Knows no lip. The dense patterns of ``patterns.py`` are laid over the piece,
square to the axes and along its longest edges, one part in a corner, and what does not lie wholly inside is left out.
The search visits a fixed list, without chance or clock.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from math import atan2, cos, hypot, pi, sin
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from bodygen.errors import DesignError
from bodygen.plane.nest import Nest, Sheet, plain_occupied
from bodygen.plane.patterns import PatternOver, patterns_over
from bodygen.plane.shapes import Loop, Placement, Point, box_of, placed

if TYPE_CHECKING:
    from shapely import Geometry

_SAG = 0.01  # mm: of the chords that stand for arcs
_EDGES = 3  # longest edges that patterns are laid along
_CORNER = 0.2  # mm: corners of a room that stand out less than this are passed over
_PATTERNS = 10  # densest patterns tried in each direction

Floats = NDArray[np.float64]


def nested_in_offcut(outline: Loop, quantity: int, offcut: tuple[Point, ...], gap: float, area: float) -> Nest:
    """Lay up to ``quantity`` equal parts in one piece of sheet.

    Parameters
    ----------
    outline : Loop
        Of one part [mm].
    quantity : int
        Parts wanted, >= 1; fewer are laid where the piece holds no more.
    offcut : tuple of Point
        Corners of the piece [mm], without crossings.
    gap : float
        Least distance between parts and from a part to the piece's edge [mm].
    area : float
        Of one part, for the yield [mm^2].

    Returns
    -------
    Nest
        One sheet, in the offcut's own coordinates. The rectangle that its parts occupy lies along the pattern;
        ``plain_share`` is that of as many bounding boxes on a sheet as large as they need.

    Raises
    ------
    DesignError
        If not even one part fits.
    """
    import shapely

    patterns = patterns_over(outline, gap, _diagonal(offcut), _PATTERNS)
    boxes = {angle: placed(outline, Placement(angle=angle)).box for p in patterns for angle in set(p.angles)}
    best: _Choice | None = None
    for turn in _turns(offcut):
        turned = [Placement(angle=-turn).of(corner) for corner in offcut]
        inside = shapely.Polygon(turned).buffer(-gap - _SAG)
        inner_fits = {angle: _inner_fit(inside, placed(outline, Placement(angle=angle))) for angle in boxes}
        for pattern in patterns:
            for shifts, angles in _within(pattern, inner_fits, turned):
                if not len(shifts) or (best and min(quantity, len(shifts)) < len(best.shifts)):
                    continue
                chosen = _chosen(shifts, angles, quantity, boxes, turn)
                if best is None or chosen.rank < best.rank:
                    best = chosen
    if best is None:
        x0, y0, x1, y1 = box_of(offcut)
        msg = f"no part fits an offcut {x1 - x0:g} x {y1 - y0:g} mm over all with {gap:g} mm to the edge"
        raise DesignError(msg)
    back = Placement(angle=best.turn)
    places = tuple(
        Placement(back.of((float(x), float(y))), float(angle) + best.turn)
        for (x, y), angle in zip(best.shifts, best.angles, strict=True)
    )
    laid = len(places) * area
    x0, y0, x1, y1 = outline.box
    ample = len(places) * (max(x1 - x0, y1 - y0) + gap) + gap
    plain = plain_occupied(outline, len(places), (ample, ample), gap)
    return Nest((Sheet(places, best.occupied),), laid / (best.occupied[0] * best.occupied[1]), laid / plain)


@dataclass(frozen=True, slots=True)
class _Choice:
    """Parts that lie inside, in the frame turned by ``turn`` [rad], and the rectangle there that they occupy [mm]."""

    shifts: Floats
    angles: Floats
    turn: float
    occupied: Point

    @property
    def rank(self) -> tuple[int, float]:
        """Less is better: more parts, then a smaller rectangle."""
        return -len(self.shifts), round(self.occupied[0] * self.occupied[1], 6)


def _diagonal(offcut: tuple[Point, ...]) -> float:
    """Length that covers the piece however it is turned [mm]."""
    x0, y0, x1, y1 = box_of(offcut)
    return hypot(x1 - x0, y1 - y0)


def _turns(offcut: tuple[Point, ...]) -> list[float]:
    """Directions of patterns: the axes and the longest edges, each once but for quarter turns [rad]."""
    edges = sorted(pairwise((*offcut, offcut[0])), key=lambda e: -hypot(e[1][0] - e[0][0], e[1][1] - e[0][1]))
    turns = [0.0]
    for (ax, ay), (bx, by) in edges[:_EDGES]:
        turn = atan2(by - ay, bx - ax) % (pi / 2)
        if all(abs(sin(2 * (turn - other))) > 1e-6 or cos(2 * (turn - other)) < 0 for other in turns):
            turns.append(turn)
    return [*turns, *(turn + pi / 2 for turn in turns)]


def _inner_fit(inside: "Geometry", part: Loop) -> "Geometry":
    """Shifts that put a part wholly inside: none of its convex hull may touch an edge, and one point lies inside."""
    import shapely

    hull = np.array(shapely.MultiPoint(part.points(_SAG)).convex_hull.exterior.coords)
    allowed = []
    for piece in shapely.get_parts(inside):
        ends = np.array(piece.exterior.coords)
        sweeps = [shapely.MultiPoint(np.concatenate((a - hull, b - hull))).convex_hull for a, b in pairwise(ends)]
        start = shapely.transform(piece, lambda xy: xy - hull[0])
        allowed.append(start.difference(shapely.union_all(sweeps)))
    inner_fit = shapely.union_all(allowed)
    shapely.prepare(inner_fit)
    return inner_fit


def _within(
    pattern: PatternOver, inner_fits: dict[float, "Geometry"], corners: list[Point]
) -> Iterator[tuple[Floats, Floats]]:
    """Shifts and angles of the parts inside, each time with one part of the pattern in a corner of its room."""
    import shapely

    start = np.array(box_of(corners)[:2])
    for first in pattern.firsts:
        inner_fit = inner_fits[float(pattern.angles[first])]
        for corner in shapely.get_coordinates(inner_fit.simplify(_CORNER)):
            moved = start - np.mod(start - (corner - pattern.shifts[first]), pattern.repeat)
            shifts = pattern.shifts + moved
            inside = np.zeros(len(shifts), dtype=bool)
            for angle in set(pattern.angles):
                of_it = pattern.angles == angle
                inside[of_it] = shapely.dwithin(inner_fits[angle], shapely.points(shifts[of_it]), _SAG / 2)
            yield shifts[inside], pattern.angles[inside]


def _chosen(
    shifts: Floats, angles: Floats, quantity: int, boxes: dict[float, tuple[float, float, float, float]], turn: float
) -> _Choice:
    """Keep so many parts, from one side or the other, in the smaller rectangle."""
    spans = np.array([boxes[angle] for angle in angles]) + np.tile(shifts, 2)
    choices = []
    for order in (np.argsort(spans[:, k], kind="stable") for k in range(2)):
        kept = order[:quantity]
        size = spans[kept][:, 2:].max(axis=0) - spans[kept][:, :2].min(axis=0)
        choices.append(_Choice(shifts[kept], angles[kept], turn, (float(size[0]), float(size[1]))))
    return min(choices, key=lambda choice: choice.rank)
