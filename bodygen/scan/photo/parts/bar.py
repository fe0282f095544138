"""A faint straight bar that begins at an outline: the edge of a clear plate. Knows pixels of a flat picture.

A wire differs from the ground so much that the silhouette finds it; a clear plate seen on its edge is the ground a
little lighter or darker, between two straight lines. It is proposed where it stands out against all that the ground
itself shows of such bars.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bodygen.form.body import Array
from bodygen.scan.photo.outline.light import Light, sampled
from bodygen.scan.photo.outline.silhouette import PER_MM

HALVES_MM = (0.7, 1.3, 2.2)
"""Half widths that are tried [mm]: a sheet on its edge, and a wide one seen a little from aside."""
GAP_MM, BESIDE_MM = 0.5, 1.0
"""From the bar's edge to what it is compared with, and how wide that is [mm]."""
FIRST_MM, LONGEST_MM, STEP_MM = 1.0, 30.0, 0.4
SHORTEST_MM = 6.0
FAINTEST = 0.035
"""Logarithm of light that a bar must differ by on both sides [-]."""
STANDS_OUT = 1.6
"""How much more than the ground's own clearest bar [-]."""
TRIES, TURNS = 400, 2.0
"""Bars of the ground that are looked at; how far apart directions are tried [deg]."""


@dataclass(frozen=True, slots=True, eq=False)
class Bar:
    """A straight bar from its ``foot`` (2,) [px] towards ``way`` (2,), ``length`` [px] long."""

    foot: Array
    way: Array
    length: float


def faint_bar(
    light: Light, feet: Array, ways: Array, body: NDArray[np.bool_], taken: NDArray[np.bool_], seed: int = 5
) -> Bar | None:
    """The clearest bar from one of the feet towards one of the ways; None where the ground shows as much.

    Parameters
    ----------
    light : (h, w, 3) array
        Logarithm of the flat picture's light over the ground's own.
    feet, ways : (n, 2), (m, 2) array
        Where a bar may begin [px], and unit vectors that it may go.
    body, taken : (h, w) array
        The body; all that is no ground for sure, the body among it.
    """
    import cv2

    away, free = (
        np.asarray(cv2.distanceTransform((~mask).astype(np.uint8), cv2.DIST_L2, 5), dtype=np.float32)
        for mask in (body, taken)
    )
    grey = np.asarray(light.mean(axis=2), dtype=np.float32)
    best: tuple[float, Bar] | None = None
    for half in HALVES_MM:
        starts, directions = (a.reshape(-1, 2) for a in np.broadcast_arrays(feet[:, None], ways[None]))
        rows = _response(grey, free, starts, directions, half)
        leaves = _at(away, starts + SHORTEST_MM * PER_MM * directions) > 0.7 * SHORTEST_MM * PER_MM
        score = np.where(leaves, _score(rows), 0.0)
        one = int(np.argmax(score))
        if score[one] > max(FAINTEST, STANDS_OUT * _of_ground(grey, away, free, half, seed)):
            length = _length(rows[one])
            if length >= SHORTEST_MM * PER_MM and (best is None or score[one] > best[0]):
                best = float(score[one]), Bar(starts[one], directions[one], length)
    return None if best is None else best[1]


def _places() -> Array:
    return np.arange(FIRST_MM, LONGEST_MM, STEP_MM) * PER_MM


def _response(grey: Light, free: Light, starts: Array, ways: Array, half: float) -> Array:
    """How much the middle differs from both sides (n, k) [-] along each bar; NaN where it is no ground."""
    along = starts[:, None] + _places()[None, :, None] * ways[:, None]
    out = np.stack([-ways[:, 1], ways[:, 0]], axis=1)[:, None]

    def mean(low: float, high: float) -> Array:
        offsets = np.linspace(low, high, 4) * PER_MM
        return np.asarray(np.mean([_at(grey, along + u * out) for u in offsets], axis=0))

    middle = mean(-0.7 * half, 0.7 * half)
    low, high = half + GAP_MM, half + GAP_MM + BESIDE_MM
    left, right = middle - mean(low, high), middle - mean(-high, -low)
    both = np.where(left * right > 0, np.sign(left) * np.minimum(np.abs(left), np.abs(right)), 0.0)
    clear = _at(free, along) > (half + GAP_MM) * PER_MM
    clear[:, _places() < 3 * PER_MM] = True  # close to the foot the body itself is near
    return np.asarray(np.where(clear, both, np.nan))


def _score(rows: Array) -> Array:
    """The mean along the shortest bar (n,) [-], 0 where part of that is no ground or it changes its sign."""
    first = _places() <= (FIRST_MM + SHORTEST_MM) * PER_MM
    near = rows[:, first][:, 4:]
    whole = ~np.isnan(near).any(axis=1)
    near = np.nan_to_num(near)
    mean = near.mean(axis=1)
    alike = (near * np.sign(mean)[:, None] > 0.3 * np.abs(mean)[:, None]).mean(axis=1)
    return np.asarray(np.where(whole & (alike > 0.85), np.abs(mean), 0.0))


def _of_ground(grey: Light, away: Light, free: Light, half: float, seed: int) -> float:
    """What the ground's own clearest bar has for a score, of some hundred at random."""
    rng = np.random.default_rng(seed)
    rows, columns = np.nonzero((free > 10 * PER_MM) & (away > 10 * PER_MM))
    if not len(rows):
        return np.inf
    some = rng.integers(0, len(rows), TRIES)
    turn = rng.uniform(0, 2 * np.pi, TRIES)
    ways = np.column_stack([np.cos(turn), np.sin(turn)])
    found = _score(_response(grey, free, np.column_stack([columns[some], rows[some]]).astype(float), ways, half))
    return float(found.max())


def _length(row: Array) -> float:
    """How far a bar reaches [px]: until it is fainter than half over 2 mm."""
    first = _places() <= (FIRST_MM + SHORTEST_MM) * PER_MM
    mean = float(np.nanmean(row[first]))
    window = max(1, round(2.0 / STEP_MM))
    share = np.convolve(np.nan_to_num(row) / mean, np.ones(window) / window, "valid")
    faint = np.flatnonzero(share < 0.5)
    last = int(faint[0]) + window // 2 if len(faint) else len(row) - 1
    return float(_places()[min(last, len(row) - 1)])


def _at(values: Light, places: Array) -> Array:
    """Values (...) at places (..., 2) [px]."""
    found = sampled(values, places.reshape(-1, 1, 2))
    return np.asarray(found, dtype=float).reshape(places.shape[:-1])
