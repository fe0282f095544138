"""The surface: what it passes, and how it is found again."""

from math import pi

import carved
import numpy as np
import planks
import pytest

from bodygen.form.body import bernstein, bernstein_slope


def test_parameter_at_finds_every_x_again():
    """Round ends, where x grows like u squared, included."""
    body = carved.body()
    x = np.concatenate([[0.0, 1e-6, 1e-3], np.linspace(0.01, 79.99, 500), [80 - 1e-6, 80.0]])
    np.testing.assert_allclose(body.polygons(body.parameter_at(x))[:, 0, 0], x, atol=1e-9)


def test_parameter_at_finds_x_across_a_corner():
    body = planks.double_cone()
    x = np.linspace(0, 60, 301)
    np.testing.assert_allclose(body.polygons(body.parameter_at(x))[:, 0, 0], x, atol=1e-9)


def test_a_double_cone_has_its_corner_and_straight_flanks():
    """Linear rows are reproduced exactly by a cubic spline on each side of the corner."""
    body = planks.double_cone(length=60, depth=20, thickness=12, at=0.4)
    assert body.polygons(body.corners)[:, 0, 0] == pytest.approx([24.0], abs=1e-9)
    belly, back = body.heights_at(np.array([6.0, 24.0, 42.0]))
    np.testing.assert_allclose(back, [2.5, 10.0, 5.0], atol=1e-9)
    np.testing.assert_allclose(belly, [-2.5, -10.0, -5.0], atol=1e-9)
    np.testing.assert_allclose(body.half_width_at(np.array([6.0, 42.0])), [1.5, 3.0], atol=1e-9)
    assert body.sizes() == pytest.approx((60.0, 20.0, 12.0), abs=1e-9)


def test_a_section_is_a_closed_polygon_of_the_ellipses_area():
    """192 chords inside an ellipse lose 2 pi^2 / (3 192^2) = 1.8e-4 of it at most."""
    section = planks.bar(depth=24, thickness=16).section_at(33.0, per_segment=48)
    y, z = section.T
    area = float(np.sum(y * np.roll(z, -1) - z * np.roll(y, -1)) / 2)
    assert area == pytest.approx(pi * 12 * 8, rel=2.5e-4)
    assert area > 0, "counter-clockwise seen from the tail: y to the right, z up"


def test_points_are_symmetric_halves_with_their_ends_in_the_mid_plane():
    half = carved.body().points(np.linspace(0.05, 0.95, 20), 8)
    assert half.shape == (20, 17, 3)
    np.testing.assert_array_equal(half[:, [0, -1], 1], 0.0)
    assert half[:, 1:-1, 1].min() > 0


def test_bernstein_polynomials_sum_to_one_and_their_slopes_to_nothing():
    s = np.linspace(0, 1, 11)
    np.testing.assert_allclose(bernstein(s).sum(axis=1), 1.0, rtol=1e-14)
    np.testing.assert_allclose(bernstein_slope(s).sum(axis=1), 0.0, atol=1e-14)
    h = 1e-6
    np.testing.assert_allclose((bernstein(s + h) - bernstein(s - h)) / (2 * h), bernstein_slope(s), atol=1e-9)
