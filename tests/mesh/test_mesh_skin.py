"""The body as triangles: closed, mirrored to the last bit, as near to the surface as asked."""

import carved
import numpy as np
import planks
import pytest
from depth import depth_inside

from bodygen.mesh.cut import to_manifold
from bodygen.mesh.measure import mesh_volume
from bodygen.mesh.skin import body_mesh, body_rings

BODIES = {
    "round ends": carved.body,
    "corner and points": planks.double_cone,
    "plane ends": planks.bar,
    "corner and plane ends": lambda: planks.double_cone(sized=0.3),
    "flat flanks": lambda: planks.bar(flat=(4, 3, 0)),
    "flat all round": lambda: planks.bar(flat=(4, 3, 2)),
}


MESHES = {"as files have it": body_mesh, "few along what is straight": lambda body, near: body_rings(body, near).mesh()}


@pytest.fixture(params=BODIES)
def body(request):
    return BODIES[request.param]()


@pytest.fixture(params=MESHES)
def mesh_of(request):
    return MESHES[request.param]


def test_every_edge_has_two_faces_that_run_against_each_other(body, mesh_of):
    mesh = mesh_of(body, 0.05)
    tail, head = mesh.faces.ravel(), np.roll(mesh.faces, -1, axis=1).ravel()
    edges = set(zip(tail.tolist(), head.tolist(), strict=True))
    assert len(edges) == len(tail), "no directed edge twice"
    assert all((b, a) in edges for a, b in edges)
    assert mesh_volume(mesh).volume > 0, "turned outwards"
    assert len(to_manifold(mesh).decompose()) == 1


def test_the_left_half_is_the_right_one_mirrored_to_the_last_bit(body):
    vertices = body_mesh(body, 0.05).vertices
    assert set(map(tuple, vertices + 0.0)) == set(map(tuple, vertices * (1, -1, 1) + 0.0))
    assert mesh_volume(body_mesh(body, 0.05)).centroid[1] == pytest.approx(0, abs=1e-12)


@pytest.mark.parametrize("tolerance", [0.1, 0.02])
def test_no_facet_lies_further_from_the_surface_than_asked(body, mesh_of, tolerance):
    """The middles of edges and faces, measured sideways, where the skin is not level: never less than the distance."""
    mesh = mesh_of(body, tolerance)
    corner = mesh.vertices[mesh.faces]
    middles = np.concatenate([
        corner.mean(axis=1),
        (corner[:, 0] + corner[:, 1]) / 2,
        (corner[:, 1] + corner[:, 2]) / 2,
    ])
    normals = np.tile(np.cross(corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]), (3, 1))
    normals /= np.maximum(np.linalg.norm(normals, axis=1), 1e-12)[:, None]
    inner = (middles[:, 0] > 0.5) & (middles[:, 0] < body.length - 0.5) & (np.abs(normals[:, 1]) > 0.3)
    depth = depth_inside(body, middles[inner]) * np.abs(normals[inner, 1])
    assert np.abs(depth).max() < 1.6 * tolerance, "along and around may add up, chords of the reference 0.002"


def test_a_tighter_tolerance_has_more_facets(body):
    assert len(body_mesh(body, 0.01).faces) > len(body_mesh(body, 0.05).faces)


def test_a_straight_part_of_a_section_takes_few_facets_and_no_wood():
    """Of a bar with flats the surface between two sections is ruled: more facets there lie in the same planes."""
    body = BODIES["flat all round"]()
    few, even = body_rings(body, 0.001).mesh(), body_mesh(body, 0.001)
    assert len(few.faces) < 0.6 * len(even.faces)
    assert mesh_volume(few).volume == pytest.approx(mesh_volume(even).volume, rel=1e-12)
