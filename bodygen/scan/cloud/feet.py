"""Where scanned points stand on a drawn surface: the nearest place of each, and which way the skin looks there.

Knows the right half of a body and its plane ends. The points are folded onto the right half by whoever asks. It stands
beside ``nearest`` on purpose: that one knows no library, and its damped steps are safe from anywhere but six times as
slow; a fit asks a hundred times, from near by, and wants the parameters and which plane end it is.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bodygen.form.body import Body, bernstein, fine_parameters
from bodygen.form.triples import cross

Array = NDArray[np.float64]
PER_SPAN, PER_SEGMENT = 3, 8
STEPS = 3
"""Newton steps from the nearest of the grid: less than 1e-4 mm is left after three."""
OVER = 1e-6
"""How far a step goes over from a segment to the next: there the next step sees how fast that one runs."""
SHORT_MM = 0.01
"""Shorter parts of a section are none."""
CAP_STEPS = 6


@dataclass(frozen=True, slots=True, eq=False)
class Feet:
    """The nearest places of k points on the right half.

    ``u``, ``v`` (k,) are the surface's parameters [-], ``point`` and ``normal`` (k, 3) the place [mm] and the unit
    normal outwards; ``off`` (k,) how far the point lies outside [mm]; ``cap`` (k,) is -1 on a plane nose, 1 on a plane
    tail, else 0.
    """

    u: Array
    v: Array
    point: Array
    normal: Array
    off: Array
    cap: Array


def feet_of(body: Body, points: Array) -> Feet:
    """The nearest places of points (k, 3) [mm] with y >= 0.

    Derived here: a k-d tree of a grid on the skin tells where to begin, Gauss-Newton's method does the rest.
    """
    from scipy.spatial import cKDTree

    u_rows = fine_parameters(body, PER_SPAN)
    grid = body.points(u_rows, PER_SEGMENT)
    columns = grid.shape[1]
    skin = grid.reshape(-1, 3)
    caps = [_cap(body, row) for row, flat in ((0, body.nose_flat), (-1, body.tail_flat)) if flat]
    signs = [s for s, flat in ((-1.0, body.nose_flat), (1.0, body.tail_flat)) if flat]
    kind = np.concatenate([np.zeros(len(skin)), *(np.full(len(c), s) for c, s in zip(caps, signs, strict=True))])
    _, near = cKDTree(np.concatenate([skin, *caps])).query(points)
    cap = kind[near]
    on_skin = cKDTree(skin).query(points[cap != 0])[1] if caps else np.zeros(0, dtype=int)
    near = near.copy()
    near[cap != 0] = on_skin
    u, v = u_rows[near // columns].copy(), (near % columns) / PER_SEGMENT
    low, high, most = float(body.knots[0]), float(body.knots[-1]), float(body.segments)
    span = (high - low) / 10
    jointed = body.segments > 2  # a short straight run and the curve beside it run at speeds that differ a hundredfold
    for _ in range(STEPS + jointed):
        at, along, around = body.places(u, v)
        gap = points - at
        a, b, c = (np.einsum("ij,ij->i", *pair) for pair in ((along, along), (along, around), (around, around)))
        p, q = np.einsum("ij,ij->i", gap, along), np.einsum("ij,ij->i", gap, around)
        a, c = a + SHORT_MM**2, c + SHORT_MM**2
        det = a * c - b * b
        u = np.clip(u + np.clip((c * p - b * q) / det, -span, span), low, high)
        on = np.minimum(np.floor(v), most - 1)
        v = v + np.clip((a * q - b * p) / det, -0.7, 0.7)
        v = np.clip(np.clip(v, on - OVER, on + 1 + OVER) if jointed else v, 0.0, most)
    at, along, around = body.places(u, v)
    short = np.flatnonzero(np.linalg.norm(around, axis=1) < SHORT_MM)
    if len(short) and body.segments > 2:  # a straight run of no length: the skin looks as it does beside it
        _, along[short], around[short] = body.places(u[short], _beside(v[short], body.segments))
    normal = cross(around, along)
    size = np.linalg.norm(normal, axis=1)
    tip = size < 1e-6 * np.linalg.norm(along, axis=1)
    normal = normal / np.maximum(size, 1e-300)[:, None]
    normal[tip] = np.where(u[tip, None] < (low + high) / 2, -1.0, 1.0) * (1.0, 0.0, 0.0)
    off = np.einsum("ij,ij->i", points - at, normal)
    for side, x in ((-1.0, 0.0), (1.0, body.length)):
        here = np.flatnonzero(cap == side)
        ahead = side * (points[here, 0] - x)
        closer = np.abs(ahead) < np.linalg.norm(points[here] - at[here], axis=1)
        cap[here[~closer]] = 0.0
        here, ahead = here[closer], ahead[closer]
        at[here], normal[here], off[here] = points[here] * (0.0, 1.0, 1.0) + (x, 0.0, 0.0), (side, 0.0, 0.0), ahead
    return Feet(u, v, at, normal, off, cap)


def _beside(v: Array, segments: int) -> Array:
    """Parameters on the curved part next to a straight run (k,) [-]."""
    first, last = v < 1, v > segments - 1
    if segments == 3:
        return np.full_like(v, 1 - 1e-3)
    return np.where(first, 1 + 1e-3, np.where(last, segments - 1 - 1e-3, 2 - 1e-3))


def around_weights(v: Array, segments: int) -> Array:
    """How much each control point of a half section counts at v (k,): (k, 3 s + 1) [-]."""
    segment = np.clip(v.astype(int), 0, segments - 1)
    weight = np.zeros((len(v), 3 * segments + 1))
    weight[np.arange(len(v))[:, None], 3 * segment[:, None] + np.arange(4)] = bernstein(v - segment)
    return weight


def _cap(body: Body, row: int) -> Array:
    """Points (k, 3) of a plane end's right half [mm], denser than a scan's."""
    rim = body.points(np.array([body.knots[row]]), PER_SEGMENT)[0]
    middle = np.array([rim[0, 0], 0.0, (rim[0, 2] + rim[-1, 2]) / 2])
    share = (np.arange(CAP_STEPS) / CAP_STEPS)[:, None, None]
    return np.asarray((middle + share * (rim - middle)).reshape(-1, 3))
