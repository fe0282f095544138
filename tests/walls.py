"""How thick a print's walls are, by rays: from points all over its skin straight inwards to where the ray comes out."""

import numpy as np
from scipy.spatial import cKDTree

from bodygen.mesh.cut import to_manifold

LEAST_MM = 0.8
"""Two lines of a 0.4 mm nozzle: common practice, no published source."""
CORNER_DEG = 35.0
"""Faces that stand at a wider angle to each other make an edge, not a wall."""
RIDGE_MM = 0.4
START_MM = 1e-4


def walls(mesh, per_mm2=2.0, seed=9):
    """Points (n, 3) on the skin, the wall under each (n,) [mm]; infinite where the ray leaves at an edge."""
    corner = mesh.vertices[mesh.faces]
    normal = np.cross(corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0])
    double = np.linalg.norm(normal, axis=1)
    sound = double > 1e-5
    corner, normal, double = corner[sound], normal[sound] / double[sound, None], double[sound]
    rng = np.random.default_rng(seed)
    more = rng.choice(len(corner), int(per_mm2 * double.sum() / 2), p=double / double.sum())
    face = np.concatenate([np.arange(len(corner)), more])
    share = rng.dirichlet((1, 1, 1), len(face))
    share[: len(corner)] = 1 / 3
    points = (corner[face] * share[:, :, None]).sum(axis=1)
    solid, way = to_manifold(mesh), normal[face]
    far = float(np.ptp(mesh.vertices, axis=0).max()) * 2
    thick = np.full(len(points), np.inf)
    for i, (start, n) in enumerate(zip(points - START_MM * way, way, strict=True)):
        hits = solid.ray_cast(tuple(start), tuple(start - far * n))
        if hits and np.array(hits[0].normal) @ n < -np.cos(np.radians(CORNER_DEG)):
            thick[i] = hits[0].distance * far
    return points, thick, way


def thin_walls(mesh):
    """Where a wall is too thin (k, 3) [mm], and how thin (k,); a ridge no higher than two layers is none."""
    points, thick, way = walls(mesh)
    thin = thick < LEAST_MM
    points, thick, way = points[thin], thick[thin], way[thin]
    if not len(points):
        return points, thick
    near = cKDTree(points).query_ball_point(points, 1.0)
    tall = np.array([np.ptp(points[group, 2]) for group in near]) > RIDGE_MM
    kept = tall | (np.abs(way[:, 2]) > 0.7)
    return points[kept], thick[kept]
