"""Lines as they are seen from one side, and where a line goes out of sight (the sides themselves: form/facing.py).

Knows plain geometry in mm. Knows no body and no cut (views.py, cut_lines.py).
"""

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from bodygen.plane.page import Pen

Array = NDArray[np.float64]
STEP = 0.8
"""Spacing of points between which a line changes at most once from seen to hidden [mm]."""
SHARES = np.arange(1, 64)[:, None] / 64
"""Where it is looked at again between two points that differ: so many places take a test little longer than one."""


@dataclass(frozen=True, slots=True, eq=False)
class Trace:
    """One line of a view: points (k, 2), to the right and up [mm]."""

    points: Array
    pen: Pen
    closed: bool = False
    part: str = ""


def hull(points: Array) -> Array:
    """Convex hull of (k, 2) points, counter-clockwise (Andrew's monotone chain)."""
    ordered = sorted(set(map(tuple, np.round(points, 6).tolist())))

    def chain(line: list[tuple[float, float]]) -> list[tuple[float, float]]:
        kept: list[tuple[float, float]] = []
        for x, y in line:
            while len(kept) > 1 and _turn(kept[-2], kept[-1], (x, y)) <= 0:
                kept.pop()
            kept.append((x, y))
        return kept[:-1]

    return np.array(chain(ordered) + chain(ordered[::-1]))


def _turn(a: tuple[float, float], b: tuple[float, float], c: tuple[float, float]) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def split(corners: Array, test: Callable[[Array], NDArray[np.bool_]]) -> tuple[list[Array], list[Array]]:
    """Pieces of the straight lines through corners (k, 3) where the test holds, and those where it does not [mm]."""
    parts = [np.linspace(a, b, max(2, int(np.linalg.norm(b - a) / STEP) + 2))[:-1] for a, b in pairwise(corners)]
    points = np.concatenate([*parts, corners[-1:]])
    holds = test(points)
    change = np.flatnonzero(holds[1:] != holds[:-1])
    a, b = points[change], points[change + 1]
    if len(change):
        between = a[:, None] + SHARES * (b - a)[:, None]
        other = test(between.reshape(-1, 3)).reshape(between.shape[:2]) != holds[change][:, None]
        row, first = np.arange(len(a)), np.where(other.any(axis=1), other.argmax(axis=1), len(SHARES))
        places = np.concatenate([a[:, None], between, b[:, None]], axis=1)
        a, b = places[row, first], places[row, first + 1]
    pieces: tuple[list[Array], list[Array]] = ([], [])
    starts = [points[:0], *b[:, None]]
    ends = [*a[:, None], points[:0]]
    bounds = [0, *(change + 1).tolist(), len(points)]
    for start, end, i, j in zip(starts, ends, bounds[:-1], bounds[1:], strict=True):
        pieces[0 if holds[i] else 1].append(_straightened(np.concatenate([start, points[i:j], end])))
    return pieces


def _straightened(points: Array) -> Array:
    """Drop points (k, 3) that lie on the straight line between their neighbours."""
    ways = np.diff(points, axis=0)
    size = np.linalg.norm(ways, axis=1)
    apart = size > 1e-9
    points, ways = points[np.concatenate([[True], apart])], ways[apart] / size[apart, None]
    bends = np.linalg.norm(np.diff(ways, axis=0), axis=1) > 1e-7
    return points[np.concatenate([[True], bends, [True]])] if len(points) > 2 else points
