"""Volume and skin from the poles against closed forms, and against the mesh's own sums."""

from math import pi
from pathlib import Path

import carved
import numpy as np
import planks
import pytest

from bodygen.form import integrals
from bodygen.form.fairing.offsets import Offsets, skin_through
from bodygen.form.fairing.stations import offsets_of
from bodygen.form.integrals import body_skin, body_volume
from bodygen.form.section import superellipse_area
from bodygen.mesh.measure import mesh_skin, mesh_volume
from bodygen.mesh.skin import body_mesh
from bodygen.recipe.model import Stations

STATIONS = Path(__file__).parents[1] / "published" / "cases" / "stations"


def body_from(name):
    """The surface through a file of the published cases."""
    rows = np.genfromtxt(STATIONS / name, delimiter=",", skip_header=1)
    if rows.shape[1] == 4:
        rows = np.column_stack([rows, np.full(len(rows), 2.0)])
    return skin_through(offsets_of(Stations(name, tuple(map(tuple, rows.tolist())))))


def test_an_ellipsoid_has_its_volume_and_inertia():
    """V = 4/3 pi abc, I_xx = V/5 (b^2 + c^2) ...: elementary. The surface passes the file's rows, not the ellipsoid."""
    found = body_volume(body_from("ellipsoid_80x30x20.csv"))
    a, b, c = 40.0, 10.0, 15.0  # along x, y, z
    volume = 4 / 3 * pi * a * b * c
    assert found.volume == pytest.approx(volume, rel=2e-4)
    np.testing.assert_allclose(found.centroid, [40, 0, 0], atol=1e-3)
    expected = volume / 5 * np.array([b * b + c * c, a * a + c * c, a * a + b * b])
    np.testing.assert_allclose(np.diag(found.inertia), expected, rtol=5e-4)
    np.testing.assert_allclose(found.inertia - np.diag(np.diag(found.inertia)), 0.0, atol=1e-3 * volume)


def test_an_ellipsoids_skin_is_legendres():
    """A.-M. Legendre's area of an ellipsoid by incomplete elliptic integrals (NIST DLMF 19.33): 51.6245277 cm^2."""
    assert body_skin(body_from("ellipsoid_80x30x20.csv")).area == pytest.approx(5162.45277, rel=3e-4)


def test_the_0024_section_turned_about_its_chord_has_its_closed_form():
    """NACA Report 460 (1933), closed trailing edge: V = .430302361 t^2 c^3, centroid .383460767 c."""
    found = body_volume(body_from("naca0024_revolved_70.csv"))
    assert found.volume == pytest.approx(0.430302361 * 0.24**2 * 70**3, rel=3e-4)
    assert found.centroid[0] == pytest.approx(0.383460767 * 70, abs=0.02)


def test_the_superellipse_spindle_has_dirichlets_volume():
    """Section area 4ab G(1+1/n)^2/G(1+2/n) (NIST DLMF 5.14.1) times 8/15 of the length for a parabolic outline."""
    found = body_volume(body_from("spindle_squareness_2_5.csv"))
    assert found.volume == pytest.approx(superellipse_area(9, 12, 2.5) * 8 / 15 * 75, rel=5e-4)


@pytest.mark.parametrize("squareness", [2.0, 2.5, 4.0])
def test_a_bar_with_plane_ends_is_its_section_times_its_length(squareness):
    """Both exact to rounding: the quarter's handle is chosen for the area."""
    found = body_volume(planks.bar(80, 24, 16, squareness))
    area = superellipse_area(8, 12, squareness)
    assert found.volume == pytest.approx(area * 80, rel=1e-12)
    np.testing.assert_allclose(found.centroid, [40, 0, 0], atol=1e-9)


def test_a_bars_inertia_is_that_of_its_section_moved_along():
    """I_zz = V (L^2/12 + a^2/4) for an elliptic bar; the Bezier circle's a^2/4 is right to about 5e-4."""
    found = body_volume(planks.bar(80, 24, 16))
    volume = pi * 8 * 12 * 80
    expected = volume * np.array([(64 + 144) / 4, 80**2 / 12 + 144 / 4, 80**2 / 12 + 64 / 4])
    np.testing.assert_allclose(np.diag(found.inertia), expected, rtol=6e-4)


