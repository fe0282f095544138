"""Pitch of baits that come out otherwise than planned, each as it lies itself: afloat, or wholly under.

Knows what the inputs do to mass, volume and their moments, and the hull's centres of buoyancy. Draws nothing.
"""

from collections.abc import Callable
from math import atan2

import numpy as np

from bodygen import tables
from bodygen.ballast.answer import Answer
from bodygen.ballast.sureness.inputs import Input
from bodygen.ballast.target import upright
from bodygen.flotation.hull import Hull
from bodygen.flotation.immersion import centre_of_buoyancy, horizontal_axes, immerse_volume
from bodygen.form.integrals import Array
from bodygen.weights.item import MM3_PER_CM3

STEEPEST = np.radians(88)
PITCHES, SHARES = 45, 7
"""Attitudes and shares of the volume under water that centres of buoyancy are found for; evenly in between."""


def pitches(
    answer: Answer,
    inputs: tuple[Input, ...],
    values: Array,
    rates: Array,
    pause: Callable[[], None] = lambda: None,
) -> Array:
    """Pitch [deg] of each of k baits.

    Derived here: straight lines near the plan, and the balance itself where they would not hold.

    Parameters
    ----------
    answer : Answer
        The bait as planned.
    inputs : n inputs
    values : (n, k)
        How each comes out, in the input's unit; 0 is the plan.
    rates : (n,)
        What a unit of each does to the pitch near the plan [deg].
    pause : callable
        Called before every piece of the work; what it raises ends it.

    Returns
    -------
    (k,)
        Those wholly under (or within the band that is judged so) by the line between the centres; those afloat by the
        ``rates``, or where the plan is near to neutral, or some of the baits go under, by the balance of each.
    """
    flotation, hull = answer.flotation, answer.hull
    mass, weight, volume, lift = _sums(answer, inputs, values)
    water = flotation.water_g_cm3
    full = volume * water / MM3_PER_CM3
    afloat = full - mass > float(tables.load("flotation")["suspends"]["reserve_share"]) * full
    out = pitch_under(weight / mass[:, None], lift / volume[:, None])
    if not afloat.any():
        return out
    near = float(tables.load("ballast")["spread"]["near_neutral_share"]) * flotation.displaced_cm3 * water
    if afloat.all() and flotation.state == "floats" and flotation.reserve_g > near:
        return np.asarray(np.clip(flotation.attitude.pitch_deg + rates @ values, -90.0, 90.0))
    share = (mass / full)[afloat]
    up = np.array(flotation.attitude.up)
    out[afloat] = _balanced(hull, atan2(up[1], up[2]), share, (weight / mass[:, None])[afloat], pause)
    return out


def pitch_under(centre_of_mass: Array, centre_of_buoyancy: Array) -> Array:
    """Pitch (k,) [deg] wholly under: each centre of mass (k, 3) hangs below the centre of buoyancy (k, 3) [mm].

    Elementary.

    Examples
    --------
    >>> pitch_under(np.array([[33.0, 0, -4]]), np.array([[30.0, 0, 0]])).tolist()   # heavy behind: asin 3/5, nose up
    [36.87]
    """
    arm = centre_of_buoyancy - centre_of_mass
    size = np.maximum(np.linalg.norm(arm, axis=1), 1e-12)
    return np.asarray(np.degrees(np.arcsin(np.clip(-arm[:, 0] / size, -1.0, 1.0))))


def changed_centres(answer: Answer, inputs: tuple[Input, ...], values: Array) -> tuple[Array, Array]:
    """Centres of mass and of buoyancy wholly under (k, 3) [mm] for values (n, k).

    Elementary: first moments over sums.
    """
    mass, weight, volume, lift = _sums(answer, inputs, values)
    return weight / mass[:, None], lift / volume[:, None]


def _sums(answer: Answer, inputs: tuple[Input, ...], values: Array) -> tuple[Array, Array, Array, Array]:
    """Mass (k,) [g], its moment (k, 3), volume (k,) [mm^3], its moment (k, 3), for values (n, k)."""
    total, hull = answer.total, answer.hull
    masses, volumes = np.zeros((len(inputs), 4)), np.zeros((len(inputs), 4))
    for row, one in enumerate(inputs):
        for effect in one.effects:
            place = np.array([1.0, *effect.at])
            masses[row] += effect.mass * place
            volumes[row] += effect.volume * place
    plan_mass = total.mass * np.array([1.0, *total.centre_of_mass])
    plan_volume = hull.volume * np.array([1.0, *hull.centroid])
    mass, volume = plan_mass + values.T @ masses, plan_volume + values.T @ volumes
    return mass[:, 0], mass[:, 1:], volume[:, 0], volume[:, 1:]


def _balanced(hull: Hull, roll: float, share: Array, centre: Array, pause: Callable[[], None]) -> Array:
    """Pitch (k,) [deg] that baits come to from level, with a ``share`` (k,) of the hull under and this roll [rad].

    ``centre`` (k, 3) of mass [mm]. Let go level, a bait turns the way its weight pulls until it meets balance.
    """
    angles = np.linspace(-STEEPEST, STEEPEST, PITCHES)
    shares = np.linspace(share.min(), share.max(), SHARES) if np.ptp(share) > 1e-9 else share[:1]
    ups = upright(angles, roll)
    along = horizontal_axes(ups)[0]

    def under(part: float) -> Array:
        pause()
        return np.asarray(centre_of_buoyancy(hull, immerse_volume(hull, ups, part * hull.volume, tolerance=1e-7)))

    buoyant = np.array([(along * under(float(one))).sum(axis=1) for one in shares])
    lever = centre @ along.T - _between(shares, buoyant, share)  # (k, PITCHES): positive turns the nose up
    level, step = PITCHES // 2, float(np.degrees(angles[1] - angles[0]))
    way = np.where(lever[:, level] > 0, 1.0, -1.0)
    onward = way[:, None] * np.where(way[:, None] > 0, lever[:, level:], lever[:, level::-1])
    turned = onward <= 0
    last = np.maximum(np.argmax(turned, axis=1), 1)
    rows = np.arange(len(share))
    before, after = onward[rows, last - 1], onward[rows, last]
    part = np.clip(before / np.where(before == after, 1.0, before - after), 0.0, 1.0)
    return np.asarray(way * np.where(turned.any(axis=1), step * (last - 1 + part), 90.0))


def _between(nodes: Array, rows: Array, at: Array) -> Array:
    """Rows (k, m) between those (s, m) at ``nodes`` (s,), evenly."""
    if len(nodes) == 1:
        return np.repeat(rows, len(at), axis=0)
    place = (at - nodes[0]) / (nodes[1] - nodes[0])
    low = np.clip(place.astype(int), 0, len(nodes) - 2)
    part = (place - low)[:, None]
    return np.asarray((1 - part) * rows[low] + part * rows[low + 1])
