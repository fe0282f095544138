"""Bodies to float: spheres of triangles, pulled and dented at random."""

import numpy as np
import pytest
import trimesh


@pytest.fixture(scope="session")
def ball():
    """Unit sphere of 20 * 4^n triangles as (vertices, faces)."""

    def make(subdivisions):
        mesh = trimesh.creation.icosphere(subdivisions=subdivisions)
        return np.array(mesh.vertices), np.array(mesh.faces)

    return make


@pytest.fixture(scope="session")
def dented(ball):
    """Star-shaped body with random waves on it, about 70 mm long, 16 to 40 mm across."""

    def make(rng, subdivisions):
        vertices, faces = ball(subdivisions)
        poles = rng.normal(size=(5, 3))
        poles /= np.linalg.norm(poles, axis=1)[:, None]
        polar = np.arccos(np.clip(vertices @ poles.T, -1, 1))
        waves = 0.25 * rng.uniform(-1, 1, 5) * np.cos(rng.integers(1, 4, 5) * polar)
        radius = np.maximum(1 + waves.sum(axis=1), 0.3)
        return vertices * radius[:, None] * [35, *rng.uniform(8, 20, 2)], faces

    return make
