"""Sums over triangles against closed forms."""

from math import pi

import numpy as np
import pytest

from bodygen.mesh.cut import to_mesh
from bodygen.mesh.measure import enclosed, mesh_skin, mesh_volume, moments, moments_of, vertex_normals, volume_integrals
from bodygen.mesh.skin import Mesh

manifold3d = pytest.importorskip("manifold3d")
TETRAHEDRON = Mesh(
    np.array([[0.0, 0, 0], [6, 0, 0], [0, 3, 0], [0, 0, 2]]), np.array([[0, 2, 1], [0, 1, 3], [1, 2, 3], [0, 3, 2]])
)


def box(a, b, c, at=(0.0, 0, 0)):
    return to_mesh(manifold3d.Manifold.cube((a, b, c), True).translate(at))


def test_a_box_has_its_volume_centroid_and_inertia_wherever_it_stands():
    """m/12 (b^2 + c^2)."""
    found = mesh_volume(box(8, 3, 2, (50, -7, 4)))
    assert found.volume == pytest.approx(48, rel=1e-12)
    np.testing.assert_allclose(found.centroid, [50, -7, 4], rtol=1e-12)
    np.testing.assert_allclose(found.inertia, np.diag([4 * 13, 4 * 68, 4 * 73]), atol=1e-8)


def test_a_tetrahedron_has_its_products_of_inertia():
    """Right-angled with legs a, b, c: V = abc/6, int x^2 = V a^2/10, int xy = V ab/20 (elementary integrals)."""
    volume, first, second = moments(TETRAHEDRON)
    a, b, c, v = 6.0, 3.0, 2.0, 6.0
    assert volume == pytest.approx(v)
    np.testing.assert_allclose(first, [v * a / 4, v * b / 4, v * c / 4])
    expected = v / 20 * np.array([[2 * a * a, a * b, a * c], [a * b, 2 * b * b, b * c], [a * c, b * c, 2 * c * c]])
    np.testing.assert_allclose(second, expected)
    assert mesh_volume(TETRAHEDRON).inertia[0, 1] == pytest.approx(-(v * a * b / 20 - v * a * b / 16))


def test_a_sphere_is_neared_with_the_square_of_its_step():
    """Twice the sides, a quarter of the error: V = 4/3 pi r^3, area 4 pi r^2."""
    for measure, exact in ((enclosed, 4 / 3 * pi * 1000), (lambda m: mesh_skin(m).area, 400 * pi)):
        coarse, fine = (measure(to_mesh(manifold3d.Manifold.sphere(10, n))) / exact - 1 for n in (64, 128))
        assert coarse / fine == pytest.approx(4, rel=0.02)
        assert abs(fine) < 2e-3


def test_a_boxs_skin_has_the_inertia_of_its_six_sides():
    """Each side a rectangle: its own A h^2/12 and its distance, summed by hand for a cube of side 2: 4 (2/3 + ...)."""
    skin = mesh_skin(box(2, 2, 2, (5, 0, 0)))
    assert skin.area == pytest.approx(24)
    np.testing.assert_allclose(skin.centroid, [5, 0, 0], atol=1e-12)
    # int x^2 over the skin: two sides at x = +-1 give 8, four others 4 * (2 * 2^3/12) = 16/3; I = sum of two of them
    np.testing.assert_allclose(skin.inertia, 2 * (8 + 16 / 3) * np.eye(3), atol=1e-9)


def test_moments_and_the_record_turn_into_each_other():
    volume, first, second = moments(TETRAHEDRON)
    back = moments_of(volume_integrals(volume, first, second))
    assert back[0] == pytest.approx(volume)
    np.testing.assert_allclose(back[1], first)
    np.testing.assert_allclose(back[2], second)


def test_enclosed_is_the_volume_alone():
    assert enclosed(TETRAHEDRON) == pytest.approx(6.0)


def test_vertex_normals_of_a_sphere_point_away_from_its_middle():
    mesh = to_mesh(manifold3d.Manifold.sphere(10, 64))
    normals = vertex_normals(mesh)
    np.testing.assert_allclose(np.linalg.norm(normals, axis=1), 1.0)
    assert (normals * mesh.vertices / 10).sum(axis=1).min() > 0.999
