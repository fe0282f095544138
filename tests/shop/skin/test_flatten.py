"""Skin laid flat: exact where the skin can be unrolled, and never truer than theory allows where it cannot."""

from math import cos, pi, sin, sqrt

import numpy as np
import pytest
from carved import body, body_skin

from bodygen.shop.skin.flank import flank_of
from bodygen.shop.skin.flatten import laid_flat

TURN = np.linspace(0.0, pi, 33)


def tube(x, radius, depth_over_width=1.0):
    """Half rings of these radii at these stations, from the lowest point round the right side to the highest."""
    y, z = radius[:, None] * np.sin(TURN), -depth_over_width * radius[:, None] * np.cos(TURN)
    return np.stack(np.broadcast_arrays(x[:, None], y, z), axis=2)


def ball_patch(radius, half_angle, count=31):
    """A square patch of a sphere, great circles both ways; its inscribed cap has this half angle [rad]."""
    t = np.tan(np.linspace(-half_angle, half_angle, count))
    grid = np.stack(np.broadcast_arrays(t[:, None], 1.0, t[None, :]), axis=2)
    return radius * grid / np.linalg.norm(grid, axis=2, keepdims=True)


def test_a_cylinder_unrolls_without_any_error():
    film = laid_flat(tube(np.linspace(0, 60, 61), np.full(61, 8.0)))
    assert film.greatest_error < 1e-9
    width, height = np.ptp(film.flat.reshape(-1, 2), axis=0)
    assert width == pytest.approx(60.0)
    assert height == pytest.approx(pi * 8.0, rel=5e-4)  # 32 chords of the half circle: sin(a/2) / (a/2)


def test_an_elliptic_cylinder_unrolls_without_any_error():
    assert laid_flat(tube(np.linspace(0, 60, 61), np.full(61, 7.0), 1.6)).greatest_error < 1e-9


def test_a_cone_unrolls_into_its_sector():
    """Half a cone of radius r at slant distance s develops into a sector of the angle pi r / s."""
    x, r = np.linspace(0, 60, 61), np.linspace(2.0, 14.0, 61)
    film = laid_flat(tube(x, r))
    assert film.greatest_error < 2e-5
    slope = sqrt(60.0**2 + 12.0**2) / 12.0  # slant for each mm of radius
    low, high = film.flat[-1, 0] - film.flat[0, 0], film.flat[-1, -1] - film.flat[0, -1]
    angle = np.arccos(low @ high / np.linalg.norm(low) / np.linalg.norm(high))
    assert angle == pytest.approx(pi / slope, rel=1e-3)
    assert np.linalg.norm(low) == pytest.approx(12.0 * slope, rel=1e-5)


@pytest.mark.parametrize("half_angle", [0.1, 0.25, 0.45])
def test_no_film_of_a_ball_is_truer_than_any_map_can_be(half_angle):
    """J. Milnor, "A problem in cartography", Amer. Math. Monthly 76 (1969) 1101-1112 (from memory).

    Of all maps of a cap of angle a, none has a smaller ratio of the greatest scale to the least than a / sin a. The
    patch holds its inscribed cap, so its ratio is no smaller; and a pattern worth cutting is not far from the best for
    the cap around it.
    """
    film = laid_flat(ball_patch(20.0, half_angle))
    ratio = film.stretch[:, 0].max() / film.stretch[:, 1].min()
    least = half_angle / sin(half_angle)
    around = np.arctan(sqrt(2.0) * np.tan(half_angle))
    assert least <= ratio <= 1 + 1.2 * (around / sin(around) - 1)
    assert film.greatest_error >= (least - 1) / 2 * 0.99  # halves of the ratio, stretched and shrunk


def test_the_errors_fall_with_the_square_of_the_patch():
    """Curvature times area is what cannot be laid flat (Gauss, Theorema egregium).

    The next term of the series is of the order of the angle's square: of 0.2 and 0.4 rad, with a sixth to a half
    before it, 1 and 2 % of the quotient.
    """
    errors = [laid_flat(ball_patch(20.0, angle)).greatest_error for angle in (0.1, 0.2, 0.4)]
    assert errors[1] / errors[0] == pytest.approx(4.0, rel=0.015)
    assert errors[2] / errors[1] == pytest.approx(4.0, rel=0.025)


