"""From an outline in mm to the lines of a body: where nose and tail are, back and belly, or both flanks, over x.

Knows curves in a plane. Knows no pictures.
"""

from dataclasses import dataclass

import numpy as np

from bodygen.form.body import Array
from bodygen.form.fairing.rows import opened

STATIONS = 41
REACH = 0.016
"""Half of the window that one station's height is averaged over [-, of the opened length]."""
CAP_MM = 0.4
SAWN = 0.65
"""An end is sawn off where it is so much as deep close to it as a little before: a round one has less than half."""


@dataclass(frozen=True, slots=True, eq=False)
class Profile:
    """An outline in axes from nose to tail: ``points`` (k, 2) [mm], and ``high`` and ``low`` (n,) over ``x`` (n,)."""

    points: Array
    x: Array
    high: Array
    low: Array
    nose: Array
    along: Array

    @property
    def length(self) -> float:
        """Nose to tail [mm]."""
        return float(self.x[-1])

    def own(self, places: Array) -> Array:
        """Places of the ground (k, 2) [mm] in the outline's own axes."""
        return np.asarray((places - self.nose) @ np.stack([self.along, across(self.along)], axis=1))


def across(along: Array) -> Array:
    """The direction (2,) a quarter turn to the left.

    Examples
    --------
    >>> across(np.array([1.0, 0.0])).tolist()
    [-0.0, 1.0]
    """
    return np.array([-along[1], along[0]])


def profile_of(outline: Array, towards_tail: Array) -> Profile:
    """Find nose and tail of a closed outline (k, 2) [mm] and measure it across that line.

    The line goes from the middle of one end's cap to that of the other's, as a maker would draw it; ``towards_tail``
    (2,) says about which way the tail lies.
    """
    moved = outline - outline.mean(axis=0)
    _, _, axes = np.linalg.svd(moved, full_matrices=False)
    along = axes[0] if axes[0] @ towards_tail >= 0 else -axes[0]
    nose = outline.mean(axis=0)
    for _ in range(12):
        at = (outline - nose) @ along
        first = outline[at < at.min() + CAP_MM].mean(axis=0)
        last = outline[at > at.max() - CAP_MM].mean(axis=0)
        along = (last - first) / np.linalg.norm(last - first)
        nose = first
    at = (outline - nose) @ along
    nose = nose + at.min() * along
    axes = np.stack([along, across(along)], axis=1)
    points = (outline - nose) @ axes
    x = 0.5 * (1 - np.cos(np.linspace(0, np.pi, STATIONS))) * float(points[:, 0].max())
    high, low = (_side(points, x, sign) for sign in (1.0, -1.0))
    for end in (0, -1):
        _ended(x, high, low, end)
    return Profile(points, x, high, low, nose, along)


def _ended(x: Array, high: Array, low: Array, end: int) -> None:
    """Close an end, or where it is sawn off run both lines on to its face (in place)."""
    order = np.arange(len(x))[:: 1 if end == 0 else -1]
    edge, near = order[:4], order[4:8]
    depth = high - low
    if depth[order[2]] < SAWN * depth[order[5]]:
        high[end] = low[end] = 0.0
        return
    for line in (high, low):
        line[edge] = np.polyval(np.polyfit(x[near], line[near], 1), x[edge])


def _side(points: Array, x: Array, sign: float) -> Array:
    """Heights (n,) of the upper or the lower side over x, each the local line's through the points about it."""
    first, last = int(np.argmin(points[:, 0])), int(np.argmax(points[:, 0]))
    order = np.arange(first, last + (len(points) if last < first else 0)) % len(points)
    other = np.arange(last, first + (len(points) if first < last else 0)) % len(points)
    one, two = points[order], points[other]
    side = one if sign * (one[:, 1].mean() - two[:, 1].mean()) > 0 else two
    length = float(x[-1])
    t, at = opened(side[:, 0] / length, 1.0, 1.0), opened(x / length, 1.0, 1.0)
    height = np.zeros(len(x))
    for i, middle in enumerate(at):
        near = np.abs(t - middle) < REACH
        if near.sum() < 4:
            near = np.argsort(np.abs(t - middle))[:6]
        local = t[near] - middle
        terms = np.stack([np.ones_like(local), local], axis=1)
        height[i] = np.linalg.lstsq(terms, side[near, 1], rcond=None)[0][0]
    return height
