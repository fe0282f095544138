"""The body's own lines in a plane: side view, plan, and the section at a station, as lines and arcs.

Knows the body's surface, or a mesh taken as it is. Knows no blank, no card and no tool. Side view: x along, z up. Plan:
x along, y up, as seen from above. Section: y to the right and z up, as seen from the tail.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import hypot, pi

import numpy as np
from numpy.typing import NDArray

from bodygen.errors import DesignError
from bodygen.form import spline
from bodygen.form.body import Body, bernstein_slope, bezier_points, fine_parameters
from bodygen.mesh.cut import to_manifold
from bodygen.mesh.skin import Mesh
from bodygen.plane.arcs import directions_of, fitted_arcs
from bodygen.plane.polygon import polygon, ring_area
from bodygen.plane.shapes import Line, Loop, Piece, Placement, Point, placed, straight

Array = NDArray[np.float64]
FITTED_MM = 0.004
"""How far arcs may leave the curve they stand for: a tenth of what a laser repeats."""
PER_SPAN, PER_BEZIER = 12, 32
FACET_MM = 0.01
"""How far the outline of a mesh's shadow may be straightened."""
SAME_MM = 1e-7
_ACROSS = Placement(angle=pi, mirror=True)  # left becomes right


@dataclass(frozen=True, slots=True)
class Section:
    """The section at ``x``, moved outward by ``clearance`` [mm]; y to the right, z up, seen from the tail.

    ``over`` runs counter-clockwise from its widest place on the right over the back to that on the left; ``under`` from
    the widest on the left under the belly to that on the right. Neither undercuts: each can be drawn off straight.
    """

    x: float
    clearance: float
    over: tuple[Piece, ...]
    under: tuple[Piece, ...]

    @property
    def half_width(self) -> float:
        """Greatest distance of either side from the mid-plane [mm]."""
        ends = (self.over[0].start, self.over[-1].end, self.under[0].start, self.under[-1].end)
        return max(abs(y) for y, _ in ends)


def side_view(body: Body | None, mesh: Mesh) -> Loop:
    """Outline of the body in the mid-plane, (x, z), counter-clockwise [mm]; the mesh's shadow if there is no body."""
    if body is None:
        return _shadow(mesh, (0, 2))
    return _closed(_lines(body, 0, 2), _lines(body, -1, 2))


def plan_view(body: Body | None, mesh: Mesh) -> Loop:
    """Outline of the body seen from above, (x, y), counter-clockwise [mm]; the mesh's shadow if there is no body."""
    if body is None:
        return _shadow(mesh, (0, 1))
    right = _lines(body, body.widest_index, 1)
    left = [[placed(piece, Placement(mirror=True)) for piece in run] for run in right]
    return _closed(left, right)


def section(body: Body | None, mesh: Mesh, x: float, clearance: float = 0.0) -> Section:
    """The section at ``x``, moved outward by a uniform ``clearance`` [mm].

    Raises
    ------
    DesignError
        If there is no wood at x.
    """
    if body is None:
        return _mesh_section(mesh, x, clearance)
    control = body.polygons(body.parameter_at(np.array([x])))[0, :, 1:]
    points, ways = _half_section(control)
    if not np.ptp(points, axis=0).min() > SAME_MM:
        msg = f"there is no section at x = {x:g} mm: the body closes there"
        raise DesignError(msg)
    normals = np.stack([ways[:, 1], -ways[:, 0]], axis=1)
    points = points + clearance * normals
    points[[0, -1], 0] = 0.0
    widest = np.flatnonzero(points[:, 0] >= points[:, 0].max() - SAME_MM)
    below = _fitted(points[: widest[0] + 1], ways[: widest[0] + 1])
    above = _fitted(points[widest[-1] :], ways[widest[-1] :])
    return Section(x, clearance, (*above, *_mirrored(above)), (*_mirrored(below), *below))


def _mirrored(pieces: Sequence[Piece]) -> tuple[Piece, ...]:
    """The same pieces on the other side, travelled so that they carry on from the last or lead to the first."""
    return tuple(placed(piece, _ACROSS).reversed() for piece in reversed(pieces))


