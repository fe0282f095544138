"""Vector products of many triples, and points in a polygon, as plain arithmetic; a library finds where the axes are."""

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


def radii_around(corners: Array, centre: Array) -> Array:
    """How far each facet (m, 3, 3) reaches from a point of its own (m, 3) [mm].

    Elementary: the farthest of three corners.

    Examples
    --------
    >>> radii_around(np.array([[[0.0, 0, 0], [3, 0, 0], [0, 4, 0]]]), np.zeros((1, 3))).tolist()
    [4.0]
    """
    away = corners - centre[:, None]
    square = np.einsum("ijk,ijk->ij", away, away)
    return np.asarray(np.sqrt(np.maximum(np.maximum(square[:, 0], square[:, 1]), square[:, 2])))


def extents(points: Array) -> tuple[Array, Array]:
    """Least and greatest coordinates (3,), (3,) of points (n, 3) [mm]; many times as quick as by rows.

    Examples
    --------
    >>> [ends.tolist() for ends in extents(np.array([[0.0, 2, 1], [3, 0, 1]]))]
    [[0.0, 0.0, 1.0], [3.0, 2.0, 1.0]]
    """
    rows = np.ascontiguousarray(points.T)
    return rows.min(axis=1), rows.max(axis=1)


def corner_rows(vertices: Array, faces: NDArray[np.int64]) -> Array:
    """Corners of faces (m, 3) over vertices (n, 3) [mm]: (3, 3, m), coordinates by corners, each row without a gap.

    Examples
    --------
    >>> corner_rows(np.array([[0.0, 0, 0], [3, 0, 0], [0, 4, 0]]), np.array([[0, 1, 2]]))[:, :, 0].tolist()
    [[0.0, 3.0, 0.0], [0.0, 0.0, 4.0], [0.0, 0.0, 0.0]]
    """
    return np.take(np.ascontiguousarray(vertices.T), np.ascontiguousarray(faces.T), axis=1)


def area_rows(corners: Array) -> Array:
    """As ``doubled_areas`` (3, m) [mm^2], of corners as ``corner_rows`` has them; several times as quick.

    Elementary: the cross product of two edges.

    Examples
    --------
    >>> area_rows(corner_rows(np.array([[0.0, 0, 0], [3, 0, 0], [0, 4, 0]]), np.array([[0, 1, 2]])))[:, 0].tolist()
    [0.0, 0.0, 12.0]
    """
    (x, y, z), (x2, y2, z2) = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    return np.stack([y * z2 - z * y2, z * x2 - x * z2, x * y2 - y * x2])


def inside_polygon(corners: Array, points: Array) -> NDArray[np.bool_]:
    """Which points (k, 2) lie within a closed polygon of corners (n, 2), which may be hollow but not cross itself.

    Elementary: by the parity of the sides that a ray crosses.

    Examples
    --------
    >>> inside_polygon(np.array([[0.0, 0], [2, 0], [2, 2], [0, 2]]), np.array([[1.0, 1], [3, 1]])).tolist()
    [True, False]
    """
    s, t = points[:, 0], points[:, 1]
    inside = np.zeros(len(points), dtype=bool)
    for (s0, t0), (s1, t1) in zip(corners, np.roll(corners, -1, axis=0), strict=True):
        if t0 != t1:
            inside ^= ((t0 <= t) != (t1 <= t)) & (s < s0 + (s1 - s0) * (t - t0) / (t1 - t0))
    return inside
