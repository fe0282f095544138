"""Very many measured rows, laid fair: few rows whose surface lies near every measured one.

A surface through each of thousands of rows has a span for each, and follows the last digit of the calliper. Smoothing
splines through all rows, with a knot at some of them, give the sizes there; a span that leaves a measured row by more
than the tolerance gets another knot.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bodygen.form import spline
from bodygen.form.body import Body
from bodygen.form.fairing.offsets import Offsets, surface_through
from bodygen.form.fairing.rows import UNEVEN, opened
from bodygen.form.section import half_section, handle_ratio

Array = NDArray[np.float64]
FIRST_SPANS = 32
FEWEST = 4
"""Measured rows to a span, so that each spline is told more often than it is free."""
BETTER, IDLE = 0.95, 3
"""Rounds without the worst row so much nearer, after which the rest is the readings' own roughness."""


@dataclass(frozen=True, slots=True)
class Thinned:
    """The few rows, and how far the surface through them is from the measured rows at most [mm], at which x [mm]."""

    offsets: Offsets
    off: float
    at: float


def thinned(
    rows: Array, rounded: tuple[bool, bool], table: Callable[[Array], Offsets], within: float, most: int
) -> Thinned:
    """Few rows whose surface stays near the measured ones, their own first and last among them.

    Parameters
    ----------
    rows : (m, 5) or (m, 7) array
        x, top, bottom, half width [mm], squareness [-]; that of the lower half [-], the widest line's share of the
        depth [-].
    rounded : (bool, bool)
        Which ends close round.
    table : function
        Makes the table of offsets of any rows.
    within : float
        How near to every measured row the surface is to be [mm].
    most : int
        Rows at the most: where they do not reach that near, ``Thinned.off`` says how near they come.

    References
    ----------
    Least squares by B-splines with given end points: Piegl and Tiller, The NURBS Book (1997), section 9.4.1 (from
    memory).
    """
    t = opened(rows[:, 0] / rows[-1, 0], *(1.0 if end else 0.0 for end in rounded))
    at = _spread(np.searchsorted(t, np.linspace(0, 1, FIRST_SPANS + 1)[1:-1]), len(rows))
    sections = _sections(table(rows[1:-1]))
    best, idle = Thinned(table(rows[at]), np.inf, 0.0), 0
    while True:
        offsets = table(_faired(rows, t, at))
        off = _leaves(surface_through(offsets), rows[1:-1, 0], sections)
        worst = int(np.argmax(off))
        idle = 0 if off[worst] < BETTER * best.off else idle + 1
        if off[worst] < best.off:
            best = Thinned(offsets, float(off[worst]), float(rows[1 + worst, 0]))
        more = _middles(at, t, 1 + np.flatnonzero(off > within), offsets.steps())
        if not len(more) or len(at) + len(more) > most or idle == IDLE:
            return best
        at = spline.distinct(np.concatenate([at, more]))


def _spread(wanted: NDArray[np.intp], count: int) -> NDArray[np.intp]:
    """The first, the last and of the wanted rows those that leave ``FEWEST`` between neighbours."""
    kept = [0]
    for i in wanted:
        if kept[-1] + FEWEST <= i <= count - 1 - FEWEST:
            kept.append(int(i))
    return np.array([*kept, count - 1])


def _middles(at: NDArray[np.intp], t: Array, left: NDArray[np.intp], step: Array) -> NDArray[np.intp]:
    """Which measured rows become knots: in the middle of spans with rows ``left``, or many times as long as another."""
    spans = spline.distinct(np.searchsorted(at, left, side="right") - 1)
    if len(spans):
        long = np.zeros(len(step), dtype=bool)
        long[:-1] |= step[:-1] > UNEVEN * step[1:]
        long[1:] |= step[1:] > UNEVEN * step[:-1]
        spans = spline.distinct(np.concatenate([spans, np.flatnonzero(long)]))
    spans = spans[np.diff(at)[spans] >= 2 * FEWEST]
    first, last = at[spans], at[spans + 1]
    return np.clip(np.searchsorted(t, (t[first] + t[last]) / 2), first + FEWEST, last - FEWEST)


def _faired(rows: Array, t: Array, at: NDArray[np.intp]) -> Array:
    """The sizes (k, 5 or 7) that smoothing splines over t with knots at some rows have there; the end rows exactly."""
    basis = spline.basis(spline.clamped_knots(t[at]), t)
    ends = basis[:, [0, -1]] @ rows[[0, -1]]
    inner = basis[:, 1:-1]
    poles = np.linalg.solve(inner.T @ inner, inner.T @ (rows - ends))
    faired = ends[at] + inner[at] @ poles
    faired[:, 0], faired[0], faired[-1] = rows[at, 0], rows[0], rows[-1]
    faired[1:-1, 4:] = np.clip(faired[1:-1, 4:], rows[:, 4:].min(axis=0), rows[:, 4:].max(axis=0))
    return faired


def _sections(o: Offsets) -> Array:
    """Control points of the half sections of a table's rows (m, 7, 2) of (y, z) [mm]."""
    handles = [
        np.array([handle_ratio(float(n)) for n in squareness]) for squareness in (o.squareness_back, o.squareness_belly)
    ]
    return half_section(o.half_width, o.top, o.bottom, o.widest, (handles[0], handles[1]), None)


def _leaves(body: Body, x: Array, sections: Array) -> Array:
    """How far the sections at x (m,) are from the surface, square to it [mm]; infinite where that runs backwards.

    By the control points: no point of a Bezier moves further than the furthest of its own.
    """
    u = body.parameter_at(x)
    at, rate = body.polygons_both(u)
    forward = rate[:, :, 0]
    lean = np.linalg.norm(rate[:, :, 1:], axis=2) / np.where(forward > 0, forward, np.inf)
    off = np.linalg.norm(at[:, :, 1:] - sections, axis=2) / np.hypot(1.0, lean)
    return np.where((forward > 0).all(axis=1), off.max(axis=1), np.inf)
