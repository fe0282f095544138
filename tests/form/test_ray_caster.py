"""Lines through the skin, on bars whose crossings are known."""

from math import hypot, sqrt

import carved
import numpy as np
import planks
import pytest
from depth import depth_inside

from bodygen.form.ray_caster import box, ray_caster_of

X, Y, Z = np.eye(3)
ROUND_MM = 0.004
"""A Bezier circle of radius 12 mm is at most 2.7e-4 of it too large."""


def test_a_line_square_to_a_round_bar_meets_it_twice():
    found = ray_caster_of(planks.bar()).crossings(np.array([33.0, 5.0, -50.0]), Z)
    z = sqrt(144 - 25)
    np.testing.assert_allclose(found, [50 - z, 50 + z], atol=ROUND_MM)


def test_a_line_along_the_bar_meets_its_plane_ends_exactly():
    np.testing.assert_allclose(
        ray_caster_of(planks.bar()).crossings(np.array([-10.0, 3.0, 4.0]), X), [10.0, 90.0], atol=1e-12
    )


def test_a_slanting_line_goes_in_through_the_end_and_out_through_the_flank():
    way = np.array([1.0, 1.0, 0.0]) / sqrt(2)
    found = ray_caster_of(planks.bar()).crossings(np.array([-5.0, -5.0, 0.0]), way)
    np.testing.assert_allclose(found, [5 * sqrt(2), 17 * sqrt(2)], atol=ROUND_MM)


def test_a_line_that_misses_has_no_crossings():
    assert len(ray_caster_of(planks.bar()).crossings(np.array([33.0, 12.5, -50.0]), Z)) == 0
    assert len(ray_caster_of(planks.bar()).crossings(np.array([81.0, 0.0, -50.0]), Z)) == 0


@pytest.mark.parametrize("y", [12.1, -12.1])
def test_a_line_along_the_bar_misses_it_on_either_side(y):
    assert len(ray_caster_of(planks.bar()).crossings(np.array([-10.0, y, 0.5]), X)) == 0


@pytest.mark.parametrize("y", [0.0, 4.0, -4.0])
def test_crossings_lie_on_the_surface_to_a_millionth(y):
    """Against the section at that x, solved another way: by bisection in the Bezier's own parameter."""
    body = carved.body()
    x = 23.7
    found = ray_caster_of(body).crossings(np.array([x, y, -50.0]), Z) - 50.0
    polygon = body.polygons(body.parameter_at(np.array([x])))[0, :, 1:]
    for z, part in zip(found, (polygon[:4], polygon[3:]), strict=True):
        low, high = 0.0, 1.0
        rising = part[-1, 0] > part[0, 0]
        for _ in range(60):
            middle = (low + high) / 2
            weight = np.array([
                (1 - middle) ** 3,
                3 * middle * (1 - middle) ** 2,
                3 * middle**2 * (1 - middle),
                middle**3,
            ])
            low, high = (middle, high) if (float(weight @ part[:, 0]) < abs(y)) == rising else (low, middle)
        assert z == pytest.approx(float(weight @ part[:, 1]), abs=1e-6)


def test_a_line_through_both_points_meets_them():
    """Nose and tail bores aim at the very points where the facets are needles."""
    np.testing.assert_allclose(
        ray_caster_of(carved.body()).crossings(np.array([-20.0, 0.0, 0.0]), X), [20.0, 100.0], atol=1e-9
    )


def test_a_line_just_beside_the_point_meets_the_skin_near_it():
    """An ellipsoid 80 x 20 x 30 at height 1: x = 40 (1 - sqrt(1 - 1/225)) = 0.089 behind the nose."""
    first, last = ray_caster_of(carved.body()).crossings(np.array([-20.0, 0.0, 1.0]), X)
    assert first - 20 == pytest.approx(40 * (1 - sqrt(1 - 1 / 225)), abs=0.03)
    assert last == pytest.approx(120 - first, abs=0.02)


def test_a_corner_is_crossed_where_the_outline_turns():
    np.testing.assert_allclose(
        ray_caster_of(planks.double_cone()).crossings(np.array([24.0, 0.0, -50.0]), Z), [40, 60], atol=1e-6
    )


def test_any_line_goes_in_as_often_as_it_comes_out_and_the_middle_between_is_inside():
    body = carved.body()
    rng = np.random.default_rng(5)
    for _ in range(60):
        through = np.array([rng.uniform(5, 75), rng.uniform(-4, 4), rng.uniform(-4, 4)]) * (1, 0.5, 0.5)
        way = rng.normal(size=3)
        way /= np.linalg.norm(way)
        found = ray_caster_of(body).crossings(through - 200 * way, way)
        assert len(found) == 2
        middle = through + (found.mean() - 200) * way
        assert depth_inside(body, middle[None])[0] > 0


def test_lines_asked_together_are_met_where_each_is_met_alone():
    """Some meet the surface, one the pointed nose, one nothing; of one asked twice the answer is the same.

    To the last digit: files must not tell which lines were asked for together.
    """
    caster, rng = ray_caster_of(carved.body()), np.random.default_rng(6)
    directions = rng.normal(size=(12, 3))
    directions /= np.linalg.norm(directions, axis=1)[:, None]
    origins = np.array([40.0, 0.0, 0.0]) + rng.uniform(-3, 3, (12, 3)) - 200 * directions
    origins, directions = (
        np.vstack([origins, [[-20.0, 0, 0], [40.0, 90, -50], origins[0]]]),
        np.vstack([directions, X, Z, directions[0]]),
    )
    together = caster.lines(origins, directions)
    for origin, direction, met in zip(origins, directions, together, strict=True):
        alone = ray_caster_of(carved.body()).crossings(origin, direction)
        np.testing.assert_array_equal(met, alone)
    assert [len(met) for met in together[12:]] == [2, 0, 2]


def test_depth_inside_is_measured_sideways():
    depth = depth_inside(planks.bar(), np.array([[40.0, 2, 5], [40, 13, 0], [40, 0, 12.5], [90, 0, 0]]))
    assert depth[0] == pytest.approx(sqrt(144 - 25) - 2, abs=ROUND_MM)
    assert depth[1] == pytest.approx(-1.0, abs=ROUND_MM)
    assert depth[2] == pytest.approx(-0.5, abs=ROUND_MM)
    assert depth[3] < 0


def test_the_ray_caster_knows_the_box_and_the_heights_beside_the_body_are_nothing():
    caster = ray_caster_of(planks.double_cone(60, 20, 12))
    np.testing.assert_allclose(caster.low, [0, -6, -10], atol=0.1)
    np.testing.assert_allclose(caster.high, [60, 6, 10], atol=0.1)
    belly, back = caster.heights(np.array([-1.0, 12.0, 61.0]))
    np.testing.assert_allclose([belly[1], back[1]], [-5, 5], atol=1e-9)
    assert np.isnan([belly[0], belly[2], back[0], back[2]]).all()
    assert caster.reach > hypot(60, 20, 12) - 0.2
    np.testing.assert_array_equal(box(planks.double_cone(60, 20, 12))[0], caster.low)
