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
    varied: Sequence[str], columns: Sequence[ArrayLike], figure: str, y: Floats, *, every: bool = False
) -> list[Decides]:
    """The first-order shares from designs that were laid out for no such thing.

    Each thing is parted into classes: a list or a board by its values, a range into equally many of equal count. What
    the classes' means explain of the variance is the share (Plischke, Borgonovo and Smith 2013), corrected for what
    classes explain by chance (Kelley 1935; it is ANOVA's F in other words).

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
    every : bool
        Each value of one thing stands with each of the others (a whole grid): the share is that of these values, and
        chance has no part in it.
    """
    told = load("study")["told"]
    if (len(y) < told["least_designs"] and not every) or len(y) < 2 or _flat(y):
        return []
    found = []
    for name, column in zip(varied, columns, strict=True):
        values = np.asarray(column)
        classes = np.unique(values, return_inverse=True)[1] if every else classes_of(values)
        if classes.max() == 0:
            continue
        if every:
            share = between(classes, y)
            found.append(Decides(name, figure, VarianceShare(share, share, share), None))
            continue
        value = min(max(explained(classes, y), 0.0), 1.0)
        low, high = explained_interval(classes, y, float(told["confidence"]))
        if len(np.unique(values)) > classes.max() + 1:  # of a straight line so much is lost inside the classes
            high = min(high / between(classes, values.astype(float)), 1.0)
        found.append(Decides(name, figure, VarianceShare(value, min(low, value), max(high, value)), None))
    return found


def explained_interval(classes: NDArray[np.intp], y: Floats, confidence: float) -> tuple[float, float]:
    """The interval of the share that classes explain, by the noncentral F distribution.

    Its upper end is no less than what the classes explain here, chance included: of points that are spread evenly
    chance has less than its part.

    References
    ----------
    J. H. Steiger, Psychological Methods 9 (2004) 164, eqs. 16 to 20, with noncentrality n share / (1 - share); from
    memory.

    Examples
    --------
    >>> y = np.array([1.0, 1.4, 2.0, 2.4])
    >>> tuple(round(end, 2) for end in explained_interval(np.array([0, 0, 1, 1]), y, 0.95))
    (0.0, 0.93)
    """
    from scipy.optimize import brentq
    from scipy.stats import f as central
    from scipy.stats import ncf

    k, n = len(np.unique(classes)), len(y)
    share = between(classes, y)
    if n <= k:
        return 0.0, 1.0
    if share >= MOST_SHARE:
        return share, 1.0
    ratio = share / (1 - share) * (n - k) / (k - 1)

    def often(of: float) -> float:
        """How often an F so small or smaller comes of a share; far out, where it never does, SciPy has no number."""
        return float(np.nan_to_num(ncf.cdf(ratio, k - 1, n - k, n * of / (1 - of))))

    def end(below: float) -> float:
        """The share of which it comes so often."""
        if central.cdf(ratio, k - 1, n - k) <= below:
            return 0.0
        return 1.0 if often(MOST_SHARE) > below else float(brentq(lambda s: often(s) - below, 0.0, MOST_SHARE))

    rest = (1 - confidence) / 2
    return end(1 - rest), max(end(rest), share)


MOST_SHARE = 0.9999
"""A share so large is the whole, as far as anyone reads [-]."""


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


def between(classes: NDArray[np.intp], y: Floats) -> float:
    """Eta squared: the share of the variance of ``y`` that lies between the means of classes.

    >>> round(between(np.array([0, 0, 1, 1]), np.array([1.0, 1.1, 2.0, 2.1])), 3)
    0.99
    """
    counts = np.bincount(classes)
    sums = np.bincount(classes, weights=y)
    whole = float(np.sum((y - y.mean()) ** 2))
    present = counts > 0
    means = sums[present] / counts[present]
    return float(np.sum(counts[present] * (means - y.mean()) ** 2)) / whole if whole else 0.0


def explained(classes: NDArray[np.intp], y: Floats) -> float:
    """Epsilon squared: the share of the variance of ``y`` that the means of classes explain, chance taken off.

    >>> round(explained(np.array([0, 0, 1, 1]), np.array([1.0, 1.1, 2.0, 2.1])), 3)
    0.985
    """
    k, n = len(np.unique(classes)), len(y)
    if n <= k:
        return 0.0
    share = between(classes, y)
    return share - (k - 1) * (1 - share) / (n - k)


def _flat(y: Floats) -> bool:
    """Whether a figure does not vary past its rounding."""
    return bool(np.ptp(y) <= 1e-9 * max(float(np.max(np.abs(y))), 1e-12))
