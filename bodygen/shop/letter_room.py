"""Lettering within a shape that is cut out: clear of its edges and of what is marked on it, as tall as there is room.

Knows shapes and words. Knows no film.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import product
from math import ceil, pi

import manifold3d
import numpy as np

from bodygen.shop.lettering import label_box
from bodygen.shop.plane import Line, Point, Text, box_of, corners

APART_MM, HAIR_MM = 0.8, 0.1
"""How near to each other points of a label's rim are asked for room; how wide a marked line is."""


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
    room = (shape - _boxes(mark.extremes() for mark in marks)).offset(-edge, manifold3d.JoinType.Round)
    found: list[Text] = []
    for label in wanted:
        options = product(label.words, heights, (0.0, pi / 2) if label.upright else (0.0,))
        texts = (_where_it_fits(word, height, angle, room) for word, height, angle in options)
        text = next((text for text in texts if text), None)
        if text:
            found.append(text)
            room -= _boxes([corners(text)]).offset(edge, manifold3d.JoinType.Miter)
    return tuple(found)


def _boxes(spans: Iterable[Sequence[Point]]) -> manifold3d.CrossSection:
    """The boxes around these points, each a hair wide at least."""
    rooms = [manifold3d.CrossSection()]
    for x0, y0, x1, y1 in map(box_of, spans):
        square = manifold3d.CrossSection.square((x1 - x0 + HAIR_MM, y1 - y0 + HAIR_MM))
        rooms.append(square.translate((x0 - HAIR_MM / 2, y0 - HAIR_MM / 2)))
    return manifold3d.CrossSection.batch_boolean(rooms, manifold3d.OpType.Add)


def _where_it_fits(label: str, height: float, angle: float, room: manifold3d.CrossSection) -> Text | None:
    """The lettering in the room, nearest to the middle of the room's box."""
    x0, y0, x1, y1 = label_box(Text(label, (0.0, 0.0), height, "centre", angle))
    u, v = (np.linspace(low, high, ceil((high - low) / APART_MM) + 1) for low, high in ((x0, x1), (y0, y1)))
    rim = [(x, y) for x in u for y in (y0, y1)] + [(x, y) for x in (x0, x1) for y in v]
    # the anchor may lie where every point of the box's rim is in the room
    free = manifold3d.CrossSection.batch_boolean(
        [room.translate((-float(x), -float(y))) for x, y in rim], manifold3d.OpType.Intersect
    )
    if free.is_empty():
        return None
    points = np.concatenate(free.to_polygons())
    middle = np.array(room.bounds()).reshape(2, 2).mean(axis=0) - ((x0 + x1) / 2, (y0 + y1) / 2)
    x, y = points[np.argmin(np.linalg.norm(points - middle, axis=1))]
    return Text(label, (float(x), float(y)), height, "centre", angle)
