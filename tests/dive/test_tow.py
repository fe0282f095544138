"""The line of a steady tow against the line equation itself, stepped along from the bait by scipy."""

from math import asinh, cos, degrees, hypot, pi, radians, sin, tan

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from bodygen.dive.line.tow import bend, hung, hung_from_tip

BENDS, ANGLES, LENGTHS = st.floats(1e-12, 3.0), st.floats(0.02, pi / 2), st.floats(0.1, 150.0)


def stepped(tension, angle, wet, speed, diameter, c_n, water):
    """Depth, distance [m] and angle at the surface: the pull as a vector, turned by drag square to the line."""

    def rates(_, state):
        way = state[2:] / np.hypot(*state[2:])  # ahead and up along the line
        square = np.array([way[1], -way[0]])  # the water comes from ahead: what is across it points down and aft
        across = speed * way[1]
        drag = water / 2 * diameter * c_n * across * abs(across)
        return [*way, *(drag * square)]

    start = [0.0, 0.0, tension * cos(angle), tension * sin(angle)]
    solved = solve_ivp(rates, (0.0, wet), start, "DOP853", rtol=1e-11, atol=1e-12)
    behind, depth, ahead, up = solved.y[:, -1]
    return depth, behind, np.arctan2(up, ahead)


@pytest.mark.parametrize(
    ("tension", "angle_deg", "wet", "speed", "diameter", "c_n"),
    [
        (0.6, 30, 25, 1.2, 3e-4, 1.2),
        (1.0, 20, 40, 1.5, 4e-4, 1.5),
        (0.2, 80, 8, 0.4, 2e-4, 2.0),
        (3.0, 5, 90, 2.0, 1e-4, 1.2),
    ],
)
def test_the_closed_form_is_the_integral_of_the_line_equation(tension, angle_deg, wet, speed, diameter, c_n):
    """To 1e-8: what the integrator leaves."""
    line = hung(bend(tension, diameter, speed, c_n, 998.0), radians(angle_deg), wet)
    found = stepped(tension, radians(angle_deg), wet, speed, diameter, c_n, 998.0)
    assert [line.depth, line.behind, line.angle_at_surface] == pytest.approx(found, rel=1e-8)


@given(bend_per_m=BENDS, angle=ANGLES, length=LENGTHS, tip=st.floats(0.01, 6.0))
def test_the_dry_and_the_wet_part_make_up_the_line(bend_per_m, angle, length, tip):
    line = hung_from_tip(bend_per_m, angle, length, tip)
    if line is None:
        assert tip / sin(angle) >= length * (1 - 1e-9)
        return
    dry = tip * hypot(1.0, 1 / tan(angle) + bend_per_m * line.wet)
    assert 0 < line.wet < length
    assert line.wet + dry == pytest.approx(length, rel=1e-9)


@given(bend_per_m=BENDS, angle=ANGLES, length=LENGTHS, tip=st.floats(-2.0, 4.0), more=st.floats(1.01, 3.0))
def test_more_line_and_thinner_line_run_deeper(bend_per_m, angle, length, tip, more):
    line = hung_from_tip(bend_per_m, angle, length, tip)
    if line is None:
        return
    longer = hung_from_tip(bend_per_m, angle, more * length, tip)
    thinner = hung_from_tip(bend_per_m / more, angle, length, tip)
    thicker = hung_from_tip(bend_per_m * more, angle, length, tip)
    assert longer.depth > line.depth
    slack = 1e-13 * line.depth  # of a line that hardly bends all three are one
    assert thinner.depth >= line.depth - slack
    assert line.depth >= thicker.depth - slack


def test_a_line_without_drag_is_straight():
    line = hung(0.0, radians(30), 10.0)
    assert (line.depth, line.behind) == pytest.approx((5.0, 10 * cos(radians(30))))
    assert degrees(line.angle_at_surface) == pytest.approx(30.0)


@pytest.mark.parametrize("bent", [1e-15, 1e-9, 1e-6, 1e-3])
def test_a_line_that_hardly_bends_is_told_as_well_as_any(bent):
    """z = S sin(phi) (1 - K S cos(phi) sin(phi)/2): elementary; the next term is of (K S)^2."""
    angle = radians(25)
    near = 20.0 * sin(angle) * (1 - bent * cos(angle) * sin(angle) / 2)
    assert hung(bent / 20, angle, 20.0).depth == pytest.approx(near, rel=1e-14 + bent**2)


def test_a_bait_that_pulls_straight_down_begins_a_catenary_of_drag():
    """With cot = 0 at the bait z = asinh(K S)/K: elementary."""
    assert hung(0.5, pi / 2, 8.0).depth == pytest.approx(asinh(4.0) / 0.5)


def test_a_tip_held_under_water_leaves_the_whole_line_wet():
    under, at_surface = (hung_from_tip(0.4, radians(30), 20.0, tip) for tip in (-0.7, 0.0))
    assert under.wet == 20.0
    assert under.depth == pytest.approx(at_surface.depth + 0.7)


def test_too_short_a_line_does_not_reach_the_water():
    """1 m up at 30 degrees: 2 m of line hang dry."""
    assert hung_from_tip(0.3, radians(30), 2.0, 1.0) is None
    assert hung_from_tip(0.3, radians(30), 2.001, 1.0).wet < 0.002
