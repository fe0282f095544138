"""Round marks on the head of a silhouette: where an eye is seen, and how large. Knows pixels of a flat picture.

Derived here: round a mark the colour just inside differs from that just outside in the same way on all sides; of a bar,
of a belly's edge or of a scale that holds on two sides only.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bodygen.form.body import Array
from bodygen.scan.photo.outline.light import Light, linear_light, sampled
from bodygen.scan.photo.outline.silhouette import PER_MM

SMALLEST_MM, LARGEST_MM = 1.2, 6.0
"""Radii that are looked for [mm]."""
COARSE_PX, ANGLES = 2.0, 36
"""How far apart centres are tried first [px], and how many rays each circle is seen by."""
INSIDE, OUTSIDE = 0.85, 1.18
"""Where inside and outside are looked at, as shares of the radius."""
LEAST_CONTRAST, ALIKE, MAYBE, ROUND = 0.25, 0.5, 0.6, 0.92
"""Least difference [logarithm of light]; on what share of the rays half of it is there: at first, and in the end.

Of drawn baits an eye has 0.97 and more, the end of a bar up to 0.84.
"""
MOST = 3


@dataclass(frozen=True, slots=True, eq=False)
class RoundMark:
    """A round mark: its ``centre`` (2,) and ``radius`` [px of the flat picture], and the share that is round [-]."""

    centre: Array
    radius: float
    share: float


def round_marks(rgb: NDArray[np.uint8], body: NDArray[np.bool_], head: NDArray[np.bool_]) -> list[RoundMark]:
    """Round marks on a body, the clearest first.

    Parameters
    ----------
    rgb : (h, w, 3) array
        The flat picture, sRGB.
    body, head : (h, w) array
        Where the body is; where a mark's middle is looked for.
    """
    import cv2

    logs = np.log(linear_light(rgb) + 0.01).astype(np.float32)
    light = np.asarray(cv2.GaussianBlur(logs, (0, 0), 0.8), dtype=np.float32)
    deep = cv2.distanceTransform(body.astype(np.uint8), cv2.DIST_L2, 5)
    step = int(COARSE_PX)
    rows, columns = np.nonzero(head[::step, ::step] & (deep[::step, ::step] > OUTSIDE * SMALLEST_MM * PER_MM))
    centres = np.column_stack([columns, rows]).astype(float) * step
    found: list[RoundMark] = []
    if not len(centres):
        return found
    room = deep[centres[:, 1].astype(int), centres[:, 0].astype(int)]
    for radius in np.arange(SMALLEST_MM, LARGEST_MM, 0.3) * PER_MM:
        fits = room > OUTSIDE * radius
        if fits.any():
            share = _roundness(light, centres[fits], radius)
            found += [
                RoundMark(centre, float(radius), float(value))
                for centre, value in zip(centres[fits], share, strict=True)
                if value > MAYBE
            ]
    fine = [_refined(light, mark) for mark in _apart(found)[: 3 * MOST]]
    return _apart([mark for mark in fine if mark.share >= ROUND])[:MOST]


def _roundness(light: Light, centres: Array, radius: float) -> Array:
    """On what share of the rays (n,) the colour changes at a circle in the way it does on the mean."""
    turn = np.linspace(0, 2 * np.pi, ANGLES, endpoint=False)
    rays = np.column_stack([np.cos(turn), np.sin(turn)])
    inside, outside = (sampled(light, centres[:, None] + share * radius * rays) for share in (INSIDE, OUTSIDE))
    off = inside - outside
    mean = off.mean(axis=1)
    size = np.linalg.norm(mean, axis=1)
    along = (off * mean[:, None]).sum(axis=2) / np.maximum(size, 1e-6)[:, None]
    share = (along > ALIKE * size[:, None]).mean(axis=1)
    return np.asarray(np.where(size > LEAST_CONTRAST, share, 0.0))


def _refined(light: Light, mark: RoundMark) -> RoundMark:
    """The same to half a pixel: the middle of all circles near by that are as round as the best."""
    moves = np.stack(np.meshgrid(np.arange(-3, 3.5), np.arange(-3, 3.5)), axis=-1).reshape(-1, 2)
    centres, found = mark.centre + moves, []
    for radius in np.arange(mark.radius - 4, mark.radius + 4.5, 0.5):
        if radius >= SMALLEST_MM * PER_MM:
            share = _roundness(light, centres, radius)
            found += [(value, radius, *centre) for value, centre in zip(share, centres, strict=True)]
    table = np.array(found)
    best = table[table[:, 0] >= table[:, 0].max() - 0.02]
    middle = np.median(best, axis=0)
    return RoundMark(middle[2:], float(middle[1]), float(table[:, 0].max()))


def _apart(marks: list[RoundMark]) -> list[RoundMark]:
    """The roundest of those that lie over each other; of rings about one middle the largest that is round."""
    left = sorted(marks, key=lambda m: (-round(min(m.share, 0.85), 1), -m.radius, -m.share))
    kept: list[RoundMark] = []
    for mark in left:
        if all(np.linalg.norm(mark.centre - other.centre) > max(mark.radius, other.radius) for other in kept):
            kept.append(mark)
    return kept
