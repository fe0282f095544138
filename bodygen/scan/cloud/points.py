"""A scanned skin as points: of any mesh, open or closed, fine or coarse, with the area that each stands for.

Knows triangles. Knows nothing of baits, units or axes: lengths are those of the file, or what ``scaled`` made of them.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from bodygen.form.triples import doubled_areas

Array = NDArray[np.float64]
Whole = NDArray[np.int64]
WANTED = 10_000
"""Points of a scan: each row of sizes is then told by hundreds; more are put together by cells."""
LONG, FAR, MOST_WITHIN = 2.5, 6.0, 4000
"""Faces with an edge of more cells than ``LONG`` get points within, at most so many, to hang together. Of those below
``FAR`` the corners stand for all of the area: a scanner's scatter bends their skin more than its own roundness does."""
LIFT, SMOOTH = 0.75, 0.8
"""The share of Phong's tessellation; the cosine between corners' normals above which a skin is smooth."""
LEVELS = 2_000_000
"""Corners nearer together than this part of the scan's size are one."""


@dataclass(frozen=True, slots=True, eq=False)
class Cloud:
    """Points (k, 3) with unit ``normals`` (k, 3) [-], ``areas`` (k,) that they stand for, the number of their shell.

    A point that stands for nothing only ties others together. ``spacing`` is how far neighbours are apart, as a root of
    the mean area. Normals are the file's: perhaps inwards.
    """

    points: Array
    normals: Array
    areas: Array
    shell: Whole
    spacing: float

    def taken(self, which: NDArray[np.bool_] | NDArray[np.int64]) -> "Cloud":
        """Some of the points: by a mask or by numbers."""
        return Cloud(self.points[which], self.normals[which], self.areas[which], self.shell[which], self.spacing)

    @property
    def one_sided(self) -> float:
        """Length of the normals' mean [-]: 0 of a closed skin, 1 of a flat one."""
        return float(np.linalg.norm(self.areas @ self.normals) / max(float(self.areas.sum()), 1e-300))

    def scaled(self, scale: float) -> "Cloud":
        """In another unit."""
        return replace(self, points=self.points * scale, areas=self.areas * scale**2, spacing=self.spacing * scale)


def cloud_of(vertices: Array, faces: Whole) -> Cloud:
    """Points of a mesh: its corners, points within its large faces, all of a fine mesh put together by cells.

    Corners lie on the skin itself, the middle of a flat face within it: so corners, where there are enough. The mesh is
    ``merged`` already.
    """
    shell = _shells(len(vertices), faces)
    double = doubled_areas(vertices[faces])
    size = np.linalg.norm(double, axis=1)
    faces, double, size = faces[size > 0], double[size > 0], size[size > 0]
    area = size / 2
    total = float(area.sum())
    cell = np.sqrt(total / WANTED)
    normal = _corner_normals(vertices, faces, double / size[:, None])
    longest = np.zeros(len(faces))
    for k in range(3):
        edge = vertices[faces[:, k]] - vertices[faces[:, k - 1]]
        longest = np.maximum(longest, np.einsum("ij,ij->i", edge, edge))
    large = np.flatnonzero(longest > (LONG * cell) ** 2)
    count = np.zeros(len(faces), dtype=np.int64)
    count[large] = np.minimum(np.ceil(area[large] / cell**2), MOST_WITHIN)
    inside = _within(vertices, normal, faces[large], count[large])
    share = np.where(longest > (FAR * cell) ** 2, area / (count + 1), area)
    weight = sum(np.bincount(faces[:, k], share / 3, len(vertices)) for k in range(3))
    face = np.repeat(large, count[large])
    used = weight > 0
    points = np.concatenate([vertices[used], inside])
    normals = _unit(np.concatenate([normal[used], double[face]]))
    areas = np.concatenate([np.asarray(weight)[used], ((area - share) / np.maximum(count, 1))[face]])
    shells = np.concatenate([shell[used], shell[faces[face, 0]]])
    return _celled(Cloud(points, normals, areas, shells, float(cell)))


def merged(vertices: Array, faces: Whole) -> tuple[Array, Whole]:
    """Equal corners made one by a whole number for each, which sorts ten times as fast as rows of three."""
    low = vertices.min(axis=0)
    size = float(np.ptp(vertices, axis=0).max())
    key = np.zeros(len(vertices), dtype=np.int64)
    for axis in range(3):  # one at a time: a scan may have six million corners before they are one
        step = (vertices[:, axis] - low[axis]) * ((LEVELS - 1) / max(size, 1e-300))
        key = key * LEVELS + np.round(step).astype(np.int64)
    _, first, where = np.unique(key, return_index=True, return_inverse=True)
    faces = where.reshape(-1)[faces]
    apart = (faces[:, 0] != faces[:, 1]) & (faces[:, 1] != faces[:, 2]) & (faces[:, 2] != faces[:, 0])
    return vertices[first], faces[apart]


