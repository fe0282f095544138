"""The coats' film, taken off a traced skin once: what is carved is the wood below it.

The three lines of a body lie where its normal has no part across their plane (back and belly by symmetry, the flank as
it is widest there), so each line moves inwards along its own normal. Sections keep their squareness.
"""

from dataclasses import replace

import numpy as np

from bodygen.form import spline
from bodygen.form.body import Array, Body
from bodygen.form.fairing.offsets import FoldError, Offsets, refuse_folds, surface_through
from bodygen.form.fairing.rows import between
from bodygen.recipe.model import Recipe
from bodygen.tables import load
from bodygen.weights.coats import film_of

ROWS = 49
FINE = 1200
ANEW = 6
"""Rows from a round end on that are drawn anew where the rest would fold."""


def film_on(recipe: Recipe) -> float:
    """How thick [mm] the coats of a recipe stand on the wood, as its ledger has them; soaked ones stand on nothing."""
    return film_of(recipe.coats)


def without_film(offsets: Offsets, film: float) -> Offsets:
    """The same body, its skin ``film`` [mm] further in; its nose is at x = 0 again, so all of it lies ``film`` nearer.

    Derived here: parallel curves of back, belly and plan, cut off where they meet.
    """
    if film <= 0:
        return offsets
    body = surface_through(offsets)
    u = _fine(body)
    top, bottom = _inwards(body, u, -1, 2, -film), _inwards(body, u, 0, 2, film)
    wide = _inwards(body, u, body.widest_index, 1, -film)
    nose = body.nose_flat and _sized(top, bottom, wide, film)
    tail = body.tail_flat and _sized(top, bottom, wide, body.length - film)
    first = film if nose else _closes(top, bottom, wide, start=True)
    last = body.length - film if tail else _closes(top, bottom, wide, start=False)
    blunt = tuple(1.0 if is_round else 0.0 for is_round in (offsets.nose_round, offsets.tail_round))
    steps = np.linspace(0, 1, ROWS)
    length = last - first
    x = between(np.zeros(ROWS), np.full(ROWS, length), steps, length, (blunt[0], blunt[1]))
    x[0], x[-1] = 0.0, length
    at = x + first
    back, belly, half = (np.interp(at, *line) for line in (top, bottom, wide))
    for end, sized in ((0, nose), (-1, tail)):
        if not sized:
            back[end] = belly[end] = (back[end] + belly[end]) / 2
            half[end] = 0.0
    depth = np.maximum(offsets.top - offsets.bottom, 1e-9)
    share = np.where(offsets.top - offsets.bottom > 1e-6, (offsets.widest - offsets.bottom) / depth, np.nan)
    known = ~np.isnan(share)
    share_at = np.interp(at, offsets.x[known], share[known])
    thinner = Offsets(
        x,
        back,
        belly,
        half,
        belly + share_at * (back - belly),
        np.interp(at, offsets.x, offsets.squareness_back),
        np.interp(at, offsets.x, offsets.squareness_belly),
        _flats(offsets, at),
        nose_round=offsets.nose_round,
        tail_round=offsets.tail_round,
    )
    return thinner if _is_sound(thinner) else _rounded_off(thinner)


def _is_sound(offsets: Offsets) -> bool:
    """Whether the surface is a body's."""
    try:
        refuse_folds(surface_through(offsets))
    except FoldError:
        return False
    return True


def _rounded_off(offsets: Offsets) -> Offsets:
    """The same with round ends drawn anew as an ellipse opens: parallel curves of a rough end meet anyhow."""
    lines = [offsets.top.copy(), offsets.bottom.copy(), offsets.half_width.copy()]
    share = (offsets.widest - offsets.bottom) / np.maximum(offsets.top - offsets.bottom, 1e-9)
    ends = ((slice(None, ANEW + 1), offsets.nose_round), (slice(-1, -ANEW - 2, -1), offsets.tail_round))
    for end, is_round in ends:
        if not is_round:
            continue
        way = np.abs(offsets.x[end] - offsets.x[end][0])
        opening = np.sqrt(way / way[-1])
        share[end] = share[end][-1]
        middle = (lines[0][end][-1] + lines[1][end][-1]) / 2, (lines[0][end][0] + lines[1][end][0]) / 2
        axis = middle[1] + (middle[0] - middle[1]) * way / way[-1]
        for line, at in zip(lines, (axis, axis, 0 * axis), strict=True):
            line[end] = at + (line[end][-1] - at[-1]) * opening
    top, bottom, half = lines
    widest, flat = bottom + share * (top - bottom), offsets.flat
    if flat is not None:
        room = top - widest, widest - bottom, half
        runs = [np.minimum(run, most) for run, most in zip(flat, room, strict=True)]
        for end, is_round in ends:
            for run, most in zip(runs, room, strict=True):
                if is_round:
                    run[end] = most[end] * (run[end][-1] / most[end][-1])
        flat = runs[0], runs[1], runs[2]
    return replace(offsets, top=top, bottom=bottom, half_width=half, widest=widest, flat=flat)


def _flats(offsets: Offsets, at: Array) -> tuple[Array, Array, Array] | None:
    """Straight runs of the sections at ``at`` (m,): as long as before, since both ends of one move the same way."""
    if offsets.flat is None:
        return None
    above, below, across = (np.interp(at, offsets.x, run) for run in offsets.flat)
    return above, below, across


def _fine(body: Body) -> Array:
    """Parameters (k,) [-], closer at both ends, where a round end turns within a hair of x."""
    even = np.linspace(body.breaks[0], body.breaks[-1], FINE)
    ends = np.geomspace(1e-5, 0.02, 60) * (body.breaks[-1] - body.breaks[0])
    return np.unique(np.concatenate([even, body.breaks[0] + ends, body.breaks[-1] - ends]))


def _inwards(body: Body, u: Array, column: int, axis: int, by: float) -> tuple[Array, Array]:
    """A line of the skin moved by ``by`` [mm] along its normal in its own plane: x and height, x rising."""
    poles = body.poles[:, column][:, [0, axis]]
    at, rate = spline.evaluate(body.knots, poles, u), spline.evaluate(body.knots, poles, u, 1)
    size = np.maximum(np.linalg.norm(rate, axis=1), 1e-12)
    x, height = at[:, 0] - by * rate[:, 1] / size, at[:, 1] + by * rate[:, 0] / size
    rising = np.concatenate([[True], x[1:] > np.maximum.accumulate(x)[:-1]])
    return x[rising], height[rising]


def _sized(top: tuple[Array, Array], bottom: tuple[Array, Array], wide: tuple[Array, Array], x: float) -> bool:
    """Whether a flat end is left there [mm]; one that the film was all of is a point."""
    least = float(load("limits")["readings"]["closed_mm"])
    return bool(np.interp(x, *top) - np.interp(x, *bottom) > least and 2 * np.interp(x, *wide) > least)


def _closes(top: tuple[Array, Array], bottom: tuple[Array, Array], wide: tuple[Array, Array], *, start: bool) -> float:
    """Where depth and width first are more than nothing, from one end [mm]."""
    x = np.unique(np.concatenate([top[0], bottom[0], wide[0]]))
    low, high = (max(line[0][0] for line in (top, bottom, wide)), min(line[0][-1] for line in (top, bottom, wide)))
    x = x[(x >= low) & (x <= high)]
    least = np.minimum(np.interp(x, *top) - np.interp(x, *bottom), np.interp(x, *wide))
    sized = np.flatnonzero(least > 0)
    return float(x[sized[0]] if start else x[sized[-1]])
