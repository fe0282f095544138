"""What a goal asks of the bait's whole weight and of where it acts: the target, before any bore is thought of.

Knows a hull, water and a goal. Knows nothing of bores and metals. What pushes water aside does not depend on the
ballast inside, so a mass and an attitude fix the centre of buoyancy, and with it the moment that the weight must have.
"""

from dataclasses import dataclass, replace
from math import cos, radians, sin

import numpy as np

from bodygen import tables
from bodygen.ballast.drag import Drag, lift_at
from bodygen.errors import DesignError
from bodygen.flotation.hull import Hull
from bodygen.flotation.immersion import centre_of_buoyancy, horizontal_axes, immerse, immerse_volume
from bodygen.flotation.water import density
from bodygen.form.integrals import Array
from bodygen.recipe.model import Goal, Water, Waterline
from bodygen.weights.item import MM3_PER_CM3

SAMPLES, MASSES = 61, 31
STEEPEST = radians(75)
"""Attitudes that a search for a waterline looks through [rad]; a bait on its nose has none at a station."""


@dataclass(frozen=True, slots=True, eq=False)
class Target:
    """Targets that all serve the goal, k of them on a line (one where the goal fixes everything).

    ``mass`` (k,) [g]; ``along`` (k, 3) the horizontal projection of x [-] and ``moment`` (k,) [g mm] the weight's first
    moment on it that balances; both None where only the mass is asked for.
    """

    mass: Array
    along: Array | None = None
    moment: Array | None = None


def water_of(goal: Goal, water: Water) -> Water:
    """The water that the goal is about: the recipe's, at the goal's temperature [degC] if it names one.

    Examples
    --------
    >>> water_of(Goal(suspends_at=10.0), Water(density_g_cm3=1.02))
    Water(temperature=10.0, salinity=0.0, density_g_cm3=None)
    """
    if goal.suspends_at is None:
        return water
    return replace(water, temperature=goal.suspends_at, density_g_cm3=None)


def asks_for_a_figure(goal: Goal) -> bool:
    """Whether a goal names anything to reach, besides what the bait is called."""
    wishes = (goal.reserve, goal.suspends_at, goal.sinks_at, goal.rises_at, goal.pitch, goal.waterline)
    return goal.state == "suspends" or any(wish is not None for wish in wishes)


def reserve_of(goal: Goal, drag: Drag | None, water_g_cm3: float) -> float | None:
    """Reserve that the goal asks for [g]; None where it leaves the lift free. ``drag`` is needed for a speed alone.

    Elementary: no lift is left of what suspends, and at a steady speed the lift is the drag.

    Raises
    ------
    DesignError
        "floats" or "sinks" without a figure.

    Examples
    --------
    >>> reserve_of(Goal(reserve=0.5), None, 1.0), reserve_of(Goal(state="suspends"), None, 1.0)
    (0.5, 0.0)
    """
    if goal.reserve is not None:
        return goal.reserve
    if goal.suspends_at is not None or goal.state == "suspends":
        return 0.0
    if goal.sinks_at is not None:
        assert drag is not None  # noqa: S101  the caller's condition
        return -lift_at(goal.sinks_at, drag, water_g_cm3)
    if goal.rises_at is not None:
        assert drag is not None  # noqa: S101  the caller's condition
        return lift_at(goal.rises_at, drag, water_g_cm3)
    if not asks_for_a_figure(goal):
        keys = "reserve, suspends_at, sinks_at, rises_at, pitch or waterline"
        msg = f"the goal names no figure to aim at: say {keys}, in [goal] or on the command line."
        raise DesignError(msg)
    return None


def target_for(goal: Goal, hull: Hull, water: Water, drag: Drag, roll: float) -> Target:
    """Targets for a goal.

    Derived here from Archimedes' principle: the weight is the reserve less than the water, and its first moment along
    the horizontal is the water's.

    Parameters
    ----------
    goal : Goal
        What is asked.
    hull : Hull
        What pushes water aside [mm].
    water : Water
        The recipe's.
    drag : Drag
        Of the hull, for goals that are speeds.
    roll : float
        Roll that the attitude will have [rad]: 0, or what the bait is known to rest at.

    Raises
    ------
    DesignError
        The goal names nothing to reach, or a waterline that no attitude has.
    """
    water_g_cm3 = density(water_of(goal, water))
    reserve = reserve_of(goal, drag, water_g_cm3)
    full = hull.volume / MM3_PER_CM3 * water_g_cm3
    if reserve is not None:
        mass = full - reserve
        if not mass > 0:
            msg = f"a reserve of {reserve:.2f} g is more than the {full:.2f} g of water the whole bait pushes aside."
            raise DesignError(msg)
        return _with_mass(goal, hull, mass, water_g_cm3, roll)
    if goal.pitch is not None and goal.waterline is not None:
        up = upright(np.array([goal.pitch]), roll)
        return _through_point(hull, up, goal.waterline, water_g_cm3)
    if goal.pitch is not None:
        up = upright(np.array([goal.pitch]), roll)
        masses = np.linspace(0.05, 0.99, MASSES) * full
        cuts = [_balance(hull, up, m, water_g_cm3) for m in masses]
        return Target(masses, np.repeat(horizontal_axes(up)[0], MASSES, axis=0), np.array([c[0] for c in cuts]))
    assert goal.waterline is not None  # noqa: S101  reserve_of has refused a goal without any figure
    ups = upright(np.linspace(-STEEPEST, STEEPEST, SAMPLES), roll)
    return _through_point(hull, ups, goal.waterline, water_g_cm3)


