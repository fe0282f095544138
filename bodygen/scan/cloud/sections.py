"""First sizes of a scanned body: what slices of its points say of back, belly, flanks and ends, and of a foot below it.

Knows points in the body's axes. A start for the fit (fit.py): within a millimetre, no more.
"""

import numpy as np
from numpy.typing import NDArray

from bodygen.scan.cloud.sizes import ROWS, Sizes, rows_along

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]
NEAR, FAR = 0.006, 0.035
"""Shares of the length behind an end at which its growth is read."""
FLAT_BELOW, ROUND_BELOW = 0.2, 0.75
"""Growth exponents (size ~ x^p) below which an end is sawn off, and round: 0 is a bar, 0.5 an ellipse, 1 a point."""
FEWEST = 6
OUTERMOST = 0.985
OUTLINE = 0.97
"""Share of a slice's points that lie within its outline."""
SLICES, ENDS = 60, 4
"""Slices along a bait that tell its outlines, and those at either end in which no foot is looked for."""
STEEP = 0.1
"""Share of the depth, ..."""
SLOPE = 1.2
"""... and rise over length, by which an outline must grow within two slices where something stands on it."""
MOST_FOOT = 0.45
"""Share of the length that a foot takes at most."""
LEFT_OVER = 0.02
"""Share of the depth above the straight line that is left as the bait's own."""


def first_sizes(points: Array, rows: int = ROWS) -> tuple[Sizes, float]:
    """Sizes of a body whose points (k, 3) are given in its axes [mm], and where its nose lies [mm].

    The mid-plane is y = 0; x from end to end, the axis through the middles of the ends.
    """
    x = points[:, 0]
    nose, tail = (float(v) for v in np.quantile(x, [0.0003, 0.9997]))
    length = tail - nose
    growths = [_growth(points, nose, 1.0, length), _growth(points, tail, -1.0, length)]
    closed = tuple(g > FLAT_BELOW for g in growths)
    rounded = tuple(FLAT_BELOW < g < ROUND_BELOW for g in growths)
    places = rows_along(length, (float(rounded[0]), float(rounded[1])), rows)
    at = nose + places * length
    step = np.diff(at)
    half = np.maximum(np.append(step, step[-1]), np.append(step[0], step)) / 2
    half = np.maximum(half, 0.004 * length)
    measured = np.array([_slice(points, float(c), float(h)) for c, h in zip(at, half, strict=True)]).T
    for line in measured:
        told = np.isfinite(line)
        line[~told] = np.interp(at[~told], at[told], line[told])
    top, bottom, wide, share = measured
    top, wide = np.maximum(top, bottom + 0.4), np.maximum(wide, 0.2)
    for row, end in ((0, closed[0]), (-1, closed[1])):
        inner = 1 if row == 0 else -2
        middle = 0.0 if end else (top[row] + bottom[row]) / 2
        size = 0.0 if end else max((top[inner] - bottom[inner]) / 2, 0.2)
        top[row], bottom[row], wide[row] = middle + size, middle - size, 0.0 if end else wide[inner]
    handles = np.full(len(at), 0.55)
    lines = np.stack([top, bottom, wide, np.clip(share, 0.3, 0.7), handles, handles.copy()])
    return Sizes(places, lines, nose, tail, (closed[0], closed[1]), (rounded[0], rounded[1])), length


def levelled(points: Array) -> tuple[Array, Array, Array]:
    """Points turned about y and moved along z until the middles of both ends lie on the x axis; the turn, the move."""
    turn, move = np.eye(3), np.zeros(3)
    moved = points
    for _ in range(2):
        nose, tail = np.quantile(moved[:, 0], [0.0003, 0.9997])
        length = tail - nose
        middles = []
        for end, way in ((nose, 1.0), (tail, -1.0)):
            behind = way * (moved[:, 0] - end)
            z = moved[behind < 0.012 * length, 2]
            middles.append(float(np.quantile(z, 0.02) + np.quantile(z, 0.98)) / 2)
        angle = np.arctan2(middles[1] - middles[0], length)
        c, s = np.cos(angle), np.sin(angle)
        small = np.array([[c, 0, s], [0, 1, 0], [-s, 0, c]])
        shift = -(small @ np.array([nose, 0, middles[0]]))[2]
        turn, move = small @ turn, small @ move + (0, 0, shift)
        moved = points @ turn.T + move
    return moved, turn, move


