"""A section's Beziers against the superellipse itself."""

from math import pi

import numpy as np
import pytest

from bodygen.form.body import bezier_points
from bodygen.form.section import half_section, handle_ratio, smaller_of, superellipse_area


def quarter(squareness, count=400):
    """Points of the unit quarter that the handle ratio draws."""
    k = handle_ratio(squareness)
    return bezier_points(np.array([[0.0, 1.0], [k, 1.0], [1.0, k], [1.0, 0.0]]), count)


@pytest.mark.parametrize(
    ("squareness", "expected"), [(1, 2 * 8 * 12.5), (2, pi * 8 * 12.5)], ids=["rhombus", "ellipse"]
)
def test_superellipse_area_is_the_elementary_one_where_there_is_one(squareness, expected):
    """Half the product of the diagonals; pi a b. Both exact, so only rounding may differ."""
    assert superellipse_area(8, 12.5, squareness) == pytest.approx(expected, rel=1e-14)


def test_superellipse_area_of_the_squircle_is_the_printed_constant():
    """n = 4: S = Gamma(1/4)^2 / (2 sqrt(pi)) = 3.7081493546 a^2 (OEIS A175576; from memory, re-derived)."""
    assert superellipse_area(1, 1, 4) == pytest.approx(3.7081493546, rel=1e-10)


def test_the_handle_for_squareness_two_and_a_half_is_the_published_ratio():
    """0.5 + 0.6 k - 0.15 k^2 = 0.84523384: the worked figure of the reference cases."""
    assert handle_ratio(2.5) == pytest.approx(0.69675, abs=1e-5)


@pytest.mark.parametrize("squareness", [1, 1.5, 2, 2.5, 3, 5, 8, 10])
def test_a_quarter_has_the_superellipses_own_area(squareness):
    """The shoelace sum over 400 chords misses the arc's area by about 1e-5."""
    y, z = quarter(squareness).T
    area = float(np.sum((y[1:] + y[:-1]) / 2 * -np.diff(z)))
    assert area == pytest.approx(superellipse_area(1, 1, squareness) / 4, abs=2e-5)


@pytest.mark.parametrize("squareness", [2, 2.2, 2.5, 3, 4, 5, 6, 8])
def test_a_quarter_lies_within_a_hundredth_of_the_superellipse(squareness):
    """0.0091 of the half size at n = 4, the price of the exact area; along the ray, which is never less."""
    points = quarter(squareness)
    share = (points**squareness).sum(axis=1) ** (1 / squareness)  # 1 on the curve; scales with the ray
    off = np.abs(np.linalg.norm(points, axis=1) * (1 - 1 / share))
    assert off.max() < 0.0092


def test_flats_make_three_or_five_beziers_and_straight_runs():
    one = np.ones(1)
    plain = half_section(5 * one, 10 * one, -10 * one, 0 * one, (0.55 * one, 0.55 * one), None)
    flank = half_section(5 * one, 10 * one, -10 * one, 0 * one, (0.55 * one, 0.55 * one), (3 * one, 2 * one, 0 * one))
    all_round = half_section(5 * one, 10 * one, -10 * one, 0 * one, (0.55 * one, 0.55 * one), (3 * one, 2 * one, one))
    assert [plain.shape, flank.shape, all_round.shape] == [(1, 7, 2), (1, 10, 2), (1, 16, 2)]
    np.testing.assert_allclose(flank[0, 3:7, 0], 5.0)
    np.testing.assert_allclose(flank[0, 3:7, 1], np.linspace(-2, 3, 4))
    np.testing.assert_allclose(all_round[0, :4], [[0, -10], [1 / 3, -10], [2 / 3, -10], [1, -10]])
    np.testing.assert_allclose(all_round[0, -1], [0, 10])


def test_every_control_point_of_a_lopsided_section_is_where_its_quarter_says():
    """By hand: half width 6, back +10, belly -7, widest line +1, flats 2 up, 3 down, 1 across; handles 0.5 and 0.6.

    The upper quarter is 10 - 1 - 2 = 7 high, the lower one 1 + 7 - 3 = 5, both 6 - 1 = 5 wide: a handle each way from
    either end of the quarter, upper ones by the back's ratio, lower ones by the belly's.
    """
    one = np.ones(1)
    handles, flat = (0.5 * one, 0.6 * one), (2 * one, 3 * one, one)
    points = half_section(6 * one, 10 * one, -7 * one, one, handles, flat)[0]
    np.testing.assert_allclose(points[3:7], [[1, -7], [1 + 3, -7], [6, -2 - 3], [6, -2]])
    np.testing.assert_allclose(points[6:10], [[6, -2], [6, -2 + 5 / 3], [6, -2 + 10 / 3], [6, 3]])
    np.testing.assert_allclose(points[9:13], [[6, 3], [6, 3 + 3.5], [1 + 2.5, 10], [1, 10]])
    np.testing.assert_allclose(points[12:], [[1, 10], [2 / 3, 10], [1 / 3, 10], [0, 10]], atol=1e-12)
    plain = half_section(6 * one, 10 * one, -7 * one, one, handles, None)[0]
    np.testing.assert_allclose(plain[:4], [[0, -7], [3.6, -7], [6, 1 - 4.8], [6, 1]])
    np.testing.assert_allclose(plain[3:], [[6, 1], [6, 1 + 4.5], [3, 10], [0, 10]])


def test_the_edge_radius_is_kept_where_there_is_room_and_closes_where_there_is_none():
    size = np.array([0.01, 0.1, 1.0, 4.0, 8.0, 100.0])
    edge = smaller_of(size, 4.0)
    assert (edge < np.minimum(size, 4.0)).all()
    assert edge[4] == pytest.approx(4.0, rel=0.016)
    assert edge[0] == pytest.approx(0.01, rel=1e-6)
