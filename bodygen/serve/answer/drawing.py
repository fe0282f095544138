"""The drawing of the bait as points and roles: the lines of ``drawing.svg``, for a page that draws them itself.

In the body's own mm, to the right and up as seen. What is seen and what is hidden is worked out in ``report/``.
"""

from collections.abc import Iterator, Sequence
from functools import lru_cache
from typing import Any

import manifold3d
import numpy as np

from bodygen.form.cuts import Revolved
from bodygen.form.cuts.wired import bent_wires
from bodygen.form.facing import END, PLAN, SIDE, Projection
from bodygen.form.integrals import Array
from bodygen.mesh.cut import to_manifold
from bodygen.report.pictures.floating_view import silhouette
from bodygen.report.pictures.hidden_lines import Trace
from bodygen.report.pictures.views import view_of
from bodygen.serve.answer.handles import handles_of
from bodygen.serve.answer.hanging import Strand
from bodygen.serve.answer.known import Known
from bodygen.serve.answer.section_handles import section_handles
from bodygen.weights.measured import metal_in

VIEWS: dict[str, Projection] = {"side": SIDE, "plan": PLAN, "nose": END, "section": END}
ROLES = {
    "bore": "bore",
    "bore mouth": "bore",
    "lip": "lip",
    "slot": "slot",
    "mouth": "slot",
    "wire": "slot",
    "bent wire": "wire",
    "widest line": "inner",
    "flat end": "inner",
    "bore axis": "centre",
    "parting line": "centre",
    "mid-plane": "centre",
}
"""By the part that a trace shows; all others are outlines."""
AIR = 0.06
"""Around what is drawn, as a share of its larger side."""
OFF_MM, CORNER, FEW = 0.003, 0.03, 50
"""What no screen shows: how far a chord may leave its arc; a bend worth a point [rad]; lines that are short enough."""


def drawing_of(known: Known, strands: Sequence[Strand], view: str, section_x_mm: float | None = None) -> dict[str, Any]:
    """One view's lines, handles and box [mm]; ``section_x_mm``: where a section is taken, the middle if left out."""
    projection = VIEWS[view]
    length = known.shaped.sizes[0]
    x = min(max(section_x_mm if section_x_mm is not None else length / 2, 0.0), length)
    shapes = list(_section(known, x) if view == "section" else _view(known, strands, projection))
    handles = list(section_handles(known, x)) if view == "section" else handles_of(known, view)
    places = np.array([p for one in shapes if one["role"] != "waterline" for p in one["points"]])
    low, high = places.min(axis=0), places.max(axis=0)
    air = AIR * float((high - low).max())
    box = [*(low - air).tolist(), *(high + air).tolist()]
    return {
        "view": view,
        "box": box,
        "length_mm": length,
        "section_x_mm": x if view == "section" else None,
        "shapes": shapes,
        "handles": handles,
    }


def _view(known: Known, strands: Sequence[Strand], projection: Projection) -> Iterator[dict[str, Any]]:
    shaped = known.shaped
    if shaped.body is None:
        for points in silhouette(to_manifold(shaped.mesh), projection).to_polygons():
            yield _shape("outline", np.asarray(points), closed=True)
        if shaped.set_plate is not None:
            for points in silhouette(shaped.set_plate.exposed, projection).to_polygons():
                yield _shape("lip", np.asarray(points), closed=True)
    else:
        wires = [wire.line for wire in bent_wires(known.recipe, shaped.tools, shaped.caster)]
        for trace in view_of(projection, shaped.body, shaped.tools, shaped.plate, wires).traces:
            yield _traced(trace)
    for solid in _metals(known):
        for points in silhouette(solid, projection).to_polygons():
            yield _shape("metal", np.asarray(points), closed=True)
    for strand in strands:
        if strand.role != "wire":
            role = "hook" if strand.role in {"hook", "ring"} else "wire"
            yield _shape(role, projection.flat(strand.placed), closed=strand.closed)
    yield from _waterline(known, projection)


@lru_cache(maxsize=256)  # a trace is kept as long as what it shows stays as it is
def _traced(trace: Trace) -> dict[str, Any]:
    shape = _shape(ROLES.get(trace.part, "outline"), thinned(trace.points), closed=trace.closed)
    return shape | {"hidden": True} if trace.pen == "hidden" else shape


