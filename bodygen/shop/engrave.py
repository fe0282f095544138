"""Letters cut into a jig: strokes on a small grid, made a flat shape and sunk into a face.

Knows capital letters, digits and the signs of drill names. Knows nothing of what the words mean.
"""

from collections.abc import Sequence
from itertools import pairwise

import manifold3d
import numpy as np

from bodygen.form.integrals import Array

ADVANCE, TALL, LINE = 5.6, 6.0, 8.2
"""Grid units from letter to letter, a letter's height, and from line to line; a letter is 4 units wide."""
STROKE = 0.9
"""Width of a stroke in grid units: 0.6 mm on a letter 4 mm high, which a 0.4 mm nozzle still shows."""
ROUND = 12
"""Sides of a stroke's rounded end."""

# Polylines, two digits a point: x 0 to 4, y 0 to 6.
STROKES = {
    "0": "010516364541301001",
    "1": "142620 1030",
    "2": "05163645440040",
    "3": "064624344341301001",
    "4": "30360242",
    "5": "460604344341301001",
    "6": "4536160501103041423303",
    "7": "064610",
    "8": "13040516364544331302011030414233",
    "9": "0110304145361605041343",
    "A": "002640 1232",
    "B": "00063645443303 3342413000",
    "C": "4536160501103041",
    "D": "00062644422000",
    "E": "40000646 0333",
    "F": "000646 0333",
    "G": "45361605011030414323",
    "H": "0006 4046 0343",
    "I": "1030 2026 1636",
    "J": "4641301001",
    "K": "0006 460340",
    "L": "060040",
    "M": "0006234640",
    "N": "00064046",
    "O": "010516364541301001",
    "P": "00063645443303",
    "Q": "010516364541301001 2240",
    "R": "00063645443303 2340",
    "S": "453616050413334241301001",
    "T": "0646 2620",
    "U": "060110304146",
    "V": "062046",
    "W": "0610233046",
    "X": "0046 0640",
    "Y": "062346 2320",
    "Z": "06460040",
    "/": "0046",
    ".": "2020",
    "-": "0343",
    "#": "1016 3036 0242 0444",
}


def words_size(lines: Sequence[str], height: float) -> tuple[float, float]:
    """Width and height [mm] that lines of words take up, in letters of ``height`` [mm], with their strokes.

    Examples
    --------
    >>> words_size(["1/4", "25.4"], 4.0)
    (14.5, 10.1)
    """
    unit = height / TALL
    longest = max(len(line) for line in lines)
    return (longest * ADVANCE - ADVANCE + 4 + STROKE) * unit, ((len(lines) - 1) * LINE + TALL + STROKE) * unit


def words(lines: Sequence[str], height: float) -> manifold3d.CrossSection:
    """Lines of words, the middle of all at the origin, as a shape [mm]; a letter without strokes is a gap."""
    unit = height / TALL
    strokes = []
    for row, line in enumerate(lines):
        up = ((len(lines) - 1) / 2 - row) * LINE - TALL / 2
        left = -(len(line) * ADVANCE - ADVANCE + 4) / 2
        for column, letter in enumerate(line.upper()):
            for chain in STROKES.get(letter, "").split():
                points = [
                    (left + column * ADVANCE + int(x), up + int(y))
                    for x, y in zip(chain[::2], chain[1::2], strict=True)
                ]
                strokes += [_stroke(a, b) for a, b in pairwise(points)]
    if not strokes:
        return manifold3d.CrossSection()
    return manifold3d.CrossSection.batch_boolean(strokes, manifold3d.OpType.Add).scale((unit, unit))


def _stroke(start: tuple[float, float], end: tuple[float, float]) -> manifold3d.CrossSection:
    dot = manifold3d.CrossSection.circle(STROKE / 2, ROUND)
    return manifold3d.CrossSection.batch_hull([dot.translate(start), dot.translate(end)])


def sunk(shape: manifold3d.CrossSection, middle: Array, right: Array, up: Array, depth: float) -> manifold3d.Manifold:
    """What to cut away so that a shape is sunk into a face.

    Parameters
    ----------
    middle, right, up : (3,) arrays
        Where the shape's origin lies on the face [mm]; unit vectors of its two axes, seen from outside.
    depth : float
        [mm]
    """
    outwards = np.cross(right, up)
    return shape.extrude(depth + 1.0).transform(np.stack([right, up, outwards, middle - depth * outwards], axis=1))
