"""What decides a figure: the share of its spread that goes back to each thing that varies, with an interval.

Knows numbers. Where the designs were laid out for it, Sobol' indices; else the share that classes of one thing explain.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from bodygen.tables import load

Floats = NDArray[np.float64]
BATCH = 4_000_000
"""Figures that are resampled at once [numbers of 8 bytes]."""


@dataclass(frozen=True, slots=True)
class VarianceShare:
    """A part of a variance, 0 to 1, and the interval that holds it with the confidence of the tables."""

    value: float
    low: float
    high: float

    @property
    def told(self) -> bool:
        """Whether the interval is narrow enough to tell the share."""
        return (self.high - self.low) / 2 <= float(load("study")["told"]["share_half_width"])


@dataclass(frozen=True, slots=True)
class Decides:
    """What one thing that varies decides of one figure.

    ``alone`` is what it does whatever the others do (the first-order index); ``all_in_all`` with its part in what
    several do together (the total index), None where the designs were not laid out for that.
    """

    varied: str
    figure: str
    alone: VarianceShare
    all_in_all: VarianceShare | None


def sobol_shares(varied: Sequence[str], figure: str, a: Floats, b: Floats, ab: Floats, seed: int) -> list[Decides]:
    """Sobol' indices of one figure with bootstrap intervals.

    Parameters
    ----------
    varied : sequence of str
        Names of the d things that vary.
    figure : str
        Name of the figure.
    a, b : array (n,)
        The figure in two independent samples; not a number where a design failed.
    ab : array (d, n)
        The figure in the first sample with one thing taken from the second.
    seed : int
        Of the resampling.

    Notes
    -----
    A place in the samples at which any design failed is left out everywhere: the shares are of designs that can be
    made. Nothing is told of a figure that does not vary. The estimator is SciPy's own (``sobol_indices``), which takes
    no other n than a power of two and draws its resamples from nobody's seed.
    """
    from scipy.stats import bootstrap

    told = load("study")["told"]
    rows = np.vstack([a, b, ab])
    rows = rows[:, np.all(np.isfinite(rows), axis=0)]
    n = rows.shape[1]
    if n < told["least_designs"] or _flat(rows[:2]):
        return []
    spread = bootstrap(
        (np.arange(n),),
        lambda at, axis: sobol_indices(rows[:, at]),  # noqa: ARG005  SciPy says along which axis; here it is the last
        vectorized=True,
        axis=-1,
        batch=max(1, BATCH // rows.size),
        n_resamples=told["resamples"],
        confidence_level=told["confidence"],
        method="percentile",
        rng=np.random.default_rng(seed),
    ).confidence_interval
    values, low, high = (np.clip(v, 0.0, 1.0) for v in (sobol_indices(rows), spread.low, spread.high))
    shares = [
        [VarianceShare(float(v), float(lo), float(hi)) for v, lo, hi in zip(*row, strict=True)]
        for row in zip(values, low, high, strict=True)
    ]
    return [Decides(name, figure, shares[0][i], shares[1][i]) for i, name in enumerate(varied)]


def sobol_indices(rows: Floats) -> Floats:
    """First-order and total indices (2, d, ...) of a figure in samples A, B, and A with one thing from B each.

    Parameters
    ----------
    rows : array (2 + d, ..., n)
        In that order.

    References
    ----------
    Saltelli, Annoni, Azzini, Campolongo, Ratto and Tarantola, Computer Physics Communications 181 (2010) 259, table 2:
    (b) for the first order, (f) for the total.
    """
    rows = rows - rows[:2].mean(axis=(0, -1), keepdims=True)
    a, b, ab = rows[0], rows[1], rows[2:]
    variance = rows[:2].var(axis=(0, -1))
    both = np.stack([(b * (ab - a)).mean(axis=-1), 0.5 * ((a - ab) ** 2).mean(axis=-1)])
    return np.asarray(both / variance)


def given_shares(
    varied: Sequence[str], columns: Sequence[ArrayLike], figure: str, y: Floats, seed: int
) -> list[Decides]:
    """The first-order shares from designs that were laid out for no such thing.

    Each thing is parted into classes: a list or a board by its values, a range into equally many of equal count. What
    the classes' means explain of the variance is the share (Plischke, Borgonovo and Smith 2013), corrected for what
    classes explain by chance (Kelley 1935; it is ANOVA's F in other words). The interval is the basic bootstrap's.

    Parameters
    ----------
    varied : sequence of str
        Names of what varies.
    columns : sequence of array (n,)
        What each was: numbers or texts.
    figure : str
        Name of the figure.
    y : array (n,)
        The figure; all finite.
    seed : int
        Of the resampling.
    """
    from scipy.stats import bootstrap

    told = load("study")["told"]
    if len(y) < told["least_designs"] or _flat(y):
        return []
    found = []
    for name, column in zip(varied, columns, strict=True):
        classes = classes_of(np.asarray(column))
        if classes.max() == 0:
            continue
        spread = bootstrap(
            (np.arange(len(y)),),
            lambda rows, c=classes: explained(c[rows], y[rows]),
            vectorized=False,
            n_resamples=told["resamples"],
            confidence_level=told["confidence"],
            method="basic",
            rng=np.random.default_rng(seed),
        ).confidence_interval
        ends = np.clip([spread.low, spread.high], 0.0, 1.0)
        value = min(max(explained(classes, y), 0.0), 1.0)
        found.append(Decides(name, figure, VarianceShare(value, float(ends[0]), float(ends[1])), None))
    return found


def classes_of(column: NDArray[np.generic]) -> NDArray[np.intp]:
    """Number of the class of each value, from 0: by value where few differ, else about as many as the cube root of n.

    >>> [int(k) for k in classes_of(np.array(["B2", "B1", "B2"]))]
    [1, 0, 1]
    """
    values, places = np.unique(column, return_inverse=True)
    count = max(2, min(round(2 * len(column) ** (1 / 3)), 40))
    if len(values) <= count or column.dtype.kind not in "fiu":
        return np.asarray(places, dtype=np.intp)
    order = np.argsort(column, kind="stable")
    classes = np.empty(len(column), dtype=np.intp)
    classes[order] = np.arange(len(column)) * count // len(column)
    return classes


def explained(classes: NDArray[np.intp], y: Floats) -> float:
    """Epsilon squared: the share of the variance of ``y`` that the means of classes explain, chance taken off.

    >>> round(explained(np.array([0, 0, 1, 1]), np.array([1.0, 1.1, 2.0, 2.1])), 3)
    0.985
    """
    counts = np.bincount(classes)
    sums = np.bincount(classes, weights=y)
    present = counts > 0
    k, n = int(present.sum()), len(y)
    whole = float(np.sum((y - y.mean()) ** 2))
    if n <= k or whole == 0.0:
        return 0.0
    between = float(np.sum(counts[present] * (sums[present] / counts[present] - y.mean()) ** 2))
    return (between - (k - 1) * (whole - between) / (n - k)) / whole


def _flat(y: Floats) -> bool:
    """Whether a figure does not vary past its rounding."""
    return bool(np.ptp(y) <= 1e-9 * max(float(np.max(np.abs(y))), 1e-12))
