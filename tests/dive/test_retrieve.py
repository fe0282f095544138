"""The retrieve: the bound against the drag-free path stepped along, the fit against a chain of links.

The chain is worked out here and is no measurement of nature; against the worked cases it is held in
``test_dive_line.py``.
"""

import os
from math import asin, exp, log, sin

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from line_chain import run
from scipy.integrate import solve_ivp

from bodygen.dive.line.retrieve import bound, depth_of, line_drag, out_of_range, time_deep
from bodygen.tables import load

ROW = load("fishing")["retrieve"]
POINTS, FARTHER = (60, 60) if os.environ.get("BODYGEN_MORE") else (4, 3)
CORE = {"k_range": (0.2, 0.9), "drag_range": (2.0, 40.0), "tip_over_cast_range": (0.0, 0.067)}
"""Where the first 75 runs were, from which the fit is the worked cases'."""
K, DRAG, TIP = st.floats(*ROW["k_range"]), st.floats(*ROW["drag_range"]), st.floats(*ROW["tip_over_cast_range"])


@pytest.mark.parametrize(("k", "cast", "tip"), [(0.3, 25.0, 1.0), (0.9, 40.0, 0.0), (0.2, 15.0, 0.5)])
def test_the_bound_is_the_deepest_of_the_stepped_path(k, cast, tip):
    """d psi/dr = -k/r from the surface; to 1e-6: the samples' own curvature."""
    lengths = np.linspace(cast, 0.1 * cast, 20001)
    solved = solve_ivp(lambda r, _: [-k / r], (cast, 0.1 * cast), [asin(tip / cast)], "DOP853", lengths, rtol=1e-11)
    assert bound(k, cast, tip).depth == pytest.approx((solved.t * np.sin(solved.y[0])).max() - tip, rel=1e-6)


def test_a_bait_that_cannot_hold_the_steepness_of_the_line_never_dives():
    assert bound(0.02, 10.0, 1.0).depth == 0.0


def test_without_line_drag_the_chain_swims_the_bounds_path():
    """To 0.3 %: the chain stretches a little, and its bait has a mass."""
    assert run(0.5, 1e-6, 30.0, 1.0, 8)[1].max() == pytest.approx(bound(0.5, 30.0, 1.0).depth, rel=3e-3)


def drawn(count, ranges, seed):
    """Points that the fit has not seen, even in the logarithms of k and line drag."""
    rng, found = np.random.default_rng(seed), 0
    while found < count:
        k, drag = (exp(rng.uniform(*np.log(ranges[name]))) for name in ("k_range", "drag_range"))
        cast = rng.uniform(12.0, 45.0)
        tip = rng.uniform(*ranges["tip_over_cast_range"]) * cast
        if ranges is CORE or not (out_of_range(k, drag, cast, tip) or in_core(k, drag, tip / cast)):
            found += 1
            yield pytest.param(k, drag, cast, tip, id=f"{k:.2f}-{drag:.1f}")


def in_core(k, drag, share):
    return all(low <= value <= high for value, (low, high) in zip((k, drag, share), CORE.values(), strict=True))


def chain(k, drag, cast, tip):
    """Depth [m], and how much of the time it is deep [-]: at 1 m/s the cast is home after cast seconds."""
    times, depths = run(k, drag, cast, tip, links=8)
    return depths.max(), (depths > 0.8 * depths.max()).mean() * times[-1] / cast


@pytest.mark.parametrize(("k", "drag", "cast", "tip"), list(drawn(POINTS, CORE, 20)))
def test_the_fit_is_within_a_tenth_of_the_chain(k, drag, cast, tip):
    """10 %: the fit's own worst of 8 %, and 2 % between a chain of 8 links and one of 16."""
    depth, deep = chain(k, drag, cast, tip)
    assert depth_of(k, drag, cast, tip) == pytest.approx(depth, rel=0.1)
    assert time_deep(k, drag, cast, tip) == pytest.approx(deep, abs=0.05)


@pytest.mark.parametrize(("k", "drag", "cast", "tip"), list(drawn(FARTHER, ROW, 21)))
def test_the_fit_of_weak_baits_short_casts_and_much_line_is_within_a_tenth_of_the_chain(k, drag, cast, tip):
    """As above; the share of time is told to a twentieth, and may be off by twice that."""
    depth, deep = chain(k, drag, cast, tip)
    assert depth_of(k, drag, cast, tip) == pytest.approx(depth, rel=0.1)
    assert time_deep(k, drag, cast, tip) == pytest.approx(deep, abs=0.1)


@given(k=K, drag=DRAG, tip=TIP)
def test_no_depth_reaches_the_bound(k, drag, tip):
    assume(not out_of_range(k, drag, 30.0, tip * 30.0))
    assert 0 < depth_of(k, drag, 30.0, tip * 30.0) < bound(k, 30.0, tip * 30.0).depth


@given(k=K, tip=TIP, pair=st.tuples(DRAG, DRAG))
def test_a_thinner_line_runs_deeper(k, tip, pair):
    thin, thick = sorted(pair)
    assume(not out_of_range(k, thin, 30.0, tip * 30.0))
    assert depth_of(k, thin, 30.0, tip * 30.0) >= depth_of(k, thick, 30.0, tip * 30.0)


@given(k=K, drag=st.floats(1.0, 30.0), tip=st.floats(0.0, 3.6), more=st.floats(1.0, 2.0))
def test_a_longer_cast_runs_deeper(k, drag, tip, more):
    """The same bait and line: the line's drag grows with the cast."""
    assume(not out_of_range(k, drag, 30.0, tip))
    assert depth_of(k, drag * more, 30.0 * more, tip) >= depth_of(k, drag, 30.0, tip)


@pytest.mark.parametrize(
    ("k", "drag", "tip", "named"),
    [(0.09, 10, 1, "down_over_drag"), (0.5, 61, 1, "line_over_bait_drag"), (0.5, 10, -0.5, "tip_over_cast"),
     (0.5, 10, 4, "tip_over_cast"), (1.35, 10, 1, "down_over_drag"), (0.2, 10, 3, "tip_over_cast_k")],
)  # fmt: skip
def test_outside_of_the_runs_there_is_no_depth(k, drag, tip, named):
    assert list(out_of_range(k, drag, 30.0, tip)) == [named]
    with pytest.raises(ValueError, match=named):
        depth_of(k, drag, 30.0, tip)


def test_line_drag_grows_with_diameter_and_cast():
    assert line_drag(0.0003, 1.5, 30.0, 0.27368, 998.0) == pytest.approx(24.614513, rel=1e-7)  # elementary
    assert line_drag(0.0006, 1.5, 60.0, 0.27368, 998.0) == pytest.approx(4 * 24.614513, rel=1e-7)


def test_the_bound_of_a_low_tip_is_the_closed_form_for_small_angles():
    """z = k r0/e where h = 0 and k is small: elementary; the next term is k^2/6."""
    assert bound(0.01, 10.0, 0.0).depth == pytest.approx(0.01 * 10.0 / exp(1), rel=1e-4)
    assert sin(bound(0.01, 10.0, 0.0).dip) == pytest.approx(0.01, rel=1e-4)
    assert log(10.0 / bound(0.01, 10.0, 0.0).line_out) == pytest.approx(1.0, rel=1e-4)