def upright(pitch: Array, roll: float) -> Array:
    """Vertical in body axes (k, 3) at pitches (k,) and a roll [rad].

    Elementary.

    Examples
    --------
    >>> upright(np.radians([30.0]), 0.0).tolist()   # nose up: the vertical leans back along x, which runs to the tail
    [[-0.5, 0.0, 0.86603]]
    """
    return np.stack([-np.sin(pitch), np.cos(pitch) * sin(roll), np.cos(pitch) * cos(roll)], axis=1)


def _with_mass(goal: Goal, hull: Hull, mass: float, water_g_cm3: float, roll: float) -> Target:
    if goal.pitch is None and goal.waterline is None:
        return Target(np.array([mass]))
    if goal.pitch is not None:
        up = upright(np.array([goal.pitch]), roll)
    else:
        assert goal.waterline is not None  # noqa: S101  the only way left
        up = _pitch_through(hull, goal.waterline, mass * MM3_PER_CM3 / water_g_cm3, roll)
    return Target(np.array([mass]), horizontal_axes(up)[0], _balance(hull, up, mass, water_g_cm3))


def _balance(hull: Hull, up: Array, mass: float, water_g_cm3: float) -> Array:
    """Moment on the horizontal projection of x (k,) [g mm] at which ``mass`` [g] rests with ``up`` (k, 3)."""
    volume = mass * MM3_PER_CM3 / water_g_cm3
    band = float(tables.load("flotation")["suspends"]["reserve_share"])
    if volume >= hull.volume * (1 - band):  # as one that is wholly under
        centre = np.repeat(hull.centroid[None], len(up), axis=0)
    else:
        centre = centre_of_buoyancy(hull, immerse_volume(hull, up, volume))
    return np.asarray(mass * (horizontal_axes(up)[0] * centre).sum(axis=1))


def _through_point(hull: Hull, up: Array, line: Waterline, water_g_cm3: float) -> Target:
    """Targets with the water through a point of the mid-plane at each attitude (k, 3)."""
    cut = immerse(hull, up, up @ np.array([line.x, 0.0, line.height]))
    afloat = (cut.volume > 0.01 * hull.volume) & (cut.volume < 0.995 * hull.volume)
    if not afloat.any():
        raise _no_such_waterline(line)
    mass = cut.volume * water_g_cm3 / MM3_PER_CM3
    moment = mass * (cut.along * centre_of_buoyancy(hull, cut)).sum(axis=1)
    return Target(mass[afloat], cut.along[afloat], moment[afloat])


def _pitch_through(hull: Hull, line: Waterline, volume: float, roll: float) -> Array:
    """Vertical (1, 3) at which ``volume`` [mm^3] is under and the water passes through a point of the mid-plane."""
    if volume >= hull.volume:
        raise _no_such_waterline(line)
    low, high = -STEEPEST, STEEPEST
    for _ in range(3):  # each look is 30 times as fine as the one before
        pitch = np.linspace(low, high, SAMPLES)
        ups = upright(pitch, roll)
        gap = immerse_volume(hull, ups, volume).height - ups @ np.array([line.x, 0.0, line.height])
        crossing = np.flatnonzero(gap[:-1] * gap[1:] <= 0)
        if not len(crossing):
            raise _no_such_waterline(line)
        at = crossing[np.argmin(np.abs(pitch[crossing]))]  # the flattest of several
        low, high = pitch[at], pitch[at + 1]
    return upright(np.array([(low + high) / 2]), roll)


def _no_such_waterline(line: Waterline) -> DesignError:
    return DesignError(
        f"goal.waterline: no attitude within {STEEPEST * 57.3:.0f} deg of level has the water at z = {line.height:g} mm"
        f" over x = {line.x:g} mm; try a height nearer to the middle of the body, or less with it."
    )
