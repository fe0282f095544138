"""Drag: silhouettes of boxes and balls, printed coefficients, and speed and lift as each other's inverse."""

import numpy as np
import pytest

from bodygen.ballast.drag import Drag, drag_of, lift_at, silhouette, speeds, straight_up
from bodygen.flotation.hull import PointVolume, Shell, build_hull

BOX = np.array([[x, y, z] for x in (0, 80) for y in (-10, 10) for z in (-15, 15)], dtype=float)
FACES = np.array([
    *([0, 1, 3], [0, 3, 2], [4, 6, 7], [4, 7, 5], [0, 4, 5], [0, 5, 1]),
    *([2, 3, 7], [2, 7, 6], [0, 2, 6], [0, 6, 4], [1, 5, 7], [1, 7, 3]),
])


@pytest.mark.parametrize(("up", "area"), [((0, 0, 1), 80 * 20), ((0, 1, 0), 80 * 30), ((1, 0, 0), 20 * 30)])
def test_a_box_has_the_silhouette_of_its_side(up, area):
    assert silhouette(build_hull([Shell(BOX, FACES)]), up) == pytest.approx(area, rel=1e-12)


def test_a_tilted_box_has_the_silhouette_of_its_sides_in_proportion():
    """A convex body's: sum of its visible sides times their cosines."""
    up = np.array([0.6, 0.0, 0.8])
    assert silhouette(build_hull([Shell(BOX, FACES)]), up) == pytest.approx(0.8 * 80 * 20 + 0.6 * 20 * 30, rel=1e-12)


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


def test_what_lies_in_the_shadow_of_another_part_counts_once():
    """A second box below the first, and a ball beside them: Archimedes' ball of 1000 mm^3 is 120.9 mm^2 across."""
    below = Shell(BOX * 0.5 - [0.0, 0.0, 40.0], FACES)
    hull = build_hull([Shell(BOX, FACES), below], [PointVolume(1000.0, (200.0, 0.0, 0.0))])
    ball = np.pi * (3000 / (4 * np.pi)) ** (2 / 3)
    assert silhouette(hull, np.array([0.0, 0.0, 1.0])) == pytest.approx(80 * 20 + ball, rel=1e-9)


def test_a_ball_has_the_drag_that_is_printed_for_balls():
    """0.47 below the critical Reynolds number (Hoerner 1965, chapter 3, from memory), at 1e5; length is breadth."""
    speed = 1e5 * 1.14e-6 / 0.08
    drag = drag_of(build_hull([Shell(BOX, FACES)]), np.array([1.0, 0.0, 0.0]), (80.0, 80.0, 80.0), speed)
    assert drag.likely == pytest.approx(0.47, abs=0.01)


def test_a_body_end_on_goes_down_much_quicker_than_across():
    """Five times as long as thick: 0.17 on the frontal area at 1 m/s and 80 mm, 0.74 on the side's."""
    hull, sizes = build_hull([Shell(BOX, FACES)]), (80.0, 16.0, 16.0)
    down, flat = (drag_of(hull, np.array(up), sizes, 1.0) for up in ([1.0, 0.0, 0.0], [0.0, 0.0, 1.0]))
    friction = 1.328 / np.sqrt(0.08 / 1.14e-6)
    assert down.likely == pytest.approx(0.44 / 5 + 4 * friction * 5 + 4 * friction * 5**-0.5)
    assert down.low < down.likely < down.high
    assert down.area == pytest.approx(20 * 30)
    ratio = speeds(1.0, down, 1.0)[1] / speeds(1.0, flat, 1.0)[1]
    assert ratio == pytest.approx(np.sqrt(flat.likely * flat.area / (down.likely * down.area)))


@pytest.mark.parametrize("angle", [20, 45, 70])
def test_an_inclined_body_has_its_parts_along_and_across(angle):
    """The cross-flow principle (Allen and Perkins, NACA Report 1048, 1951, from memory): cubes of cosine and sine."""
    hull, sizes = build_hull([Shell(BOX, FACES)]), (80.0, 20.0, 20.0)
    cosine, sine = np.cos(np.radians(angle)), np.sin(np.radians(angle))
    drag, down, flat = (drag_of(hull, np.array(u), sizes) for u in ([cosine, 0, sine], [1.0, 0, 0], [0.0, 0, 1.0]))
    parts = down.likely * down.area * cosine**3 + flat.likely * flat.area * sine**3
    assert drag.likely * drag.area == pytest.approx(parts)


def test_the_vertical_points_from_the_mass_to_the_buoyancy_and_up_where_both_lie_in_one_place():
    """3, 4, 12 is 13 long; a bait with both centres in one point lies as it is let go, so the back is taken as up."""
    at = np.array([30.0, 0.5, -2.0])
    assert straight_up(at + np.array([3.0, 4.0, 12.0]), at) == pytest.approx(np.array([3.0, 4.0, 12.0]) / 13)
    assert straight_up(at + np.array([0.0, 0.0, -1e-6]), at) == pytest.approx([0.0, 0.0, -1.0])
    assert straight_up(at, at).tolist() == [0.0, 0.0, 1.0]
