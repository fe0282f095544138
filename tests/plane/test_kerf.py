"""Paths of a cut: half the kerf, once, on the right side."""

from math import pi, sqrt

import pytest

from bodygen.errors import DesignError
from bodygen.plane.kerf import compensated, tight_corners
from bodygen.plane.polygon import filleted, polygon, rectangle
from bodygen.plane.shapes import Circle

CROSS = [(0, 0), (20, 0), (20, 10), (10, 10), (10, 20), (0, 20)]


def test_the_path_round_a_part_runs_half_the_kerf_outside():
    """Steiner's formula with d = kerf / 2."""
    path = compensated(rectangle(20, 10), 0.2, "outside")
    assert path.area == pytest.approx(200 + 60 * 0.1 + pi * 0.01, rel=1e-13)
    assert path.box == pytest.approx((-0.1, -0.1, 20.1, 10.1))


def test_the_path_in_a_hole_runs_half_the_kerf_inside():
    assert compensated(Circle((1, 2), 0.8), 0.2, "inside") == Circle((1, 2), pytest.approx(0.7))
    assert compensated(rectangle(20, 10), 1.0, "inside").area == pytest.approx(19 * 9)


def test_no_kerf_changes_nothing():
    loop = rectangle(20, 10)
    assert compensated(loop, 0.0, "outside") == loop


def test_a_cut_wider_than_its_hole_is_refused_with_both_widths():
    with pytest.raises(DesignError, match=r"a cut 3.175 mm wide does not fit a hole of 1.6 mm"):
        compensated(Circle((0, 0), 0.8), 3.175, "inside")


def test_a_sharp_inside_corner_keeps_what_a_round_cutter_cannot_reach():
    """From a right corner to the cutter's circle along the bisector: R (sqrt 2 - 1)."""
    (corner,) = tight_corners(polygon(CROSS), 3.0, "outside")
    assert (corner.at, corner.radius) == ((10, 10), 0.0)
    assert corner.left_over == pytest.approx(1.5 * (sqrt(2) - 1))


def test_an_inside_fillet_under_the_cutters_radius_is_told_and_a_larger_one_is_not():
    radii = [0, 0, 0, 1.0, 0, 0]
    (corner,) = tight_corners(filleted(CROSS, radii), 3.0, "outside")
    assert corner.radius == pytest.approx(1.0)
    assert corner.left_over == pytest.approx((1.5 - 1.0) * (sqrt(2) - 1))
    assert tight_corners(filleted(CROSS, radii), 1.9, "outside") == ()


def test_all_four_corners_of_a_rectangular_hole_are_tight():
    assert len(tight_corners(rectangle(20, 10), 3.0, "inside")) == 4
    assert tight_corners(rectangle(20, 10), 3.0, "outside") == ()
