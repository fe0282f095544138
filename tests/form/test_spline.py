"""Splines against scipy's, which shares no code with ours."""

import numpy as np
import pytest
from scipy.interpolate import BSpline, CubicSpline

from bodygen.form import spline


def uneven_knots(order):
    """With a knot of multiplicity 3, but for second derivatives, which scipy does not take across one."""
    inner = [0.1, 0.25, 0.25, 0.25, 0.4, 0.8] if order < 2 else [0.1, 0.25, 0.4, 0.8]
    return np.array([0.0] * 4 + inner + [1.0] * 4)


@pytest.mark.parametrize("order", [0, 1, 2])
def test_basis_and_its_derivatives_are_scipys(order):
    """Both are the Cox-de Boor recursion; only rounding may differ, which grows with 1/knot width per derivative."""
    knots = uneven_knots(order)
    u = np.setdiff1d(np.linspace(0, 1, 101), [0.25])  # on the corner either side is right
    count = len(knots) - 4
    theirs = np.stack([BSpline(knots, np.eye(count)[i], 3).derivative(order)(u) for i in range(count)], axis=1)
    if order == 0:
        theirs = np.stack([BSpline(knots, np.eye(count)[i], 3)(u) for i in range(count)], axis=1)
    np.testing.assert_allclose(spline.basis(knots, u, order), theirs, atol=1e-10 * 100**order)


@pytest.mark.parametrize("order", [0, 1, 2])
def test_evaluate_agrees_with_scipy_for_poles_of_any_shape(order):
    knots = uneven_knots(order)
    poles = np.random.default_rng(1).normal(size=(len(knots) - 4, 3, 2))
    u = np.setdiff1d(np.linspace(0, 1, 57), [0.25])
    theirs = BSpline(knots, poles, 3)
    theirs = theirs.derivative(order) if order else theirs
    np.testing.assert_allclose(spline.evaluate(knots, poles, u, order), theirs(u), atol=1e-9 * 100**order)


def test_interpolation_without_conditions_is_the_not_a_knot_spline():
    rng = np.random.default_rng(2)
    t = np.cumsum(rng.uniform(0.5, 2, 12))
    values = rng.normal(size=(12, 2))
    poles = spline.interpolate(t, values)
    u = np.linspace(t[0], t[-1], 200)
    ours = spline.evaluate(spline.clamped_knots(t), poles, u)
    np.testing.assert_allclose(ours, CubicSpline(t, values, bc_type="not-a-knot")(u), atol=1e-9)


def test_flat_ends_have_no_slope_in_their_columns_and_not_a_knot_in_the_others():
    rng = np.random.default_rng(3)
    t = np.cumsum(rng.uniform(0.5, 2, 9))
    values = rng.normal(size=(9, 2))
    poles = spline.interpolate(t, values, flat_start=[0], flat_end=[0])
    u = np.linspace(t[0], t[-1], 120)
    ours = spline.evaluate(spline.clamped_knots(t), poles, u)
    np.testing.assert_allclose(ours[:, 0], CubicSpline(t, values[:, 0], bc_type="clamped")(u), atol=1e-9)
    np.testing.assert_allclose(ours[:, 1], CubicSpline(t, values[:, 1], bc_type="not-a-knot")(u), atol=1e-9)


def test_joined_splines_are_both_their_parts():
    t, s = np.linspace(0, 1, 6), np.linspace(1, 3, 8)
    first, second = np.abs(t - 0.3)[:, None], np.sin(5 * s)[:, None]
    second += first[-1] - second[0]
    parts = [(spline.clamped_knots(k), spline.interpolate(k, v)) for k, v in ((t, first), (s, second))]
    knots, poles = spline.join(*parts)
    for (own_knots, own), u in zip(parts, (np.linspace(0, 0.999, 50), np.linspace(1, 3, 50)), strict=True):
        np.testing.assert_allclose(spline.evaluate(knots, poles, u), spline.evaluate(own_knots, own, u), atol=1e-12)
