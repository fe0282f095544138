"""Vector products of many triples at once, as plain arithmetic; a library spends its time on where the axes are."""

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def cross(a: Array, b: Array) -> Array:
    """Vector product a x b of triples (..., 3), in the product of their units: [mm] by [mm] is [mm^2].

    Elementary.

    Examples
    --------
    >>> cross(np.array([1.0, 0.0, 0.0]), np.array([[0.0, 2.0, 0.0], [0.0, 0.0, 2.0]])).tolist()
    [[0.0, 0.0, 2.0], [0.0, -2.0, 0.0]]
    """
    a0, a1, a2 = a[..., 0], a[..., 1], a[..., 2]
    b0, b1, b2 = b[..., 0], b[..., 1], b[..., 2]
    out = np.empty(np.broadcast_shapes(a.shape, b.shape))
    out[..., 0] = a1 * b2 - a2 * b1
    out[..., 1] = a2 * b0 - a0 * b2
    out[..., 2] = a0 * b1 - a1 * b0
    return out


def doubled_areas(corners: Array) -> Array:
    """Outward normals (m, 3) [mm^2] of triangles (m, 3, 3) [mm], counter-clockwise outside, twice their area long.

    Elementary: the cross product of two edges.

    Examples
    --------
    >>> doubled_areas(np.array([[[0.0, 0.0, 0.0], [3.0, 0.0, 0.0], [0.0, 4.0, 0.0]]])).tolist()
    [[0.0, 0.0, 12.0]]
    """
    first = corners[:, 0]
    return cross(corners[:, 1] - first, corners[:, 2] - first)
