"""The lines that bores, saw cuts and the lip show in a view, seen or hidden; mm.

Knows the tools of form/cuts/ and where they meet the skin. Knows no paper and no scale (drawing.py).
"""

from collections.abc import Callable
from functools import lru_cache
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from bodygen.form.body import Body
from bodygen.form.cuts import Prism, Revolved, Tool
from bodygen.form.facing import Projection
from bodygen.report.pictures.hidden_lines import Array, Trace, hull, split
from bodygen.shop.lip.plate import LipPlate

Mask = NDArray[np.bool_]
Vector = tuple[float, float, float]
KEPT = 64
"""Cuts and plates whose lines are kept: of a bait that is changed, most stay as they are."""
ROUND = 40
"""Points of a drawn circle."""
FACING = 0.3
"""Least cosine between a bore's axis and the line of sight for its mouth to be drawn as seen [-]."""


def inside(body: Body, points: Array) -> Mask:
    """Whether points (k, 3) [mm] lie in the body (k,): nearer the mid-plane than the skin at their height."""
    along = (points[:, 0] >= 0) & (points[:, 0] <= body.length)
    if not points[:, 1].any():
        belly, back = body.heights_at(points[:, 0])
        between: Mask = along & (points[:, 2] > belly) & (points[:, 2] < back)
        return between
    x, which = np.unique(points[:, 0], return_inverse=True)  # most drills stand square to the axis: few sections serve
    half = body.points(body.parameter_at(x), 16)[which]
    y, z, height = half[..., 1], half[..., 2], points[:, 2]
    row = np.arange(len(points))
    above = np.clip(np.sum(z <= height[:, None], axis=1), 1, z.shape[1] - 1)  # z never falls from belly to back
    step = z[row, above] - z[row, above - 1]
    share = np.clip((height - z[row, above - 1]) / np.where(step > 0, step, 1.0), 0.0, 1.0)
    edge = y[row, above - 1] + share * (y[row, above] - y[row, above - 1])
    held: Mask = along & (height > z[:, 0]) & (height < z[:, -1]) & (np.abs(points[:, 1]) < edge)
    return held


@lru_cache(maxsize=KEPT)
def bore_lines(projection: Projection, body: Body, tool: Revolved) -> tuple[Trace, ...]:
    """Draw a bore as far as it lies in the wood, its mouth as seen where it faces the eye, and its axis."""
    parts = _bore_parts(body, tool)
    lines = [Trace(hull(projection.flat(np.concatenate(part))), "hidden", closed=True, part="bore") for part in parts]
    facing = float(np.array(tool.axis) @ projection.viewer)
    if facing < -FACING:
        lines.append(Trace(projection.flat(parts[0][0]), "visible", closed=True, part="bore mouth"))
    if tool.through and facing > FACING:
        lines.append(Trace(projection.flat(parts[-1][1]), "visible", closed=True, part="bore mouth"))
    axis = _centre_line(projection, np.array(tool.origin), np.array(tool.axis), tool, tool.profile[1][1])
    return (*lines, *axis)


@lru_cache(maxsize=64)
def _bore_parts(body: Body, tool: Revolved) -> tuple[tuple[Array, Array], ...]:
    """The bore as convex parts from mouth to point, each the points (k, 3) of its two ends [mm]."""
    origin, axis = np.array(tool.origin), np.array(tool.axis)
    across = _across(axis)
    parts: list[tuple[Array, Array]] = []
    ring, previous = _skin_ring(body, tool.origin, tool.axis, tool.profile[1][1]), 0.0
    for s, r in tool.profile[2:]:
        if tool.through and s > tool.point:
            if r > 0:
                parts.append((ring, _skin_ring(body, _vector(origin + axis * tool.point), _vector(-axis), r)))
            continue
        new = origin + axis * s + across * r
        if s > previous:
            parts.append((ring, _ball(origin, axis, tool, across) if tool.ball and r == 0 else new))
        ring, previous = new, max(s, 0.0)
    return tuple(parts)


