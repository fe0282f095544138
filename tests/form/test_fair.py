"""A fair line: through its points, no bump that they do not have, the draughtsman's spline where that has none."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.interpolate import CubicSpline

from bodygen.form.fairing.fair import _batten, fair_line


@st.composite
def points(draw, least=3, most=12):
    """x strictly rising by uneven steps, y anything, equal neighbours included."""
    count = draw(st.integers(least, most))
    steps = draw(st.lists(st.floats(0.05, 3.0), min_size=count - 1, max_size=count - 1))
    y = draw(st.lists(st.floats(-10, 10).map(lambda v: round(v, 2)), min_size=count, max_size=count))
    return np.concatenate([[0.0], np.cumsum(steps)]), np.array(y)


@settings(max_examples=150)
@given(points())
def test_the_line_passes_through_every_point_and_is_monotone_wherever_they_are(drawn):
    """Between two points it stays between their heights and never turns."""
    x, y = drawn
    line = fair_line(x, y)
    np.testing.assert_allclose(line(x), y, atol=1e-9)
    for i in range(len(x) - 1):
        height = line(np.linspace(x[i], x[i + 1], 60))
        steps = np.diff(height) * np.sign(y[i + 1] - y[i])
        if y[i + 1] == y[i]:
            np.testing.assert_allclose(height, y[i], atol=1e-9)
        else:
            assert steps.min() >= -1e-9 * max(1.0, np.abs(y).max())


@settings(max_examples=60)
@given(points(least=5))
def test_slope_and_curvature_are_continuous_but_for_a_corner(drawn):
    x, y = drawn
    corner = len(x) // 2
    line = fair_line(x, y, (corner,))
    smooth = [i for i in range(1, len(x) - 1) if i != corner]
    np.testing.assert_array_equal(line.slope[smooth, 0], line.slope[smooth, 1])
    np.testing.assert_array_equal(line.bend[smooth, 0], line.bend[smooth, 1])


def test_the_stored_derivatives_are_those_of_the_line():
    """Central differences, h^2 = 1e-8 of a curve of order 1; the second one loses half the digits."""
    x, y = np.array([0.0, 1, 2.5, 3, 5]), np.array([0.0, 2, 3, 3.2, 3.3])
    line, h = fair_line(x, y), 1e-4
    for i in (1, 2, 3):
        for side, way in ((0, -1.0), (1, 1.0)):
            at = x[i] + way * np.array([h, 2 * h, 3 * h])
            a, b, c = line(at)
            assert abs((c - 2 * b + a) / h**2 - line.bend[i, side]) < 0.02
            assert abs(way * (b - a) / h - line.slope[i, side]) < 2e-3


def test_a_spline_that_is_monotone_already_is_left_alone():
    """Far from the limits the line is the not-a-knot cubic spline itself: a quintic with its slopes and curvatures."""
    x = np.linspace(0, 1, 9)
    y = x + 0.15 * np.sin(3 * x)
    fine = np.linspace(0, 1, 300)
    np.testing.assert_allclose(fair_line(x, y)(fine), CubicSpline(x, y)(fine), atol=1e-12)


@pytest.mark.parametrize("way", [1.0, -1.0])
def test_where_a_line_turns_it_keeps_the_curvature_of_its_spline(way):
    """Not-a-knot splines hold a parabola; its top lies on a point, and 2 is far from the limit of 10 there."""
    x = np.linspace(-1, 1, 9)
    line = fair_line(x, way * (1 - x * x))
    assert line.slope[4] == pytest.approx([0, 0])
    assert line.bend[4] == pytest.approx([-2 * way, -2 * way])


def test_a_flat_end_has_no_slope():
    line = fair_line(np.array([0.0, 1, 2, 3, 4]), np.array([0.0, 1, 2, 3, 4]), flat_ends=(True, True))
    assert line.slope[0, 1] == 0
    assert line.slope[-1, 0] == 0


def test_beyond_its_ends_the_line_keeps_the_end_value():
    line = fair_line(np.array([0.0, 1, 2, 4]), np.array([1.0, 2, 2.5, 3]))
    assert line(np.array([-1.0, 9.0])).tolist() == [1.0, 3.0]


@pytest.mark.parametrize(
    ("flat", "slopes"), [((False, False), (1, 3, 7)), ((True, False), (0, 3, 7)), ((False, True), (1, 3, 0))]
)
def test_three_points_take_the_parabolas_slopes_and_level_ends_where_told(flat, slopes):
    """y = x^2 + x at 0, 1, 3: slopes 2 x + 1, curvature 2, exact but for rounding."""
    x = np.array([0.0, 1.0, 3.0])
    m, c = _batten(x, x * x + x, flat)
    assert m == pytest.approx(slopes, abs=1e-12)
    assert c == pytest.approx([2, 2, 2])
