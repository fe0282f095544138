"""Drag: shadows of boxes, and speed and lift as each other's inverse."""

import numpy as np
import pytest

from bodygen.ballast.drag import Drag, drag_of, lift_at, shadow, speeds
from bodygen.flotation.hull import Shell, build_hull

BOX = np.array([[x, y, z] for x in (0, 80) for y in (-10, 10) for z in (-15, 15)], dtype=float)
FACES = np.array([
    *([0, 1, 3], [0, 3, 2], [4, 6, 7], [4, 7, 5], [0, 4, 5], [0, 5, 1]),
    *([2, 3, 7], [2, 7, 6], [0, 2, 6], [0, 6, 4], [1, 5, 7], [1, 7, 3]),
])


@pytest.mark.parametrize(("up", "area"), [((0, 0, 1), 80 * 20), ((0, 1, 0), 80 * 30), ((1, 0, 0), 20 * 30)])
def test_a_box_has_the_shadow_of_its_side(up, area):
    assert shadow(build_hull([Shell(BOX, FACES)]), up) == pytest.approx(area, rel=1e-12)


def test_a_tilted_box_has_the_shadow_of_its_sides_in_proportion():
    """A convex body's shadow: sum of its visible sides times their cosines."""
    up = np.array([0.6, 0.0, 0.8])
    assert shadow(build_hull([Shell(BOX, FACES)]), up) == pytest.approx(0.8 * 80 * 20 + 0.6 * 20 * 30, rel=1e-12)


def test_a_tenth_of_a_metre_a_second_takes_what_the_drag_formula_says():
    """0.5 x 1000 kg/m^3 x 0.01 m^2/s^2 x 0.8 x 0.001 m^2 = 4 mN; over 9.80665 m/s^2, 0.4079 g."""
    assert lift_at(0.1, Drag(1000.0, 0.5, 0.8, 1.2), 1.0) == pytest.approx(0.004 / 9.80665 * 1000, rel=1e-12)


def test_the_speed_of_a_lift_is_between_the_slowest_and_the_quickest():
    drag = Drag(1000.0, 0.5, 0.8, 1.2)
    slow, likely, quick = speeds(-lift_at(0.1, drag, 1.0), drag, 1.0)
    assert likely == pytest.approx(0.1)
    assert slow == pytest.approx(0.1 * np.sqrt(0.8 / 1.2))
    assert quick == pytest.approx(0.1 * np.sqrt(0.8 / 0.5))


def test_a_body_as_deep_as_it_is_thick_has_the_round_cylinders_drag():
    """Length over thickness 5: 0.74 (Hoerner, from memory); an endless one 1.2."""
    drag = drag_of(build_hull([Shell(BOX, FACES)]), np.array([0.0, 0.0, 1.0]), (100.0, 20.0, 20.0))
    assert (drag.low, drag.likely, drag.high) == pytest.approx((0.74, 0.74, 1.2))
    deep = drag_of(build_hull([Shell(BOX, FACES)]), np.array([0.0, 0.0, 1.0]), (100.0, 40.0, 20.0))
    assert deep.low == pytest.approx(0.74 / 2)  # an ellipse of two to one: 0.6 for 1.2