@lru_cache(maxsize=KEPT)  # a bore of another depth has its mouth where it had it
def _skin_ring(body: Body, mouth: Vector, way: Vector, radius: float) -> Array:
    """Where a cylinder along ``way`` enters the wood, near ``mouth`` (ROUND, 3) [mm]; a side that misses stays there.

    Each of the cylinder's straight lines is followed inwards; the crossing is refined twice by linear interpolation.
    """
    axis = np.array(way)
    start = np.array(mouth) + _across(axis) * radius
    low, high = np.full(ROUND, -2 * radius - 1.0), np.full(ROUND, 2 * radius + 1.0)
    found = np.ones(ROUND, dtype=bool)
    for count in (14, 7, 7):
        s = np.linspace(low, high, count, axis=1)
        in_wood = inside(body, (start[:, None] + s[..., None] * axis).reshape(-1, 3)).reshape(s.shape)
        first = np.argmax(in_wood, axis=1)
        found &= first > 0
        row, first = np.arange(ROUND), np.maximum(first, 1)
        low, high = s[row, first - 1], s[row, first]
    ring: Array = start + np.where(found, (low + high) / 2, 0.0)[:, None] * axis
    return ring


def _vector(point: Array) -> Vector:
    x, y, z = point.tolist()
    return x, y, z


def _across(axis: Array) -> Array:
    """Points (ROUND, 3) of the unit circle square to an axis."""
    first = np.cross(axis, np.eye(3)[int(np.argmin(np.abs(axis)))])
    first /= np.linalg.norm(first)
    angle = np.linspace(0.0, 2 * np.pi, ROUND, endpoint=False)[:, None]
    circle: Array = np.cos(angle) * first + np.sin(angle) * np.cross(axis, first)
    return circle


def _ball(origin: Array, axis: Array, tool: Revolved, across: Array) -> Array:
    """Rings of the round end of a ball-nosed cutter (k, 3) [mm]."""
    turn = np.linspace(0.0, np.pi / 2, 13)
    depth = tool.point - tool.shoulder
    rings = [origin + axis * (tool.shoulder + depth * np.sin(t)) + across * depth * np.cos(t) for t in turn]
    return np.concatenate(rings)


def _centre_line(projection: Projection, origin: Array, axis: Array, tool: Revolved, radius: float) -> list[Trace]:
    """The axis a little beyond mouth and point; a cross where one looks along it."""
    over = 0.35 * radius + 0.6
    ends = projection.flat(np.stack([origin - axis * over, origin + axis * (tool.point + over)]))
    if float(np.hypot(*(ends[1] - ends[0]))) > 2 * over:
        return [Trace(ends, "centre", part="bore axis")]
    middle, arm = projection.flat(origin[None])[0], radius + over
    cross = (np.array([[-arm, 0], [arm, 0]]), np.array([[0, -arm], [0, arm]]))
    return [Trace(middle + line, "centre", part="bore axis") for line in cross]


@lru_cache(maxsize=KEPT)
def saw_lines(projection: Projection, body: Body, tool: Prism) -> tuple[Trace, ...]:
    """Edges of a slot or kerf as far as they lie in the wood."""
    origin, along, normal = (np.array(v) for v in (tool.origin, tool.along, tool.normal))
    corners = np.array([origin + a * along + b * normal for a, b in tool.polygon])
    ring = np.concatenate([corners, corners[:1]])
    sideways = np.array([0.0, tool.half, 0.0])

    def in_wood(points: Array) -> Mask:
        return inside(body, points)

    if projection.name == "side":
        thickest = float(body.half_width_at(np.clip(ring[:, 0], 0.0, body.length)).max())
        pen: Literal["visible", "hidden"] = "visible" if tool.half >= thickest else "hidden"
        edges = [ring]
    else:
        edges = [ring - sideways, ring + sideways]
        edges += [np.stack([c - sideways, c + sideways]) for c in corners[_sharp(corners)]]
        pen = "visible" if tool.kind == "wire" and not _opens_down(body, tool) else "hidden"
    return tuple(Trace(projection.flat(run), pen, part=tool.kind) for edge in edges for run in split(edge, in_wood)[0])