def test_a_round_bars_skin_counts_its_plane_ends():
    """2 pi r L and twice pi r^2; the Bezier circle is at most 2.7e-4 too large."""
    found = body_skin(planks.bar(80, 24, 24))
    assert found.area == pytest.approx(2 * pi * 12 * 80 + 2 * pi * 144, rel=4e-4)
    np.testing.assert_allclose(found.centroid, [40, 0, 0], atol=1e-9)


@pytest.mark.parametrize(("nose", "tail"), [(12.0, 12.0), (12.0, 5.0), (4.0, 11.0)])
def test_a_round_plugs_skin_has_the_centroid_and_inertia_of_side_and_both_discs(nose, tail):
    """A frustum 20 mm long, its axis 5 mm up, as a thin shell: rings 2 pi r ds of radius r, and discs pi r^2.

    About its own axis a ring has r^2 and a disc r^2/2, across it half of that. Gauss points make the sums over the
    straight side exact. The Bezier circle's radius is up to 2.7e-4 too large, its fourth power 1.1e-3.
    """
    length, up = 20.0, 5.0
    x, one = np.linspace(0, length, 9), np.ones(9)
    r = np.interp(x, [0, length], [nose, tail])
    found = body_skin(skin_through(Offsets(x, up + r, up - r, r, up * one, 2 * one, 2 * one)))
    node, weight = np.polynomial.legendre.leggauss(8)
    at, step = (node + 1) / 2 * length, weight / 2 * np.hypot(length, tail - nose)
    radius = nose + (tail - nose) * at / length
    place = np.concatenate([at, [0.0, length]])
    area = np.concatenate([2 * pi * radius * step, [pi * nose**2, pi * tail**2]])
    axial = np.concatenate([radius**2, [nose**2 / 2, tail**2 / 2]])
    middle = area @ place / area.sum()
    about, across = area @ axial, area @ (axial / 2 + (place - middle) ** 2)
    assert found.area == pytest.approx(area.sum(), rel=3e-4)
    assert found.centroid == pytest.approx([middle, 0.0, up], abs=0.003)
    np.testing.assert_allclose(found.inertia, np.diag([about, across, across]), rtol=1.1e-3, atol=1e-4 * about)


def test_a_body_with_a_corner_is_two_cones():
    """V = A L / 3 whatever the section; exact, for linear rows are reproduced exactly and sections have the area."""
    found = body_volume(planks.double_cone(60, 20, 12, 0.4))
    area = superellipse_area(6, 10, 2.0)
    assert found.volume == pytest.approx(area * 60 / 3, rel=1e-12)
    front, rear = area * 24 / 3, area * 36 / 3
    assert found.centroid[0] == pytest.approx((front * 18 + rear * (24 + 9)) / (front + rear), rel=1e-12)


@pytest.mark.parametrize("make", [carved.body, planks.double_cone, lambda: planks.bar(flat=(4, 3, 0))])
def test_the_mesh_nears_the_exact_figures_with_the_square_of_its_step(make):
    """Chords: a sixteenth of the tolerance is a quarter of the step, a sixteenth of the error (here 8 to 40)."""
    body = make()
    exact, skin = body_volume(body), body_skin(body)
    coarse, fine = (body_mesh(body, tolerance) for tolerance in (0.16, 0.01))
    for error in (
        [mesh_volume(m).volume / exact.volume - 1 for m in (coarse, fine)],
        [mesh_skin(m).area / skin.area - 1 for m in (coarse, fine)],
        [mesh_volume(m).inertia[1, 1] / exact.inertia[1, 1] - 1 for m in (coarse, fine)],
    ):
        assert abs(error[1]) < 2e-3
        assert 8 < error[0] / error[1] < 40


def test_eight_gauss_points_a_patch_are_enough_for_the_skin():
    """Against 24: the integrand is smooth within a patch but for the round ends' points."""
    body = carved.body()
    _, normal = integrals._quadrature(body, 24)
    assert body_skin(body).area == pytest.approx(2 * np.linalg.norm(normal, axis=-1).sum(), rel=1e-5)
