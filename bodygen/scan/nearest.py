"""How far points are from a drawn surface: the nearest place on it, by rows of it first, then by Newton's method.

Knows surfaces. Needs no library but numpy: hundreds of points take milliseconds, a scan's ten thousand a second.
"""

import numpy as np

from bodygen.form.body import Array, Body, fine_parameters
from bodygen.form.triples import inside_polygon

PER_SPAN, PER_SEGMENT = 4, 8
AT_ONCE, TABLE = 2000, 12_000_000
"""Points looked at together at most; distances in their table to the grid, 100 MB: a wild surface has many rows."""
STEPS = 12


def signed_distances(body: Body, points: Array) -> Array:
    """How far points (k, 3) lie outside the skin (k,) [mm]; negative within the body.

    Derived here: from the nearest of a grid of places on the skin, Gauss-Newton steps that only ever come nearer.

    Examples
    --------
    >>> from bodygen.form.fairing.offsets import Offsets, skin_through
    >>> one = np.ones(4)
    >>> bar = skin_through(Offsets(20 * np.arange(4), 10 * one, -10 * one, 8 * one, 0 * one, 2 * one, 2 * one))
    >>> signed_distances(bar, np.array([[30.0, 0, 12], [30, -9, 0], [30, 0, 7], [63, 0, 0]])).tolist()
    [2.0, 1.0, -3.0, 3.0]
    """
    right = np.abs(np.asarray(points, dtype=float) * (0.0, 1.0, 0.0)) + points * (1.0, 0.0, 1.0)
    grid = len(fine_parameters(body, PER_SPAN)) * (PER_SEGMENT * body.segments + 1)
    step = max(1, min(AT_ONCE, TABLE // grid))
    parts = [_signed(body, right[i : i + step]) for i in range(0, len(right), step)]
    return np.concatenate(parts) if parts else np.zeros(0)


def _signed(body: Body, points: Array) -> Array:
    u, w = _start(body, points)
    low, high, most = body.breaks[0], body.breaks[-1], float(body.segments)
    at, along, around = body.places(u, w)
    best = ((points - at) ** 2).sum(axis=1)
    damping = np.full(len(points), 1e-9)
    for _ in range(STEPS):
        off = points - at
        a, b, c = (along**2).sum(axis=1), (along * around).sum(axis=1), (around**2).sum(axis=1)
        p, q = (off * along).sum(axis=1), (off * around).sum(axis=1)
        a, c = a * (1 + damping) + 1e-12, c * (1 + damping) + 1e-12
        # a step that leaves the skin's edge moves along the edge alone
        du, dw = _solved(a, b, c, p, q)
        stuck_u = ((u <= low) & (du < 0)) | ((u >= high) & (du > 0))
        stuck_w = ((w <= 0) & (dw < 0)) | ((w >= most) & (dw > 0))
        du, dw = (
            np.where(stuck_u, 0.0, np.where(stuck_w, p / a, du)),
            np.where(stuck_w, 0.0, np.where(stuck_u, q / c, dw)),
        )
        u1, w1 = np.clip(u + du, low, high), np.clip(w + dw, 0.0, most)
        at1, along1, around1 = body.places(u1, w1)
        far = ((points - at1) ** 2).sum(axis=1)
        nearer = far <= best
        u, w, best = np.where(nearer, u1, u), np.where(nearer, w1, w), np.where(nearer, far, best)
        keep = nearer[:, None]
        at, along, around = (np.where(keep, new, old) for new, old in ((at1, at), (along1, along), (around1, around)))
        damping = np.where(nearer, damping / 8, np.maximum(damping * 30, 1e-3))
    distance = np.sqrt(best)
    outwards = np.cross(around, along)
    side = ((points - at) * outwards).sum(axis=1)
    beyond = (points[:, 0] < 0) | (points[:, 0] > body.length)
    flat = np.linalg.norm(outwards, axis=1) < 1e-12
    outside = beyond | np.where(flat, False, side > 0)
    return _past_ends(body, points, np.where(outside, distance, -distance))


def _past_ends(body: Body, points: Array, distance: Array) -> Array:
    """Mind the plane ends: what lies before one is as far as from the plane, what lies behind it perhaps nearer."""
    for sized, x in ((body.nose_flat, 0.0), (body.tail_flat, body.length)):
        if not sized:
            continue
        ring = body.section_at(x)
        within = inside_polygon(ring, points[:, 1:])
        ahead = (x - points[:, 0]) if x == 0 else (points[:, 0] - x)
        near = within & (ahead > -np.abs(distance))
        distance = np.where(near, np.where(ahead > 0, ahead, np.maximum(distance, ahead)), distance)
    return distance


def _start(body: Body, points: Array) -> tuple[Array, Array]:
    """Parameters (k,) along and around of the nearest place of the grid."""
    u = fine_parameters(body, PER_SPAN)
    grid = body.points(u, PER_SEGMENT)
    flat = grid.reshape(-1, 3)
    square = (flat**2).sum(axis=1) - 2 * points @ flat.T
    nearest = np.argmin(square, axis=1)
    return u[nearest // grid.shape[1]], (nearest % grid.shape[1]) / PER_SEGMENT


def _solved(a: Array, b: Array, c: Array, p: Array, q: Array) -> tuple[Array, Array]:
    """Solve many 2 x 2 systems [[a, b], [b, c]] (du, dw) = (p, q)."""
    det = a * c - b * b
    det = np.where(np.abs(det) > 1e-15 * a * c, det, a * c)
    return (c * p - b * q) / det, (a * q - b * p) / det