def _sharp(corners: Array) -> Array:
    """Which corners (k, 3) of a closed polygon turn by more than 20 degrees: edges worth a line (k,)."""
    ways = np.roll(corners, -1, axis=0) - corners
    ways /= np.linalg.norm(ways, axis=1, keepdims=True)
    keep: Array = np.sum(ways * np.roll(ways, 1, axis=0), axis=1) < np.cos(np.radians(20))
    return keep


def inner_point(body: Body, tool: Tool) -> Array:
    """Return a point (3,) inside the cut [mm]."""
    if isinstance(tool, Revolved):
        return np.array(tool.origin) + np.array(tool.axis) * (tool.shoulder * (0.5 if tool.through else 0.8))
    if tool.kind != "wire":
        return np.array(tool.origin) + np.array(tool.along) * (0.8 * tool.depth)
    start, end = _ends(tool)
    x = start + 0.15 * (end - start)
    down = _opens_down(body, tool)
    floor = np.array(sorted(tool.polygon[2:] if down else tool.polygon[:-2]))
    skin = body.heights_at(np.array([x]))[0 if down else 1]
    return np.array([x, 0.0, (float(np.interp(x, floor[:, 0], floor[:, 1])) + float(skin[0])) / 2])


def _ends(tool: Prism) -> tuple[float, float]:
    """Where a wire kerf begins and ends along x [mm]."""
    return min(a for a, _ in tool.polygon), max(a for a, _ in tool.polygon)


def _opens_down(body: Body, tool: Prism) -> bool:
    """Whether a wire kerf is sawn from the belly."""
    belly = body.heights_at(np.array([sum(_ends(tool)) / 2]))[0]
    return min(b for _, b in tool.polygon) < float(belly[0])


@lru_cache(maxsize=KEPT)
def plate_lines(projection: Projection, body: Body, slot: Prism, lip: LipPlate) -> tuple[Trace, ...]:
    """The lip in its slot: edge-on in side view, both faces in plan and end view."""
    origin, along, normal = (np.array(v) for v in (slot.origin, slot.along, slot.normal))
    half = lip.thickness / 2

    def at(points: Array, face: float) -> Array:
        sideways = points[:, 1:] * np.array([0.0, 1.0, 0.0])
        placed: Array = origin - points[:, :1] * along + sideways + face * normal
        return placed

    if projection.name == "side":
        tip, back = lip.exposed.box[2], -3 * half - 1.0
        edge = np.array([(back, 0.0), (tip, 0.0)])
        line = np.concatenate([at(edge, -half), at(edge[::-1], half)])
        seen = split(line, lambda points: inside(body, points))[1]
        return tuple(Trace(projection.flat(run), "visible", part="lip") for run in seen)
    shapes = [_off_the_mouth(np.array(lip.exposed.points(0.01)))]
    for hole in lip.holes:
        ring = np.array(hole.points(0.01))
        shapes.append(np.concatenate([ring, ring[:1]]))
    traces: list[Trace] = []
    for shape in shapes:
        for face in (-half, half):
            seen, hidden = split(at(shape, face), _seen(projection, body))
            traces += [Trace(projection.flat(run), "visible", part="lip") for run in seen]
            traces += [Trace(projection.flat(run), "hidden", part="lip") for run in hidden]
    return tuple(traces)


def _off_the_mouth(ring: Array) -> Array:
    """Open the closed outline (k, 2) where it runs along the slot's mouth: there is no edge, the plate goes on."""
    at_mouth = np.abs(ring[:, 0]) < 1e-6
    begins = np.flatnonzero(at_mouth & np.roll(at_mouth, 1))
    if len(begins):
        return np.roll(ring, -int(begins[0]), axis=0)
    return np.concatenate([ring, ring[:1]])


def _seen(projection: Projection, body: Body) -> Callable[[Array], Mask]:
    """Tell which points (k, 3) of the lip outside its slot the body does not hide (k,)."""

    def clear(points: Array) -> Mask:
        return ~inside(body, points)

    def beside(points: Array) -> Mask:
        x = points[:, 0]
        wide = body.half_width_at(np.clip(x, 0.0, body.length))
        return np.asarray((x <= 0) | (x >= body.length) | (np.abs(points[:, 1]) >= wide))

    return beside if projection.name == "plan" else clear