def test_what_is_reported_is_what_lengths_on_an_ellipsoid_are_off_by():
    """Lengths of known curves, by their own metric, against the same curves on the film.

    Half axes 40, 10 (y), 15 (z); the meridian in the mid-height plane and the girth line at mid-length, by quadrature
    of the closed-form speed, and short steps in all directions. None is off by more than the film says.
    """
    flank = flank_of(body(), body_skin(), 1.0, 41, 17.3)
    film = laid_flat(flank.points)
    assert 0.005 < film.mean_error < film.greatest_error < 0.25

    t = np.linspace(0.0, 1.0, 20001)
    first, last = np.arccos(1 - flank.x[[0, -1]] / 40.0)
    angle = first + (last - first) * t
    meridian = np.trapezoid(np.hypot(40.0 * np.sin(angle), 10.0 * np.cos(angle)), angle)
    middle = np.linalg.norm(np.diff(film.flat[:, 20], axis=0), axis=1).sum()
    assert abs(middle / meridian - 1) <= film.greatest_error

    row = int(np.argmin(np.abs(flank.x - 40.0)))
    size = sqrt(1 - (flank.x[row] / 40.0 - 1) ** 2)
    angle = pi * t
    girth = size * np.trapezoid(np.hypot(10.0 * np.cos(angle), 15.0 * np.sin(angle)), angle)
    assert flank.girth[row] == pytest.approx(girth, rel=2e-3)  # the skin passes an ellipsoid's stations only
    across = np.linalg.norm(np.diff(film.flat[row], axis=0), axis=1).sum()
    assert abs(across / girth - 1) <= film.greatest_error + 2e-3

    off = []
    for i, j in ((1, 0), (0, 1), (1, 1)):
        ends = (slice(i, None), slice(j, None)), (slice(None, -i or None), slice(None, -j or None))
        skin = np.linalg.norm(flank.points[ends[0]] - flank.points[ends[1]], axis=2)
        off.append(np.abs(np.linalg.norm(film.flat[ends[0]] - film.flat[ends[1]], axis=2) / skin - 1).max())
    assert (
        max(off[:2]) <= film.greatest_error + 1e-9
    )  # edges of the triangles: never more than in their worst direction
    assert max(off[:2]) > 0.4 * film.greatest_error  # and the figure is no idle bound


def test_the_mean_is_over_the_area_and_never_above_the_greatest():
    film = laid_flat(ball_patch(20.0, 0.3))
    assert 0 < film.mean_error < film.greatest_error
    solid_angle = 4 * np.arcsin(sin(0.3) ** 2)  # of a square pyramid, 2 x 0.3 between opposite faces
    assert film.area.sum() == pytest.approx(400.0 * solid_angle, rel=2e-3)


def test_a_film_keeps_the_way_of_the_skin_and_finds_places_between_points():
    film = laid_flat(tube(np.linspace(0, 60, 61), np.full(61, 8.0)))
    assert (np.diff(film.flat[..., 0], axis=0) > 0).all()
    assert (np.diff(film.flat[..., 1], axis=1) > 0).all()
    half_way = film.at(np.array([10.5]), np.array([16.5]))[0]
    assert half_way == pytest.approx(film.flat[10:12, 16:18].mean(axis=(0, 1)))
    assert film.flat[0, 16] == pytest.approx((0.0, 0.0))


def test_a_flank_knows_where_a_point_of_the_side_view_lies():
    """On the ellipsoid at mid-length: height -15 cos(a) lies at the ellipse's arc up to a."""
    flank = flank_of(body(), body_skin(), 1.0, 41, 17.3)
    a = np.linspace(0.0, pi, 4001)
    arc = np.concatenate([[0.0], np.cumsum(np.hypot(10 * np.cos(a), 15 * np.sin(a))[1:] * np.diff(a))])
    angles = np.array([0.3, 1.0, 2.0, 2.8])
    _, way = flank.way_at(np.full(4, 40.0), -15.0 * np.array([cos(angle) for angle in angles]))
    assert way == pytest.approx(np.interp(angles, a, arc / arc[-1]), abs=2e-3)


def test_a_mesh_gives_the_same_flank_as_the_surface_it_was_made_of():
    of_body, of_mesh = (flank_of(one, body_skin(), 2.0, 21, 17.3) for one in (body(), None))
    assert of_mesh.x == pytest.approx(of_body.x, abs=0.05)
    assert of_mesh.girth == pytest.approx(of_body.girth, rel=2e-3)
