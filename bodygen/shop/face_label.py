"""Lettering on a jig's flat outer face: sunk where there is room, as near as may be to where it is wanted.

Knows faces and words. Knows nothing of what the words mean.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

import manifold3d
import numpy as np
from numpy.typing import NDArray

from bodygen.form.integrals import Array
from bodygen.shop.engrave import sunk, words, words_size
from bodygen.shop.thin import free_face

SMALLER_MM = 0.2
CELL_MM = 0.25
"""Of the grid on which places are tried."""


@dataclass(frozen=True, slots=True, eq=False)
class Face:
    """An outer face of a jig: a point on it [mm], its right and up as unit vectors, seen from outside."""

    origin: Array
    right: Array
    up: Array


@dataclass(frozen=True, slots=True)
class FaceLabel:
    """Lines to sink, and where along the face's right they are wanted [mm]: no farther off than ``within``."""

    lines: tuple[str, ...]
    near: float
    within: float


@dataclass(frozen=True, slots=True)
class Letters:
    """How large letters are and how deep they are sunk; the ``wall`` that stays around and under them [mm]."""

    height: float
    least: float
    depth: float
    wall: float


def letters_on(
    solid: manifold3d.Manifold, faces: Sequence[Face], wanted: Sequence[FaceLabel], letters: Letters
) -> tuple[list[manifold3d.Manifold], tuple[FaceLabel, ...]]:
    """What to cut away so that labels are sunk, each into the first face that has room for it.

    Parameters
    ----------
    solid : Manifold
        The jig [mm].
    faces : sequence of Face
        Tried in turn.
    wanted : sequence of FaceLabel
        The first have the first choice.
    letters : Letters
        As large as may be between their two heights.

    Returns
    -------
    tools : list of Manifold
        Nothing is cut yet: whoever letters several faces does that once.
    left : tuple of FaceLabel
        What found no room, in the order asked.
    """
    free_faces = [free_face(solid, f.origin, f.right, f.up, letters.depth, letters.wall) for f in faces]
    tools, left = [], []
    for label in wanted:
        for number, face in enumerate(faces):
            found = place_in(free_faces[number], label, letters)
            if found is None:
                continue
            (u, v), height = found
            middle = face.origin + (u - face.right @ face.origin) * face.right + (v - face.up @ face.origin) * face.up
            tools.append(sunk(words(label.lines, height), middle, face.right, face.up, letters.depth))
            wide, tall = words_size(label.lines, height)
            gap = max(letters.wall, height)  # a letter's room, so that two labels do not read as one
            taken = manifold3d.CrossSection.square((wide + 2 * gap, tall + 2 * letters.wall), center=True)
            free_faces[number] -= taken.translate((u, v))
            break
        else:
            left.append(label)
    return tools, tuple(left)


def place_in(
    free: manifold3d.CrossSection, label: FaceLabel, letters: Letters
) -> tuple[tuple[float, float], float] | None:
    """Where in a flat room a label fits, its middle, and how tall its letters are then [mm]; None where it does not."""
    if free.is_empty():
        return None
    x0, y0, _, y1 = free.bounds()
    filled = _raster(free)
    total = np.pad(filled.cumsum(axis=0).cumsum(axis=1), ((1, 0), (1, 0)))
    for height in np.arange(letters.height, letters.least - 1e-9, -SMALLER_MM).round(6):
        wide, tall = words_size(label.lines, float(height))
        w, t = ceil(wide / CELL_MM) + 1, ceil(tall / CELL_MM) + 1
        if t > filled.shape[0] or w > filled.shape[1]:
            continue
        held = total[t:, w:] - total[:-t, w:] - total[t:, :-w] + total[:-t, :-w]
        v, u = np.nonzero(held == t * w)
        right, up = x0 + (u + w / 2) * CELL_MM, y0 + (v + t / 2) * CELL_MM
        off = np.abs(right - label.near)
        off[off > label.within] = np.inf
        if len(off) and np.isfinite(off).any():
            best = int(np.lexsort((np.abs(up - (y0 + y1) / 2), np.round(off, 6)))[0])
            return (float(right[best]), float(up[best])), float(height)
    return None


def _raster(free: manifold3d.CrossSection) -> NDArray[np.int64]:
    """Cells of a grid over a shape's box: 1 where the middle lies in it, rows upwards."""
    x0, y0, x1, y1 = free.bounds()
    rows, columns = max(1, int((y1 - y0) / CELL_MM)), max(1, int((x1 - x0) / CELL_MM))
    start = np.concatenate(free.to_polygons())
    end = np.concatenate([np.roll(ring, -1, axis=0) for ring in free.to_polygons()])
    x = x0 + (np.arange(columns) + 0.5) * CELL_MM
    cells = np.zeros((rows, columns), dtype=np.int64)
    for row in range(rows):
        y = y0 + (row + 0.5) * CELL_MM
        crossed = (start[:, 1] <= y) != (end[:, 1] <= y)
        a, b = start[crossed], end[crossed]
        at = np.sort(a[:, 0] + (b[:, 0] - a[:, 0]) * (y - a[:, 1]) / (b[:, 1] - a[:, 1]))
        cells[row] = (len(at) - np.searchsorted(at, x, side="right")) % 2
    return cells
