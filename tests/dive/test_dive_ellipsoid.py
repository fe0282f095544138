"""Water that a hull carries along, against a reference library and against what is known of a sphere."""

import numpy as np
import pytest
from dive_cases import CASES
from scipy.special import elliprd

from bodygen.dive.ellipsoid import added_inertia, added_mass, carlson_rd


def test_the_elliptic_integral_is_the_reference_librarys():
    rng = np.random.default_rng(3)
    for x, y, z in np.exp(rng.uniform(-8, 8, (300, 3))):
        assert carlson_rd(x, y, z) == pytest.approx(float(elliprd(x, y, z)), rel=1e-13)
    assert carlson_rd(0.0, 2.0, 1.0) == pytest.approx(1.7972103521033883, rel=1e-14)  # B. C. Carlson, 1995, his example


def test_an_ellipsoid_has_the_worked_factors():
    case = CASES["munk-ellipsoid"]
    k_x, k_z = added_mass(*case["given"]["semi_axes_x_y_z_mm"])
    assert k_x == pytest.approx(case["expect"]["k_x"], rel=case["tolerance"]["rel"])
    assert k_z == pytest.approx(case["expect"]["k_z"], rel=case["tolerance"]["rel"])


def test_a_slender_round_body_carries_its_own_water_sideways_and_none_lengthwise():
    k_x, k_z = added_mass(1000.0, 1.0, 1.0)  # Lamb: the cylinder's 1 across, the needle's 0 along
    assert k_z == pytest.approx(1.0, abs=1e-4)
    assert 0 < k_x < 1e-4


def test_a_sphere_carries_half_its_water():
    assert added_mass(7.0, 7.0, 7.0) == pytest.approx((0.5, 0.5), rel=1e-14)


@pytest.mark.parametrize(("side", "up"), [(8.0, 10.0), (10.0, 8.0), (3.0, 11.0)])
def test_a_long_body_rolls_with_the_water_of_its_strips(side, up):
    # an elliptic cylinder, pi/8 rho (b^2 - c^2)^2 a length (Lamb, art. 72, from memory); over a spindle whose sections
    # shrink as 1 - x^2/a^2 it is 16/15 a of that, over 4/3 pi a b c of water
    strips = (side**2 - up**2) ** 2 / (10 * side * up)
    assert added_inertia(1e5, side, up)[0] == pytest.approx(strips, rel=1e-5)


def test_a_slender_body_pitches_with_as_much_water_again():
    assert added_inertia(1000.0, 1.0, 1.0)[1] == pytest.approx(1000.0**2 / 5, rel=1e-4)  # that of the water displaced


def test_a_body_turned_round_its_own_axis_carries_no_water():
    assert added_inertia(30.0, 8.0, 8.0)[0] == 0.0
    assert added_inertia(9.0, 9.0, 9.0) == (0.0, 0.0)
    assert added_inertia(30.0, 8.0, 8.001)[0] == pytest.approx(0.0, abs=1e-5)
