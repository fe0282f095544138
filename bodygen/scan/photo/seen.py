"""The parts that a photograph of the side shows, in the body's own axes: what is wire or plate, and where an eye is.

Everything here is proposed, never used: a maker looks at it. An eye lies on the near flank, above the mid-plane; wire
and lip in that plane.
"""

from math import atan2, degrees

import numpy as np

from bodygen.form.body import Array
from bodygen.scan.photo.lifted import Lifted
from bodygen.scan.photo.parts.bar import faint_bar
from bodygen.scan.photo.parts.beside import Beside, things_beside
from bodygen.scan.photo.parts.eye import round_marks
from bodygen.scan.photo.view import PhotoView
from bodygen.scan.record import Part, Proposed

HEAD, CHIN = 0.35, 0.3
"""Shares of the length within which an eye's middle is looked for, and a lip's foot."""
LIP_DEG = (12.0, 100.0)
"""How a lip may stand [deg from straight ahead, downwards]: less is a line tie, more lies along the belly."""
LIP_MM, PLATE_MM = 7.0, 1.2
"""A lip stands out at least so far, and is at least so thick [mm]."""
EVERY, STEP_DEG = 8, 2.0
"""Which places of the outline, a quarter of a pixel apart, are tried as a foot; and directions [deg]."""


def parts_seen(side: PhotoView, measured: Lifted) -> tuple[Proposed, ...]:
    """What is seen on and beside the body, from nose to tail.

    Parameters
    ----------
    side : PhotoView
        The photograph of the side.
    measured : Lifted
        Its outline where it lies.
    """
    beside = [_beside(side, measured, thing) for thing in things_beside(side.flat.found)]
    found = [*_eyes(side, measured), *beside]
    if not any(part.kind == "lip" for part in beside):
        found += _clear_lip(side, measured)
    return tuple(sorted(found, key=lambda part: part.x))


def _own(side: PhotoView, measured: Lifted, pixels: Array, height: float) -> Array:
    """Places of the flat picture (k, 2) [px] in the body's axes, at a height over the ground (k, 2) [mm]."""
    return measured.side.own(side.at_height(height, pixels=side.flat.to_picture(np.atleast_2d(pixels))))


def _axes(side: PhotoView, measured: Lifted) -> tuple[Array, Array]:
    """The flat picture's pixels as ``own @ turn + shift`` of the body's axes in the mid-plane: (2, 2), (2,)."""
    own = measured.side.own(side.at_height(measured.height))
    terms = np.column_stack([own, np.ones(len(own))])
    found = np.asarray(np.linalg.lstsq(terms, side.flat.found.outline, rcond=None)[0], dtype=float)
    return found[:2], found[2]


def _middle(measured: Lifted, x: float) -> float:
    return float(np.interp(x, measured.side.x, (measured.side.high + measured.side.low) / 2))


def _beside(side: PhotoView, measured: Lifted, thing: Beside) -> Proposed:
    """What a thing beside the outline is by its place, and, a lip, by its shape."""
    profile = measured.side
    (x, z), far = _own(side, measured, np.stack([thing.foot, thing.far]), measured.height)
    x = min(max(float(x), 0.0), profile.length)
    share, below = x / profile.length, z < _middle(measured, x)
    angle, reach = _angle(far - (x, z)), float(np.linalg.norm(far - (x, z)))
    wide = thing.width * reach / max(thing.length, 1.0)
    stands = LIP_DEG[0] < degrees(angle) < LIP_DEG[1] and reach > LIP_MM
    kind: Part = "hanger" if below else "something on the back"
    if share < CHIN and below and stands and thing.straight and wide > PLATE_MM:
        return Proposed("lip", x, float(z), reach, angle)
    if share < 0.25 and below:
        kind = "lip or line tie"
    elif share < 0.12:
        kind = "line tie"
    elif share > 0.88:
        kind = "tail hanger"
    return Proposed(kind, x, float(z))


def _angle(way: Array) -> float:
    """From straight ahead, downwards [rad].

    Examples
    --------
    >>> round(degrees(_angle(np.array([-1.0, -1.0]))))
    45
    """
    return atan2(-float(way[1]), -float(way[0]))


def _eyes(side: PhotoView, measured: Lifted) -> list[Proposed]:
    """The foremost round mark on the head, seen on the near flank."""
    found = side.flat.found
    turn, shift = _axes(side, measured)
    back = np.linalg.inv(turn)
    rows, columns = np.nonzero(found.body)
    x = (np.column_stack([columns, rows]) - shift) @ back[:, 0]
    head = np.zeros_like(found.body)
    ahead = x < HEAD * measured.side.length
    head[rows[ahead], columns[ahead]] = True
    marks = round_marks(side.flat.rgb, found.body, head)
    eyes = []
    for mark in marks:
        edge = mark.centre + mark.radius * np.array([(-1.0, 0.0), (1.0, 0.0), (0.0, 0.0)])
        over = 0.0
        for _ in range(3):
            left, right, (at, z) = _own(side, measured, edge, measured.height + over)
            over = _flank(measured, float(at), float(z))
        eyes.append(Proposed("eye", float(at), float(z), float(np.linalg.norm(right - left)), over=over))
    return sorted(eyes, key=lambda eye: eye.x)[:1]


def _flank(measured: Lifted, x: float, z: float) -> float:
    """How far the near flank lies over the mid-plane [mm], of a section that is an ellipse."""
    profile = measured.side
    high, low, half = (float(np.interp(x, profile.x, v)) for v in (profile.high, profile.low, measured.half))
    share = (z - (high + low) / 2) / max((high - low) / 2, 1e-6)
    return half * float(np.sqrt(max(1 - share**2, 0.0)))


def _clear_lip(side: PhotoView, measured: Lifted) -> list[Proposed]:
    """A lip that is the ground a little lighter or darker, seen on its edge."""
    found, profile = side.flat.found, measured.side
    own = profile.own(side.at_height(measured.height))
    middle = np.interp(own[:, 0], profile.x, (profile.high + profile.low) / 2)
    chin = (own[:, 0] < CHIN * profile.length) & (own[:, 1] < middle)
    turn, _ = _axes(side, measured)
    angles = np.radians(np.arange(LIP_DEG[0], LIP_DEG[1], STEP_DEG))
    ways = np.column_stack([-np.cos(angles), -np.sin(angles)]) @ turn
    ways /= np.linalg.norm(ways, axis=1, keepdims=True)
    feet = found.outline[chin][::EVERY]
    bar = faint_bar(found.light, feet, ways, found.body, found.body | found.beside) if len(feet) else None
    if bar is None:
        return []
    ends = np.stack([bar.foot, bar.foot + bar.length * bar.way])
    (x, z), far = _own(side, measured, ends, measured.height)
    way = far - (x, z)
    return [Proposed("clear lip", max(float(x), 0.0), float(z), float(np.linalg.norm(way)), _angle(way))]