def _half_section(control: Array) -> tuple[Array, Array]:
    """Points of the right half from belly to back (k, 2) and the unit directions of travel there."""
    points = bezier_points(control, PER_BEZIER)
    slope = bernstein_slope(np.arange(PER_BEZIER) / PER_BEZIER)
    ways = [slope @ control[3 * i : 3 * i + 4] for i in range((len(control) - 1) // 3)]
    return _distinct(points, np.concatenate([*ways, [[-1.0, 0.0]]]), level_ends=True)


def _distinct(points: Array, ways: Array, *, level_ends: bool = False) -> tuple[Array, Array]:
    """Points without repeats and unit directions; where a derivative vanishes, the chord's."""
    keep = np.append(True, np.linalg.norm(np.diff(points, axis=0), axis=1) > SAME_MM)
    points, ways = points[keep], ways[keep]
    size = np.linalg.norm(ways, axis=1)
    chords = np.array(directions_of([(float(a), float(b)) for a, b in points]))
    ways = np.where(size[:, None] > 1e-9, ways / np.maximum(size, 1e-12)[:, None], chords)
    if level_ends:
        ways[0], ways[-1] = (1.0, 0.0), (-1.0, 0.0)
    return points, ways


def _fitted(points: Array, ways: Array) -> tuple[Piece, ...]:
    return fitted_arcs(_pairs(points), FITTED_MM, _pairs(ways))


def _pairs(rows: Array) -> list[Point]:
    return [(float(a), float(b)) for a, b in rows]


def _lines(body: Body, pole: int, axis: int) -> list[list[Piece]]:
    """One line of the surface from nose to tail in (x, axis), in runs between its sharp corners."""
    u = fine_parameters(body, PER_SPAN)
    corners = [0, *np.searchsorted(u, body.corners).tolist(), len(u) - 1]
    control = body.poles[:, pole][:, [0, axis]]
    points = spline.evaluate(body.knots, control, u)
    slopes = spline.evaluate(body.knots, control, u, 1)
    runs: list[list[Piece]] = []
    for first, last in pairwise(corners):
        inside = slice(first, last + 1)
        way = slopes[inside].copy()
        if first:  # at a corner the derivative is that of the run to come; each run keeps its own
            way[0] = 0.0
        if last < len(u) - 1:
            way[-1] = 0.0
        run, ways = _distinct(points[inside], way)
        if len(run) > 1:
            run[0], run[-1] = points[first], points[last]
            runs.append(list(_fitted(run, ways)))
    return runs


def _closed(low: list[list[Piece]], high: list[list[Piece]]) -> Loop:
    """Join a lower and an upper line, both from nose to tail, by flat ends where they do not meet."""
    there = [piece for run in low for piece in run]
    back = [piece.reversed() for run in reversed(high) for piece in reversed(run)]
    return Loop((*there, *straight(there[-1].end, back[0].start), *back, *straight(back[-1].end, there[0].start)))


def _shadow(mesh: Mesh, axes: tuple[int, int]) -> Loop:
    """The outline of a mesh's shadow along the third axis."""
    solid = to_manifold(mesh)
    turn = np.zeros((3, 4))
    order = (*axes, 3 - sum(axes))
    for row, axis in enumerate(order):
        turn[row, axis] = 1.0
    if np.linalg.det(turn[:, :3]) < 0:
        turn[2] *= -1
    outline = max(solid.transform(turn).project().simplify(FACET_MM).to_polygons(), key=ring_area)
    return polygon(_pairs(outline))


def _mesh_section(mesh: Mesh, x: float, clearance: float) -> Section:
    """The section of a mesh; hollows from which a card could not be drawn off are bridged."""
    from manifold3d import JoinType  # noqa: PLC0415  (beside its only use)

    turn = np.array([[0.0, 1.0, 0.0, 0.0], [0.0, 0.0, 1.0, 0.0], [1.0, 0.0, 0.0, 0.0]])
    cut = to_manifold(mesh).transform(turn).slice(x)
    if cut.is_empty():
        msg = f"there is no section at x = {x:g} mm: no wood there"
        raise DesignError(msg)
    grown = cut.offset(clearance, JoinType.Round, circular_segments=256) if clearance else cut
    outline = max(grown.to_polygons(), key=ring_area)
    right, left = int(np.argmax(outline[:, 0])), int(np.argmin(outline[:, 0]))
    over = np.roll(outline, -right, axis=0)[: (left - right) % len(outline) + 1]
    under = np.roll(outline, -left, axis=0)[: (right - left) % len(outline) + 1]
    return Section(x, clearance, _drawn_off(over), _drawn_off(under))


def _drawn_off(points: Array) -> tuple[Piece, ...]:
    """A line from one side to the other that never turns back across."""
    way = np.sign(points[-1, 0] - points[0, 0])
    ahead = np.maximum.accumulate(way * points[:, 0])
    kept = [points[0]]
    for point, reach in zip(points[1:-1], ahead[1:-1], strict=True):
        if way * point[0] >= reach and hypot(*(point - kept[-1])) > FACET_MM:
            kept.append(point)
    return tuple(Line(a, b) for a, b in pairwise(_pairs(np.array([*kept, points[-1]]))))
