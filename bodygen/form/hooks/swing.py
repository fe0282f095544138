"""What trebles sweep, as each turns about its shank and swings from its eye: whether points reach what they may not.

Knows trebles and places. Knows neither body nor water.
"""

from dataclasses import replace

import numpy as np

from bodygen.form.hooks.treble import Treble
from bodygen.form.integrals import Array

LEVELS = 40
"""Along the cup of a treble that are looked at."""
STEP_MM = 0.5
"""Between the spacings that are looked at; the least is then halved down to rounding."""
AROUND = 48
"""Places that the points of a turning treble are looked at in."""


def meet(a: Treble, b: Treble, along: Array) -> bool:
    """Whether points of one can catch the other, both pulled straight one way ``along`` (3,) [-] and free to turn.

    Derived here: the shanks are parallel; any part of one within the cup of the other, from the level of its points
    down to its bend, is caught.

    Examples
    --------
    >>> hook = Treble("#8", 0, (0.0, 0.0, 0.0), 5.0, 3.0, 16.0, 1.0, 6.0)   # points turn in a circle of radius 7.077
    >>> [meet(hook, replace(hook, at=(x, 0.0, 0.0)), np.array([0.0, 0.0, -1.0])) for x in (15.1, 15.2)]
    [True, False]
    """
    between = np.array(b.at) - np.array(a.at)
    ahead = float(between @ along)
    beside = float(np.linalg.norm(between - ahead * along))
    return _into(a, b, ahead, beside) or _into(b, a, -ahead, beside)


def _into(a: Treble, b: Treble, ahead: float, beside: float) -> bool:
    """Whether a part of ``b``, its eye so far ahead along the shank and beside it [mm], lies in the cup of ``a``."""
    ends = np.array([0.0, b.chain, b.points_down, b.down]) + ahead
    levels = np.linspace(a.points_down, a.down, LEVELS)
    levels = np.append(levels, ends[(ends >= a.points_down) & (ends <= a.down)])
    wide = b.turned(levels - ahead)
    return bool(np.any((wide > 0) & (beside < a.turned(levels) - a.wire + wide)))


def swung(a: Treble, b: Treble) -> float:
    """How far apart two eyes must be [mm] so that no swing brings points of one to the other.

    Derived here: two balls; head on, bends that touch each other do not catch.
    """
    return max(a.points_reach + b.reach, b.points_reach + a.reach)


def least_spacing(a: Treble, b: Treble, ways: tuple[Array, ...]) -> float:
    """How far apart along the body two eyes must be [mm], heights as they are, so that they meet one way no more.

    At least as far as they are; the hind one is moved aft.
    """
    front, hind = sorted((a, b), key=lambda hook: hook.at[0])
    x, y, z = hind.at

    def tangled(further: float) -> bool:
        moved = replace(hind, at=(x + further, y, z))
        return any(meet(front, moved, along) for along in ways)

    far = 0.0
    while tangled(far):
        far += STEP_MM
    near = max(far - STEP_MM, 0.0)
    while far - near > 1e-6 and far > 0:
        middle = (near + far) / 2
        near, far = (middle, far) if tangled(middle) else (near, middle)
    return x - front.at[0] + far


def caught(hook: Treble, along: Array, places: Array, margin: float = 0.0) -> bool:
    """Whether any of (k, 3) places [mm] lies in the cup of a treble as it turns, pulled straight one way.

    ``margin``: how far the thing reaches around each place [mm].
    """
    away = places - np.array(hook.at)
    level = away @ along
    beside = np.linalg.norm(away - level[:, None] * along, axis=1)
    wide = hook.turned(level)
    return bool(np.any((wide > 0) & (level >= hook.points_down) & (beside < wide + margin)))


def clear_of(hook: Treble, places: Array, margin: float = 0.0) -> float:
    """How far the nearest of (k, 3) places, each so thick around, is from a hook's eye [mm].

    Nearer than ``points_reach``, some swing brings its points there. Elementary.
    """
    return float(np.linalg.norm(places - np.array(hook.at), axis=1).min(initial=np.inf)) - margin


def points_circle(hook: Treble, along: Array) -> Array:
    """Where the points of a treble come to as it turns, pulled straight one way (n, 3) [mm]."""
    side = np.cross(along, np.eye(3)[np.argmin(np.abs(along))])
    side /= np.linalg.norm(side)
    turn = np.linspace(0, 2 * np.pi, AROUND, endpoint=False)[:, None]
    off = np.cos(turn) * side + np.sin(turn) * np.cross(along, side)
    return np.asarray(np.array(hook.at) + hook.points_down * along + hook.points_out * off)
