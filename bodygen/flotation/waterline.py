"""Where the water meets the skin, and whether what hangs from an eye hangs free of the body.

Knows a hull and one plane or one plumb line. Knows nothing of balance, nor of hooks.
"""

from dataclasses import dataclass

import numpy as np

from bodygen.flotation.equilibrium import Vector
from bodygen.flotation.hull import Hull
from bodygen.form.integrals import Array

ROOM_AT_EYE = 0.2  # of the length: an eye sits in the skin, so the first part of what hangs there does not count
NEAR_MM = 1e-9  # more than rounding


@dataclass(frozen=True, slots=True)
class Hanging:
    """A thing that hangs from an eye ``at`` (3,) [mm] and reaches ``length`` [mm] down; its mass is in the total."""

    name: str
    at: Vector
    length: float


@dataclass(frozen=True, slots=True)
class Hang:
    """How one hanging thing hangs: its lowest point straight down [mm], and whether the body is not in its way."""

    name: str
    lowest: Vector
    free: bool


def waterlines(hull: Hull, up: Vector | Array, water_height: float) -> tuple[Array, ...]:
    """Trace the closed lines in which the water meets the skin.

    Derived here: from edge to edge of the cut faces, each point where its edge meets the plane.

    Parameters
    ----------
    hull : Hull
        Closed shells [mm]; vertices may be stored more than once.
    up : (3,)
        The vertical in body axes [-].
    water_height : float
        The water stands where up . p is this [mm].

    Returns
    -------
    tuple of (k, 3) arrays
        One loop each, body axes [mm], the first point not repeated, the wet side on the left seen from outside.

    Examples
    --------
    >>> import manifold3d
    >>> from bodygen.flotation.hull import Shell, build_hull
    >>> from bodygen.mesh.cut import to_mesh
    >>> box = to_mesh(manifold3d.Manifold.cube((60.0, 20.0, 10.0), True))
    >>> hull = build_hull([Shell(box.vertices, box.faces)])
    >>> (loop,) = waterlines(hull, np.array([0.0, 0, 1]), -1.0)
    >>> loop.min(axis=0).tolist(), loop.max(axis=0).tolist()
    ([-30.0, -10.0, -1.0], [30.0, 10.0, -1.0])
    """
    _, first, same = np.unique(hull.vertices, axis=0, return_index=True, return_inverse=True)
    points = hull.vertices[first]
    faces = same.reshape(-1)[hull.faces]
    s = points @ np.asarray(up) - water_height
    wet = s < 0
    count = wet[faces].sum(axis=1)
    cut = faces[(count > 0) & (count < 3)]
    tail, head = cut, np.roll(cut, -1, axis=1)
    out = wet[tail] & ~wet[head]  # each cut face is left through one edge and entered through one
    back = ~wet[tail] & wet[head]
    leaving = np.stack([tail[out], head[out]], axis=1)
    entering = np.stack([head[back], tail[back]], axis=1)  # as (wet, dry), the way its neighbour leaves
    following: dict[tuple[int, int], list[tuple[int, int]]] = {}
    for here, there in zip(leaving.tolist(), entering.tolist(), strict=True):
        following.setdefault((here[0], here[1]), []).append((there[0], there[1]))
    loops = []
    while following:
        edge = next(iter(following))
        chain = []
        while edge in following:
            chain.append(edge)
            onward = following[edge]
            edge, rest = onward[0], onward[1:]
            if rest:
                following[chain[-1]] = rest
            else:
                del following[chain[-1]]
        ends = np.array(chain)
        share = (s[ends[:, 0]] / (s[ends[:, 0]] - s[ends[:, 1]]))[:, None]
        loop = points[ends[:, 0]] + share * (points[ends[:, 1]] - points[ends[:, 0]])
        moved = np.linalg.norm(loop - np.roll(loop, 1, axis=0), axis=1) > 1e-9 * hull.size
        if moved.sum() > 2:
            loops.append(loop[moved])
    return tuple(loops)


def hang(hull: Hull, up: Vector | Array, hanging: Hanging) -> Hang:
    """Let a plumb line down from an eye: free when it stays out of the body from a fifth of its length on.

    Elementary: a plumb line; the share that may lie in the skin is common practice, no published source.

    Parameters
    ----------
    hull : Hull
        Closed shells [mm].
    up : (3,)
        The vertical in body axes [-].
    hanging : Hanging
        Eye and length [mm].

    Returns
    -------
    Hang

    Notes
    -----
    The length is that of a rigid thing straight down; how it swings, and how wide it is, are left out.

    Examples
    --------
    >>> import manifold3d
    >>> from bodygen.flotation.hull import Shell, build_hull
    >>> from bodygen.mesh.cut import to_mesh
    >>> box = to_mesh(manifold3d.Manifold.cube((60.0, 20.0, 10.0), True))
    >>> hull = build_hull([Shell(box.vertices, box.faces)])
    >>> up = np.array([0.0, 0, 1])
    >>> [hang(hull, up, Hanging("hook", (0.0, 0.0, z), 8.0)).free for z in (-5.0, 6.0)]   # at belly and back
    [True, False]
    """
    down = -np.asarray(up, dtype=np.float64)
    at = np.asarray(hanging.at, dtype=np.float64)
    depths = _crossings(hull, at, down)
    lowest = at + hanging.length * down
    inside = np.count_nonzero(depths > hanging.length) % 2 == 1
    through = np.any((depths > ROOM_AT_EYE * hanging.length) & (depths <= hanging.length))
    x, y, z = lowest.tolist()
    return Hang(hanging.name, (x, y, z), free=not (inside or through))


def _crossings(hull: Hull, start: Array, direction: Array) -> Array:
    """Distances [mm] from ``start`` at which a ray passes the skin; an edge belongs to the side left of it alone."""
    side = np.cross(direction, np.eye(3)[np.argmin(np.abs(direction))])
    side /= np.linalg.norm(side)
    frame = np.stack([side, np.cross(direction, side), direction])
    blocks = hull.blocks
    off = np.abs((blocks.centres + hull.origin - start) @ frame[:2].T) - blocks.half_sizes @ np.abs(frame[:2]).T
    near = (off <= NEAR_MM).all(axis=1)  # boxes that the line passes, and a few beside it
    used, places = np.unique(blocks.faces[near], return_inverse=True)  # each vertex once: its faces must agree on it
    a = places.reshape(-1, 3)
    b = np.roll(a, -1, axis=1)
    at = frame @ (hull.vertices[used] - start).T
    x, y, _ = at
    above = y >= 0
    spans = above[a] != above[b]
    # where each edge passes y = 0; both faces of an edge work it out from the same ends, so neither gap nor overlap
    low, high = np.minimum(a, b), np.maximum(a, b)
    run = np.where(spans, y[high] - y[low], 1.0)
    passes = x[low] - y[low] * (x[high] - x[low]) / run
    hit = (spans & (passes > 0)).sum(axis=1) % 2 == 1
    p, q, r = (at[:, a[hit, k]] for k in range(3))
    normal = np.cross((q - p).T, (r - p).T)
    depth: Array = (normal * p.T).sum(axis=1) / normal[:, 2]
    return depth[depth > 0]
