"""Smooth lines through readings: cubic smoothing splines of a parameter that opens round ends.

The smoothing spline is the likeliest line under a prior that bends at random (an integrated Wiener process), so that
one calculation gives the line, how smooth it should be, and where each reading should have been by all the others. How
smooth is taken from the likelihood of all lines together: of a dozen readings, cross-validation often takes the line
through every one of them as the best. Knows numbers only.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
SMOOTH = np.geomspace(1e-7, 1e2, 55)
"""What is tried for the weight of the bend: squares of misfit [mm^2] to one of the bend over t in 0..1 [mm^2]."""


@dataclass(frozen=True, slots=True, eq=False)
class Data:
    """Readings of one line: parameters t (n,) in 0..1 [-], values y (n,) [mm], weights w (n,) of their squares [-]."""

    t: Array
    y: Array
    w: Array

    def without(self, i: int) -> "Data":
        """All but one.

        Examples
        --------
        >>> Data(np.arange(3.0), np.arange(3.0), np.ones(3)).without(1).t.tolist()
        [0.0, 2.0]
        """
        return Data(np.delete(self.t, i), np.delete(self.y, i), np.delete(self.w, i))


@dataclass(frozen=True, slots=True, eq=False)
class SmoothLine:
    """A fitted line f(t) [mm]: ``straight`` (2,) and, at ``t`` (n,), ``pulls`` (n,) of the bent part.

    ``off`` (n,) [mm] is each reading less where all the others have it, ``free`` (n,) the variance of that in units of
    the readings' own (1 and more).
    """

    t: Array
    straight: Array
    pulls: Array
    off: Array
    free: Array

    def __call__(self, t: Array) -> Array:
        """Value at t (m,) [mm].

        Elementary: the straight part and the pull of each reading.
        """
        at = np.clip(np.asarray(t, dtype=float), 0.0, 1.0)
        return np.asarray(self.straight[0] + self.straight[1] * at + bent(at, self.t) @ self.pulls)


def bent(s: Array, t: Array) -> Array:
    """Covariance (m, n) of an integrated Wiener process at s (m,) and t (n,) [-].

    References
    ----------
    G. Wahba, Journal of the Royal Statistical Society B 40 (1978) 364-372 (from memory).

    Examples
    --------
    >>> bent(np.array([1.0]), np.array([1.0])).tolist()   # the integral of (1 - u)^2: a third
    [[0.3333]]
    """
    low, high = np.minimum(s[:, None], t), np.maximum(s[:, None], t)
    return np.asarray(low**2 * (3 * high - low) / 6)


def smoothed(data: Data, smooth: float) -> SmoothLine:
    """The line with one weight of the bend.

    Derived here: of the precision matrix P of the readings, a reading is off by (P y)_i / P_ii from where the others
    have it, with the variance 1 / P_ii.

    Examples
    --------
    >>> t = np.linspace(0, 1, 5)
    >>> line = smoothed(Data(t, 2 + 3 * t, np.ones(5)), 1.0)   # what is straight stays
    >>> line(np.array([0.5])).tolist(), bool(abs(line.off).max() < 1e-9)
    ([3.5], True)
    """
    x = np.stack([np.ones_like(data.t), data.t], axis=1)
    inverse = np.linalg.inv(bent(data.t, data.t) / smooth + np.diag(1 / data.w))
    normal = x.T @ inverse @ x
    straight = np.linalg.solve(normal, x.T @ inverse @ data.y)
    precision = inverse - inverse @ x @ np.linalg.solve(normal, x.T @ inverse)
    alpha, diagonal = precision @ data.y, np.diag(precision)
    return SmoothLine(data.t, straight, alpha / smooth, alpha / diagonal, 1 / diagonal)


@dataclass(frozen=True, slots=True)
class Judged:
    """How well a weight of the bend explains readings: -2 log likelihood, and the readings' spread [mm]."""

    score: float
    spread: float
    smooth: float


@dataclass(frozen=True, slots=True, eq=False)
class Modes:
    """A line's readings in modes that the prior bends independently: variance of each, its value, the rest's log."""

    bends: Array
    told: Array
    constant: float


def modes_of(data: Data) -> Modes:
    """Take the straight part out of the readings and turn what is left until its modes are independent."""
    root = np.sqrt(data.w)
    x = np.stack([root, data.t * root], axis=1)
    q, r = np.linalg.qr(x, mode="complete")
    rest = q[:, 2:]
    bends, turn = np.linalg.eigh(rest.T @ (root[:, None] * bent(data.t, data.t) * root) @ rest)
    constant = 2 * float(np.log(np.abs(np.diag(r[:2]))).sum()) - float(np.log(data.w).sum())
    return Modes(np.maximum(bends, 0.0), turn.T @ (rest.T @ (root * data.y)), constant)


def judged(lines: Sequence[Modes], least: float, smooth: Array = SMOOTH) -> Judged:
    """The weight of the bend under which the readings of all lines together are likeliest.

    Parameters
    ----------
    lines : sequence of Modes
        Each line's readings.
    least : float
        No reading is known better than this [mm]: the callipers' own step.
    smooth : (k,) array
        What may be taken.

    References
    ----------
    Restricted likelihood of splines: G. Wahba, Annals of Statistics 13 (1985) 1378-1402 (from memory).
    """
    bends, told = np.concatenate([m.bends for m in lines]), np.concatenate([m.told for m in lines])
    variance = 1 + bends / np.asarray(smooth)[:, None]
    misfit = (told**2 / variance).sum(axis=1)
    spread = np.maximum(np.sqrt(misfit / len(told)), least)
    score = len(told) * 2 * np.log(spread) + misfit / spread**2 + np.log(variance).sum(axis=1)
    best = int(np.argmin(score))
    constant = sum(m.constant for m in lines)
    return Judged(float(score[best]) + constant, float(spread[best]), float(smooth[best]))