def _growth(points: Array, end: float, way: float, length: float) -> float:
    """The exponent p by which the body opens behind an end: size ~ x^p."""
    sizes = []
    for share in (NEAR, FAR):
        behind = way * (points[:, 0] - end) / length
        part = points[(behind > 0.4 * share) & (behind < 1.6 * share)]
        if len(part) < FEWEST:
            return 0.5
        high, low = np.quantile(part[:, 2], [OUTERMOST, 1 - OUTERMOST])
        sizes.append((high - low) / 2 + np.quantile(np.abs(part[:, 1]), OUTERMOST))
    return float(np.log(max(sizes[1], 1e-9) / max(sizes[0], 1e-9)) / np.log(FAR / NEAR))


def _slice(points: Array, at: float, half: float) -> tuple[float, float, float, float]:
    """Back, belly, half width [mm] and the widest line's share of the depth [-] in a slice; nan where it is empty."""
    part = points[np.abs(points[:, 0] - at) < half]
    if len(part) < FEWEST:
        return (np.nan,) * 4
    top, bottom = np.quantile(part[:, 2], [OUTERMOST, 1 - OUTERMOST])
    out = np.abs(part[:, 1])
    wide = float(np.quantile(out, OUTERMOST))
    height = float(np.median(part[out > 0.93 * wide, 2])) if (out > 0.93 * wide).any() else (top + bottom) / 2
    return float(top), float(bottom), wide, float((height - bottom) / max(top - bottom, 1e-6))


def standing_out(points: Array) -> Mask:
    """Which of the points (k, 3) belong to a foot or stand: below, above or at a side.

    Derived here: slices along the bait tell each outline; a foot is a stretch between two steps, out and in again.
    """
    x = points[:, 0]
    nose, tail = np.quantile(x, [0.0003, 0.9997])
    step = (tail - nose) / SLICES
    slices = np.clip(((x - nose) / max(step, 1e-12)).astype(int), 0, SLICES - 1)
    out = np.zeros(len(points), dtype=bool)
    for way in ((0.0, 0.0, -1.0), (0.0, 0.0, 1.0), (0.0, -1.0, 0.0), (0.0, 1.0, 0.0)):
        height = points @ np.array(way)
        outline = np.array([_outermost(height[slices == i]) for i in range(SLICES)])
        if not np.isfinite(outline).all():
            continue
        deep = float(np.median(outline) - np.quantile(height, 0.03))
        for first, last in _stretches(outline, max(STEEP * deep, 2 * SLOPE * step)):
            line = np.interp(x, nose + step * (np.array([first, last]) + 0.5), outline[[first, last]])
            out |= (slices > first) & (slices < last) & (height > line + LEFT_OVER * deep)
    return out


def _outermost(height: Array) -> float:
    return float(np.quantile(height, OUTLINE)) if len(height) >= 8 else np.nan


def _stretches(outline: Array, rise: float) -> list[tuple[int, int]]:
    """Slices (before, behind) of each stretch that stands between a step out and the next step in."""
    grown = outline[2:] - outline[:-2]
    found, at = [], ENDS
    while at < SLICES - ENDS - 2:
        if grown[at] > rise:
            falls = np.flatnonzero(grown[at + 1 : SLICES - ENDS - 2] < -rise)
            if len(falls) and falls[0] + 3 <= MOST_FOOT * SLICES:
                behind = at + 1 + int(falls[0])
                while behind < SLICES - ENDS - 3 and grown[behind + 1] < -rise:  # down to the foot of the step
                    behind += 1
                found.append((at, behind + 2))
                at = behind + 2
        at += 1
    return found