def _shells(count: int, faces: Whole) -> Whole:
    """The number of each corner's shell (n,)."""
    from scipy.sparse import coo_matrix
    from scipy.sparse.csgraph import connected_components

    first, second = faces[:, [0, 1]].ravel(), faces[:, [1, 2]].ravel()
    graph = coo_matrix((np.ones(len(first), dtype=np.int8), (first, second)), shape=(count, count))
    return np.asarray(connected_components(graph, directed=False)[1], dtype=np.int64)


def _corner_normals(vertices: Array, faces: Whole, unit: Array) -> Array:
    """Unit normals at the corners (n, 3): those of the faces around, by their angles there.

    By area, a plate's edges would look as its large faces do.
    """
    way = [_unit(vertices[faces[:, (k + 1) % 3]] - vertices[faces[:, k]]) for k in range(3)]
    total = np.zeros((len(vertices), 3))
    for k in range(3):
        angle = np.arccos(np.clip(-np.einsum("ij,ij->i", way[k], way[k - 1]), -1, 1))
        for axis in range(3):
            total[:, axis] += np.bincount(faces[:, k], angle * unit[:, axis], len(vertices))
    return _unit(total)


def _within(vertices: Array, normals: Array, faces: Whole, count: Whole) -> Array:
    """Points (k, 3) spread over large faces, ``count`` over each, lifted onto the skin that the corners' normals bend.

    References
    ----------
    T. Boubekeur, M. Alexa, Phong tessellation, ACM Trans. Graph. 27 (2008) 141 (from memory).
    """
    face = np.repeat(np.arange(len(faces)), count)
    number = np.arange(len(face)) - np.repeat(np.cumsum(count) - count, count)
    # an additive sequence with the plastic number's powers covers a square evenly; folded, it covers a triangle
    plastic = 1.32471795724474602596
    first = 1 / 3 - number / plastic
    a, b = np.mod(first, 1.0), np.mod(1 / 3 + number / plastic**2, 1.0)
    over = a + b > 1
    a, b = np.where(over, 1 - a, a), np.where(over, 1 - b, b)
    share = np.stack([1 - a - b, a, b], axis=1)
    corner, normal = vertices[faces[face]], normals[faces[face]]
    points = np.einsum("ij,ijk->ik", share, corner)
    away = np.einsum("ijk,ijk->ij", points[:, None] - corner, normal)
    lifted = points - LIFT * np.einsum("ij,ij,ijk->ik", share, away, normal)
    # at an edge the corners' normals say nothing of the faces
    smooth = np.einsum("ijk,ilk->ijl", normal, normal).min(axis=(1, 2)) > SMOOTH
    return np.asarray(np.where(smooth[:, None], lifted, points))


def _unit(vectors: Array) -> Array:
    return np.asarray(vectors / np.maximum(np.linalg.norm(vectors, axis=1), 1e-300)[:, None])


def _celled(cloud: Cloud) -> Cloud:
    """Points put together by cells, where there are more than wanted."""
    if len(cloud.points) <= 1.5 * WANTED:
        return cloud
    cell = cloud.spacing
    step = np.floor((cloud.points - cloud.points.min(axis=0)) / cell).astype(np.int64)
    most = step.max(axis=0) + 1
    key = (step[:, 0] * most[1] + step[:, 1]) * most[2] + step[:, 2]
    _, first, where = np.unique(key, return_index=True, return_inverse=True)
    where = where.reshape(-1)
    areas = np.bincount(where, cloud.areas).astype(np.float64)
    # plain means: a point that scatters outwards stands for more area than one that scatters inwards
    own = np.where(cloud.areas > 0, 1.0, 1e-9)
    counts, sizes = np.bincount(where, own), cloud.areas + 1e-9 * cell**2
    points = np.stack([np.bincount(where, cloud.points[:, k] * own) / counts for k in range(3)], axis=1)
    normals = np.stack([np.bincount(where, cloud.normals[:, k] * sizes) for k in range(3)], axis=1, dtype=np.float64)
    return Cloud(points, _unit(normals), areas, cloud.shell[first], cloud.spacing)
