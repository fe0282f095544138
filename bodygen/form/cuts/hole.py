"""What a hole is called, and how far points are from it: along its axis, from that, and from its wall.

Knows one tool. Knows nothing of the skin around it.
"""

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from bodygen.form.cuts.tools import Revolved

Array = NDArray[np.float64]
ON_MM = 1e-9
"""Skin as near to a hole's own end as rounding leaves it lies on that end."""


def label(bore: Revolved) -> str:
    """What a finding calls a bore: its place in the recipe and its name."""
    return f"bore[{bore.bore + 1}] {bore.name}"


def cylindrical(bore: Revolved, points: Array) -> tuple[Array, Array]:
    """Distance along the axis from the mouth and away from it (n,), for points (n, 3) [mm]."""
    away = points - np.array(bore.origin)
    s = away @ np.array(bore.axis)
    return s, np.sqrt(np.maximum(np.einsum("ij,ij->i", away, away) - s * s, 0.0))


def in_profile(bore: Revolved, points: Array, start: float = 0.0) -> tuple[Array, Array]:
    """Distance along the axis and signed distance to the hole, negative inside (n,), for points (n, 3) [mm].

    Elementary plane geometry: to each edge of the half section, the sign by whether a point lies within it. Outside the
    skin the drill's path is air: the hole begins at the mouth, or at ``start`` [mm, at most 0] where it leans and the
    wood beside the mouth begins before it.

    Examples
    --------
    >>> hole = Revolved("b", "any", 0, False, (0.0, 0.0, 0.0), (0.0, 0.0, 1.0),
    ...                 ((-9.0, 0.0), (-9.0, 3.0), (10.0, 3.0), (10.0, 0.0)), False, 6.0, 10.0, 10.0)
    >>> [each.tolist() for each in in_profile(hole, np.array([[1.0, 0.0, 5.0], [7.0, 0.0, 5.0], [0.0, 0.0, 14.0]]))]
    [[5.0, 5.0, 14.0], [-2.0, 4.0, 4.0]]
    """
    s, r = cylindrical(bore, points)
    outline, (s0, r0, ds, dr, square) = _half_section(bore, start)
    off, out = s - s0, r - r0
    share = np.minimum(np.maximum((off * ds + out * dr) / square, 0.0), 1.0)
    off -= share * ds
    out -= share * dr
    distance = np.sqrt((off * off + out * out).min(axis=0))
    inside = (s > start) & (s < bore.point) & (r < np.interp(s, *outline))
    return s, np.where(inside, -distance, distance)


@lru_cache(maxsize=64)  # asked for hundreds of times while one bore is held against the skin
def _half_section(bore: Revolved, start: float) -> tuple[Array, tuple[Array, ...]]:
    """The hole's wall as (s, r) rows (2, n) [mm]; of every edge start, way (e, 1) [mm] and squared length [mm^2]."""
    profile = np.array(bore.profile)
    wide = float(np.interp(0.0, profile[:, 0], profile[:, 1]))
    within = profile[profile[:, 0] > 0]
    if bore.through:
        steps = within[within[:, 0] < bore.point]
        within = np.concatenate([steps, [[bore.point, bore.diameter / 2], [bore.point, 0.0]]])
    outline = np.concatenate([[[start, 0.0], [start, wide]], within])
    (s0, r0), (ds, dr) = outline[:-1].T[:, :, None], np.diff(outline, axis=0).T[:, :, None]
    return outline[1:].T, (s0, r0, ds, dr, np.maximum(ds * ds + dr * dr, 1e-18))
