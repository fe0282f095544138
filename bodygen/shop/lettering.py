"""Where words go on a drawing so that they can be read: beside what they name, off lines and off each other.

Knows boxes and lines. Knows nothing of what is drawn.
"""

from collections.abc import Callable, Iterable, Sequence
from math import ceil, cos, pi, sin

import numpy as np
from numpy.typing import NDArray

from bodygen.shop.plane import Box, Item, Line, Piece, Point, Text, box_of, corners

Array = NDArray[np.float64]
_STEP_MM, _SAG_MM = 0.4, 0.05
_AIR_MM = 0.4
"""Least gap between two labels, and between a label and a line where there is room."""


def label_box(text: Text) -> Box:
    """Room that a label takes, by its estimated width [mm]."""
    return box_of(corners(text))


def line_points(items: Iterable[Item]) -> Array:
    """Points on every line of a drawing, near enough to tell whether a label lies on it: (k, 2) [mm]."""
    points: list[Point] = []
    for item in items:
        if isinstance(item, Text):
            continue
        chain = item.points(_SAG_MM)
        closed = not isinstance(item, Piece)
        for a, b in zip(chain, (*chain[1:], chain[0]) if closed else chain[1:], strict=False):
            count = max(1, ceil(Line(a, b).length / _STEP_MM)) if a != b else 1
            points += [(a[0] + (b[0] - a[0]) * i / count, a[1] + (b[1] - a[1]) * i / count) for i in range(count + 1)]
    return np.array(points).reshape(-1, 2)


def overlap(first: Box, second: Box, air: float = _AIR_MM) -> bool:
    """Whether two boxes lie nearer to each other than ``air`` [mm]."""
    return (
        first[0] < second[2] + air
        and second[0] < first[2] + air
        and first[1] < second[3] + air
        and second[1] < first[3] + air
    )


def beside_mark(
    label: str,
    at: Point,
    reach: float,
    height: float,
    boxes: Sequence[Box],
    lines: Array,
    allowed: Callable[[Box], bool] = lambda _: True,
) -> Text | None:
    """Letter a mark: as near as can be, clear of other labels and of as many lines as can be.

    Parameters
    ----------
    label : str
    at : Point
        Middle of the mark [mm].
    reach, height : float
        Radius to keep off, and height of a capital [mm].
    boxes : sequence of Box
        Room of the labels that stand already.
    lines : (k, 2) array
        As ``line_points`` gives them.
    allowed : callable
        Whether a label may have this box.

    Returns
    -------
    Text or None
        None where every place is taken or not allowed.
    """
    options = []
    for ring in range(8):
        for step in range(16):
            angle, away = pi / 4 + step * pi / 8, reach + 0.9 * height + ring * 1.0
            text = Text(label, (at[0] + away * cos(angle), at[1] + away * sin(angle)), height, "middle")
            crowd = crowding(label_box(text), boxes, lines)
            if crowd < 1000 and allowed(label_box(text)):
                options.append((crowd + ring, ring, step, text))
    return min(options, key=lambda option: option[:3])[3] if options else None


def crowding(box: Box, boxes: Sequence[Box], lines: Array) -> float:
    """How badly a label would lie in this box: labels under it count a thousand, points of lines one each [-]."""
    under = sum(overlap(box, other) for other in boxes)
    if not len(lines):
        return 1000.0 * under
    x, y = lines[:, 0], lines[:, 1]
    a = _AIR_MM
    on = (x > box[0] - a) & (x < box[2] + a) & (y > box[1] - a) & (y < box[3] + a)
    return 1000.0 * under + float(on.sum())


def roomiest(
    width: float, height: float, frames: Sequence[Box], boxes: Sequence[Box], lines: Array
) -> tuple[Point, float]:
    """Where a box of this size [mm] lies least crowded in one of the frames: its lower left corner, and how crowded."""
    best: tuple[float, Point] | None = None
    for x0, y0, x1, y1 in frames:
        for x in np.arange(x0 + 1.0, x1 - width - 0.99, 1.0):
            for y in np.arange(y0 + 1.0, y1 - height - 0.99, 0.5):
                score = crowding((x, y, x + width, y + height), boxes, lines)
                if best is None or score < best[0]:
                    best = score, (float(x), float(y))
    if best is None:
        x0, y0, _, _ = frames[0]
        return (x0, y0), 1e9
    return best[1], best[0]


def spread(wanted: Sequence[float], step: float) -> list[float]:
    """Move rising places on a line as little as possible until all are ``step`` apart [mm].

    Least squares by pooling neighbours (isotonic regression, exact).

    Examples
    --------
    >>> spread([0.0, 1.0, 9.0], 2.0)
    [-0.5, 1.5, 9.0]
    """
    pools: list[tuple[float, int]] = []
    for i, place in enumerate(wanted):
        pool = place - i * step, 1
        while pools and pools[-1][0] > pool[0]:
            mean, count = pools.pop()
            pool = (mean * count + pool[0] * pool[1]) / (count + pool[1]), count + pool[1]
        pools.append(pool)
    means = [mean for mean, count in pools for _ in range(count)]
    return [mean + i * step for i, mean in enumerate(means)]
