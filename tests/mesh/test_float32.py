"""A repaired mesh survives 32-bit numbers; a second opinion on 'closed' comes from trimesh."""

import manifold3d
import numpy as np
import pytest
import trimesh
from carved import body_skin, cut_skin

from bodygen.errors import DesignError
from bodygen.mesh.cut import to_manifold, to_mesh
from bodygen.mesh.float32 import LEAST_HEIGHT_MM, moved_for_float32, repair_for_float32
from bodygen.mesh.measure import mesh_volume
from bodygen.mesh.skin import Mesh
from bodygen.mesh.slivers import least_heights

TOLERANCE_MM = 0.005


@pytest.fixture(params=[body_skin, cut_skin], ids=["body", "cut"])
def rough(request):
    return request.param()


def heights(mesh):
    return least_heights(mesh.vertices, mesh.faces)


def test_a_boolean_leaves_slivers_for_tidy_to_remove():
    """Otherwise the tests below would prove nothing."""
    assert heights(cut_skin()).min() < LEAST_HEIGHT_MM


def test_no_triangle_is_lower_than_the_limit(rough):
    assert heights(repair_for_float32(rough, TOLERANCE_MM)).min() >= LEAST_HEIGHT_MM


def test_every_vertex_is_a_32_bit_number_and_stands_once(rough):
    vertices = repair_for_float32(rough, TOLERANCE_MM).vertices
    assert np.array_equal(vertices, vertices.astype(np.float32))
    assert len(np.unique(vertices, axis=0)) == len(vertices)
    assert not np.any(np.signbit(vertices) & (vertices == 0))


def test_trimesh_finds_one_closed_body_turned_outwards(rough):
    mesh = repair_for_float32(rough, TOLERANCE_MM)
    other = trimesh.Trimesh(mesh.vertices, mesh.faces, process=False)
    assert other.is_watertight
    assert other.is_winding_consistent
    assert other.body_count == 1
    assert other.volume > 0


def test_the_volume_stays(rough):
    """The surface moves by less than the tolerance, and both ways: far less than tolerance times area (0.03 %)."""
    assert mesh_volume(repair_for_float32(rough, TOLERANCE_MM)).volume == pytest.approx(
        mesh_volume(rough).volume, rel=1e-5
    )


def test_the_order_does_not_depend_on_the_order_of_the_input(rough):
    shuffle = np.random.default_rng(1).permutation(len(rough.faces))
    turned = Mesh(rough.vertices, np.roll(rough.faces[shuffle], 1, axis=1))
    once, again = repair_for_float32(rough, TOLERANCE_MM), repair_for_float32(turned, TOLERANCE_MM)
    assert mesh_volume(once).volume == pytest.approx(mesh_volume(again).volume, rel=1e-6)
    assert np.array_equal(once.faces[:, 0], np.sort(once.faces[:, 0]))
    assert (once.faces[:, 0] < once.faces[:, 1:].min(axis=1)).all()


def test_the_same_mesh_comes_out_the_same_to_the_last_bit(rough):
    once, again = repair_for_float32(rough, TOLERANCE_MM), repair_for_float32(rough, TOLERANCE_MM)
    assert np.array_equal(once.vertices, again.vertices)
    assert np.array_equal(once.faces, again.faces)


def test_wood_of_no_thickness_is_refused():
    """Two cubes that touch along an edge: four faces meet there once equal vertices are one."""
    cube = manifold3d.Manifold.cube((10.0, 10.0, 10.0))
    touching = manifold3d.Manifold.compose([cube, cube.translate((10.0, 10.0, 0.0))])
    with pytest.raises(DesignError, match="two cuts meet in a line"):
        repair_for_float32(to_mesh(touching), TOLERANCE_MM)


def test_an_open_mesh_is_refused():
    mesh = to_mesh(manifold3d.Manifold.cube((10.0, 10.0, 10.0)))
    with pytest.raises(DesignError, match="not one closed mesh"):
        to_manifold(Mesh(mesh.vertices, mesh.faces[1:]))
    with pytest.raises(DesignError, match="not one closed mesh"):
        repair_for_float32(Mesh(mesh.vertices, mesh.faces[1:]), TOLERANCE_MM)


def test_a_repaired_mesh_keeps_its_faces_where_it_is_moved_to_and_its_bytes_where_it_stays(rough):
    once = repair_for_float32(rough, TOLERANCE_MM)
    assert moved_for_float32(once, Mesh(once.vertices + 0.0, once.faces), TOLERANCE_MM) is once
    shift = np.array([0.1, 100.0, 1 / 3])
    moved = moved_for_float32(once, Mesh(once.vertices + shift, once.faces), TOLERANCE_MM)
    assert len(moved.faces) == len(once.faces)
    assert np.array_equal(moved.vertices.astype(np.float32), moved.vertices)
    apart = np.sort(moved.vertices, axis=0) - np.sort(once.vertices + shift, axis=0)
    assert np.abs(apart).max() < 1e-5  # half of what 32-bit numbers near 120 mm lie apart is 4e-6
    assert heights(moved).min() >= LEAST_HEIGHT_MM


def test_a_moved_mesh_whose_rounding_leaves_slivers_is_repaired_again():
    """50 m out 32-bit numbers lie 0.004 mm apart (IEEE 754): small triangles fall flat there."""
    once = repair_for_float32(cut_skin(), TOLERANCE_MM)
    moved = moved_for_float32(once, Mesh(once.vertices + 5e4, once.faces), 0.1)
    assert heights(moved).min() >= LEAST_HEIGHT_MM
    assert len(moved.faces) < len(once.faces)