def thinned(points: Array) -> Array:
    """The points (k, 2) of a line that a screen needs of it [mm]: the chords lie within ``OFF_MM`` of the arcs.

    Of an arc of curvature k a chord c is off by k c^2 / 8: a point stays where the root of that, summed along the line
    from each to the next, passes a whole number of times that of ``OFF_MM``. So do both ends, and each corner.

    Examples
    --------
    >>> turn = np.linspace(0.0, 1.0, 501)[:, None]
    >>> arc = 40 * np.concatenate([np.cos(turn), np.sin(turn)], axis=1)
    >>> few = thinned(arc)
    >>> middles = np.linalg.norm((few[1:] + few[:-1]) / 2, axis=1)
    >>> len(few), bool(40 - middles.min() < 1.2 * OFF_MM)
    (42, True)
    """
    if len(points) < FEW:
        return points
    points = points[np.append(True, np.diff(points, axis=0).any(axis=1))]
    ways = np.diff(points, axis=0)
    size = np.hypot(*ways.T)
    (x, y), (right, up) = ways[:-1].T, ways[1:].T
    angle = np.abs(np.arctan2(x * up - y * right, x * right + y * up))
    run = np.cumsum(np.sqrt(angle * (size[:-1] + size[1:]) / (16 * OFF_MM))).astype(int)
    stays = (np.diff(run, prepend=0) > 0) | (angle > CORNER)
    kept: Array = points[np.concatenate([[True], stays, [True]])]
    return kept


def _shape(role: str, points: Array, *, closed: bool) -> dict[str, Any]:
    return {"role": role, "closed": closed, "points": np.round(points, 3).tolist()}


def _metals(known: Known) -> Iterator[manifold3d.Manifold]:
    for place, tool in enumerate(known.shaped.tools):
        metal = metal_in(known.recipe, tool, place, known.shaped.pieces) if isinstance(tool, Revolved) else None
        if metal is not None:
            yield metal[0]


def _waterline(known: Known, projection: Projection) -> Iterator[dict[str, Any]]:
    """The water as a straight line across side and end view, of a bait that floats."""
    at = known.flotation.attitude
    if at.water_height is None or projection.name == "plan":
        return
    up = np.array(at.up)
    across, rise = float(up @ projection.right), float(up @ projection.up)
    if abs(rise) < 1e-3:
        return
    length = known.shaped.sizes[0]
    ends = np.array([-0.25 * length, 1.25 * length]) if projection.name == "side" else np.array([-length, length]) / 2
    # the plane at y = 0 of a side view; at the middle of the length of one from the nose
    middle = 0.0 if projection.name == "side" else float(up[0]) * length / 2
    heights = (at.water_height - middle - across * ends) / rise
    yield _shape("waterline", np.stack([ends, heights], axis=1), closed=False)


def _section(known: Known, x: float) -> Iterator[dict[str, Any]]:
    """A section square to the body's axis, as seen from the nose: skin, what is cut out of it, metal."""
    shaped = known.shaped
    if shaped.body is None:
        outlines = _sliced(to_manifold(shaped.mesh), x)
    else:
        outlines = [shaped.body.section_at(x) * (-1.0, 1.0)]
    for points in outlines:
        yield _shape("outline", points, closed=True)
    cut = zip(shaped.tools, shaped.pieces.cavities, strict=True)
    solids = [("bore" if isinstance(tool, Revolved) else "slot", cavity) for tool, cavity in cut]
    solids += [("metal", metal) for metal in _metals(known)]
    if shaped.set_plate is not None:
        solids.append(("lip", shaped.set_plate.exposed))
    for role, solid in solids:
        for points in _sliced(solid, x):
            yield _shape(role, points, closed=True)
    yield from _waterline(known, END)


def _sliced(solid: manifold3d.Manifold, x: float) -> list[Array]:
    """Where a solid is cut at x, as seen from the nose [mm]."""
    turn = np.zeros((3, 4))
    turn[:, :3] = END.right, END.up, END.viewer
    return [np.asarray(points) for points in solid.transform(turn).slice(-x).to_polygons()]
