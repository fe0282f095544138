"""Where words go on a drawing so that they can be read: beside what they name, off lines and off each other.

Also within a shape that is cut out, clear of its edges and of what is marked on it, as tall as there is room.

Knows boxes, lines and shapes. Knows nothing of what is drawn.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from itertools import product
from math import ceil, cos, pi, sin

import manifold3d
import numpy as np
from numpy.typing import NDArray

from bodygen.plane.shapes import Box, Item, Line, Piece, Point, Text, box_of, corners

Array = NDArray[np.float64]
_STEP_MM, _SAG_MM = 0.4, 0.05
AIR_MM = 0.4
"""Least gap between two labels, and between a label and a line where there is room."""
APART_MM, HAIR_MM = 0.8, 0.1
"""How near to each other points of a label's rim are asked for room; how wide a marked line is."""


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


def overlap(first: Box, second: Box, air: float = AIR_MM) -> bool:
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
    a = AIR_MM
    on = (x > box[0] - a) & (x < box[2] + a) & (y > box[1] - a) & (y < box[3] + a)
    return 1000.0 * under + float(on.sum())


def least_crowded(
    width: float, height: float, frames: Sequence[Box], boxes: Sequence[Box], lines: Array
) -> tuple[Point, float]:
    """Where a box of this size [mm] lies least crowded in one of the frames: its lower left corner, and how crowded."""
    best: tuple[float, Point] | None = None
    for x0, y0, x1, y1 in frames:
        y = np.arange(y0 + 1.0, y1 - height - 0.99, 0.5)
        for x in np.arange(x0 + 1.0, x1 - width - 0.99, 1.0).tolist():
            score = _crowding_above(x, y, width, height, boxes, lines)
            least = int(np.argmin(score)) if len(y) else 0
            if len(y) and (best is None or score[least] < best[0]):
                best = float(score[least]), (x, float(y[least]))
    if best is None:
        x0, y0, _, _ = frames[0]
        return (x0, y0), 1e9
    return best[1], best[0]


def _crowding_above(x: float, y: Array, width: float, height: float, boxes: Sequence[Box], lines: Array) -> Array:
    """How badly a label of this size would lie with its lower left corner at each of these places above each other."""
    a = AIR_MM
    score = np.zeros(len(y))
    for left, low, right, high in boxes:
        if x < right + a and left < x + width + a:
            score += 1000.0 * ((y < high + a) & (low < y + height + a))
    if len(lines):
        rising = np.sort(lines[(lines[:, 0] > x - a) & (lines[:, 0] < x + width + a), 1])
        score += np.searchsorted(rising, y + height + a) - np.searchsorted(rising, y - a, side="right")
    return score


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


@dataclass(frozen=True, slots=True)
class Wanted:
    """One label: its words, or shorter ones where these have no room; whether it may stand upright too."""

    words: tuple[str, ...]
    upright: bool = True


def lettered_within(
    shape: manifold3d.CrossSection,
    marks: Sequence[Line],
    wanted: Sequence[Wanted],
    heights: Sequence[float],
    edge: float,
) -> tuple[Text, ...]:
    """Place labels in a shape, each in the first of the heights that fits; one without room is left out.

    Parameters
    ----------
    shape : CrossSection
        [mm]
    marks : sequence of Line
        Straight lines, level or upright, that no label lies on.
    wanted : sequence of Wanted
        The most needed first.
    heights : sequence of float
        Of a capital, the best first [mm].
    edge : float
        Least distance to edges, marks and each other [mm].
    """
    free = (shape - _boxes(mark.extremes() for mark in marks)).offset(-edge, manifold3d.JoinType.Round)
    found: list[Text] = []
    for label in wanted:
        options = product(label.words, heights, (0.0, pi / 2) if label.upright else (0.0,))
        texts = (_where_it_fits(word, height, angle, free) for word, height, angle in options)
        text = next((text for text in texts if text), None)
        if text:
            found.append(text)
            free -= _boxes([corners(text)]).offset(edge, manifold3d.JoinType.Miter)
    return tuple(found)


def _boxes(spans: Iterable[Sequence[Point]]) -> manifold3d.CrossSection:
    """The boxes around these points, each a hair wide at least."""
    rooms = [manifold3d.CrossSection()]
    for x0, y0, x1, y1 in map(box_of, spans):
        square = manifold3d.CrossSection.square((x1 - x0 + HAIR_MM, y1 - y0 + HAIR_MM))
        rooms.append(square.translate((x0 - HAIR_MM / 2, y0 - HAIR_MM / 2)))
    return manifold3d.CrossSection.batch_boolean(rooms, manifold3d.OpType.Add)


def _where_it_fits(label: str, height: float, angle: float, free: manifold3d.CrossSection) -> Text | None:
    """The lettering in the room, nearest to the middle of the room's box."""
    x0, y0, x1, y1 = label_box(Text(label, (0.0, 0.0), height, "centre", angle))
    left, low, right, high = free.bounds()
    if free.is_empty() or x1 - x0 > right - left or y1 - y0 > high - low:
        return None
    u, v = (np.linspace(low, high, ceil((high - low) / APART_MM) + 1) for low, high in ((x0, x1), (y0, y1)))
    rim = [(x, y) for x in u for y in (y0, y1)] + [(x, y) for x in (x0, x1) for y in v]
    # the anchor may lie where every point of the box's rim is in the room
    free = manifold3d.CrossSection.batch_boolean(
        [free.translate((-float(x), -float(y))) for x, y in rim], manifold3d.OpType.Intersect
    )
    if free.is_empty():
        return None
    points = np.concatenate(free.to_polygons())
    middle = np.array(free.bounds()).reshape(2, 2).mean(axis=0) - ((x0 + x1) / 2, (y0 + y1) / 2)
    x, y = points[np.argmin(np.linalg.norm(points - middle, axis=1))]
    return Text(label, (float(x), float(y)), height, "centre", angle)
