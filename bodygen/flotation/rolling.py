"""Where a body that is rolled once round would come to rest: the shallow valleys of nearly round sections.

Knows the energy along the circle of rolls, at the pitch and height that are lowest for each, and along the ways between
two rests. Knows nothing of rests on end, which no roll leads to (``equilibrium.py`` looks for those).
"""

import math

import numpy as np
from numpy.typing import NDArray

from bodygen.flotation.energy_minimiser import ROUGHLY, Slope, slope, turned
from bodygen.flotation.hull import Hull
from bodygen.flotation.immersion import immerse, immerse_volume
from bodygen.form.integrals import Array

PLACES = 48  # on the circle; of a nearly round body a valley deep enough to be told is twice as wide as their distance
FIRST_STEPS = 2  # on the coarse hull, before the one on the full hull
SAMPLED = 6  # every so manieth place tells how far the coarse hull is off
SURE = 5  # times that far from rest no place is asked of the full hull
LONGEST_STEP = 0.2  # rad of pitch
STEEPEST = 1.4  # rad of pitch: nearer to upright a roll is no way
SLACK = 1e-3  # mm; a body that holds its pitch more loosely lies in no valley of the roll alone
MOST = 12  # valleys to go down from; a perfectly round body has rounding in every place


def valleys_by_rolling(
    hull: Hull,
    centre: Array,
    volume: float,
    coarse: tuple[Hull, Array, float] | None = None,
    *,
    symmetric: bool = False,
) -> Array:
    """Directions (k, 3) [-] of up beside the valleys that are crossed when the body is rolled once round.

    Derived here, as under Notes.

    Parameters
    ----------
    hull : Hull
        What pushes water aside [mm].
    centre : (3,) array
        Centre of mass, body axes [mm].
    volume : float
        Of water that weighs as much as the body [mm^3].
    coarse : (Hull, (3,) array, float), optional
        A hull of few faces with the same two: it tells pitch and height of each roll, and where the full hull, cut but
        once, need not be asked: in places so far from any rest that no error like those of the sample matters.
    symmetric : bool
        Right and left are mirror images: half the circle tells the other half.

    Notes
    -----
    With pitch p and height eliminated, E' = E_r - (K_rp / K_pp) E_p and E'' = K_rr - K_rp^2 / K_pp along the circle. A
    valley lies between two places where E' turns from falling to rising, or where Newton's step from a place stays
    within half the way to the next, which also tells one that is narrower than that.
    """
    rough, rough_centre, rough_volume = coarse or (hull, centre, volume)
    roll = 2 * np.pi * np.arange(PLACES // 2 + 1 if symmetric else PLACES) / PLACES
    pitch = np.zeros(len(roll))
    up = _up(pitch, roll)
    cut = immerse_volume(rough, up, rough_volume, tolerance=ROUGHLY)
    for left in reversed(range(FIRST_STEPS)):
        here = slope(rough, cut, rough_centre, rough_volume)
        lift = _lift(here)
        rise = -(here.firsts[:, 0] * lift + rough_volume * here.sinking) / here.area
        pitch = np.clip(pitch + lift, -STEEPEST, STEEPEST)
        height = cut.height + rise + (_up(pitch, roll) - up) @ rough.origin
        up = _up(pitch, roll)
        if left:
            cut = immerse(rough, up, height)
    told, asked = _along_the_circle(here), np.arange(len(roll))
    told[2] = 0  # the pitch is there already
    if coarse:
        sample = asked[::SAMPLED]
        guessed = told[0, sample]
        told[:, sample] = _along_the_circle(slope(hull, immerse(hull, up[sample], height[sample]), centre, volume))
        off = np.abs(told[0, sample] - guessed).max()
        doubtful = _in_doubt(told, SURE * off, symmetric=symmetric)
        doubtful[sample] = False
        asked = np.flatnonzero(doubtful)
    if len(asked):
        told[:, asked] = _along_the_circle(slope(hull, immerse(hull, up[asked], height[asked]), centre, volume))
    fall, stiff, lift = told
    pace = 2 * np.pi / PLACES
    after = _next(fall, symmetric=symmetric)
    between = np.flatnonzero((fall < 0) & (after >= 0))
    newton = -fall / np.where(stiff > 0, stiff, np.inf) / np.cos(pitch)
    beside = np.flatnonzero((stiff > 0) & (np.abs(newton) <= pace / 2))
    shift = np.concatenate([pace * fall[between] / (fall - after)[between], newton[beside]])
    place = np.concatenate([between, beside])
    return _up((pitch + lift)[place], roll[place] + shift)[:MOST]


def _along_the_circle(here: Slope) -> Array:
    """E' and E'' of the roll, and Newton's step of the pitch (3, k), as under Notes of ``valleys_by_rolling``."""
    lift = _lift(here)
    fall = here.turning[:, 1] - here.stiffness[:, 0, 1] * lift
    stiff = here.stiffness[:, 1, 1] - here.stiffness[:, 0, 1] ** 2 / np.maximum(np.abs(here.stiffness[:, 0, 0]), SLACK)
    return np.stack([fall, stiff, lift])


def _next(fall: Array, *, symmetric: bool) -> Array:
    """E' at the next place of each (k,); half a circle goes on as its mirror image."""
    return np.append(fall[1:], -fall[-2] if symmetric else fall[0])


def _in_doubt(told: Array, sure: float, *, symmetric: bool) -> NDArray[np.bool_]:
    """Places at which E' may be none, or where Newton's step is short, and those at either side of where it turns."""
    fall, stiff, _ = told
    turns = fall * _next(fall, symmetric=symmetric) <= 0
    doubtful: NDArray[np.bool_] = (np.abs(fall) <= np.maximum(sure, 2 * np.pi / PLACES * stiff)) | turns
    doubtful[1:] |= turns[:-1]
    doubtful[0] |= turns[-1]
    return doubtful


def _lift(here: Slope) -> Array:
    """Newton's step of the pitch (k,) [rad]; up leans back along x as the nose rises."""
    stiff = np.maximum(np.abs(here.stiffness[:, 0, 0]), SLACK)
    lift: Array = np.minimum(np.maximum(here.turning[:, 0] / stiff, -LONGEST_STEP), LONGEST_STEP)
    return lift


def _up(pitch: Array, roll: Array) -> Array:
    """Up (k, 3), body axes, at pitch and roll (k,) [rad]."""
    return np.stack([-np.sin(pitch), np.cos(pitch) * np.sin(roll), np.cos(pitch) * np.cos(roll)], axis=1)


def connected_without_barrier(hull: Hull, centre: Array, volume: float, a: Array, b: Array, barrier: float) -> bool:
    """Whether one rest can be turned into another without a climb: two places of one level valley, as on a spindle.

    Hull and ``centre`` [mm], ``volume`` under water [mm^3]; ``a`` and ``b`` are up (3,) at either rest [-], ``barrier``
    the climb that still counts as none, energy over weight [mm]. Derived here.
    """
    for way in (_straight_way(a, b), _rolling_way(a, b)):
        cut = immerse_volume(hull, way, volume, tolerance=1e-6)
        energy = slope(hull, cut, centre, volume).energy
        if energy.max() - max(energy[0], energy[-1]) < barrier:
            return True
    return False


def _straight_way(a: Array, b: Array) -> Array:
    """Directions (17, 3) along the great circle from ``a`` to ``b``."""
    share = np.linspace(0, 1, 17)[:, None]
    normal = np.cross(a, b)
    if np.linalg.norm(normal) < 1e-9:  # opposite: any great circle; go by the side
        normal = np.cross(a, np.eye(3)[np.argmin(np.abs(a))])
    sideways = np.cross(normal / np.linalg.norm(normal), a)
    return turned(np.repeat(a[None], 17, axis=0), share * math.acos(float(np.clip(a @ b, -1, 1))) * sideways)


def _rolling_way(a: Array, b: Array) -> Array:
    """Directions (33, 3) from ``a`` to ``b`` by rolling about x, the pitch changing evenly: a spindle's level way."""
    share = np.linspace(0, 1, 33)
    pitch = np.arcsin(np.clip([-a[0], -b[0]], -1, 1))
    roll_a, roll_b = math.atan2(a[1], a[2]), math.atan2(b[1], b[2])
    roll = roll_a + share * ((roll_b - roll_a + math.pi) % (2 * math.pi) - math.pi)
    lift = pitch[0] + share * (pitch[1] - pitch[0])
    return np.stack([-np.sin(lift), np.cos(lift) * np.sin(roll), np.cos(lift) * np.cos(roll)], axis=1)
