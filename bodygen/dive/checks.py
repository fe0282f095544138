"""Where the estimate has no ground, and what a maker should doubt: each as a finding with its figure and its limit.

Knows the limits of ``tables/dive.toml``. Knows nothing of lines (``line/``).
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from math import asin, cos, degrees
from typing import Any

from bodygen.dive.attitude import Running, on_lip, stable_pitches, standard_gravity
from bodygen.dive.inputs import DiveInputs
from bodygen.findings import Finding
from bodygen.flotation.equilibrium import Flotation
from bodygen.tables import load
from bodygen.units import CM3_PER_M3, G_PER_KG, MM_PER_M

TRIED_MM = 1.0
"""How far a tie is moved, each way, to see whether the attitude hangs on it."""


def refusals(inputs: DiveInputs, speed_m_s: float, flotation: Flotation, found: Running | None) -> tuple[Finding, ...]:
    """Why no dive is told of this bait; none where the model has ground.

    Limits: ``dive.toml`` [refused], common practice or judgement, no published source.

    Parameters
    ----------
    inputs, speed_m_s, found
        The bait, how fast it goes [m/s], and what ``attitude.running`` made of them.
    flotation : Flotation
        How it lies at rest.
    """
    limits = load("dive")["refused"]
    return (
        *_at_rest(inputs, flotation, limits["rest_pitch_deg"]),
        *_lip(inputs, limits),
        *_too_slow_or_fast(speed_m_s, *limits["speed_m_s"]),
        *_overturns(inputs),
        *(_runs(inputs, found, limits) if found is not None else [_no_attitude()]),
    )


def doubts(inputs: DiveInputs, speed_m_s: float, start_pitch: float, found: Running) -> tuple[Finding, ...]:
    """What to doubt of a dive that is told: a lip outside what was fitted, an attitude that hangs on a hair.

    Limits are common practice, no published source: ``dive.toml`` [doubted]; ``start_pitch`` as of
    ``attitude.running`` [rad].
    """
    limits = load("dive")["doubted"]
    out = tuple(_outside("dive-lip-shape", "lip.width", "", inputs.lip_aspect, limits["aspect"], _FITTED))
    turns = turns_per_mm(inputs, speed_m_s, start_pitch, found)
    if found.other_pitches or turns is None or turns > limits["turns_per_mm_deg"]:
        out = (*out, _touchy(found, turns, limits["turns_per_mm_deg"]))
    return out


def turns_per_mm(inputs: DiveInputs, speed_m_s: float, start_pitch: float, found: Running) -> float | None:
    """How far the bait turns where it is tied a millimetre elsewhere, the worst way [deg/mm]; None: one loses it.

    Derived here: asked again with the tie a millimetre forward, aft, up and down.
    """
    turned = []
    x, z = inputs.tie_mm
    for tie in ((x + TRIED_MM, z), (x - TRIED_MM, z), (x, z + TRIED_MM), (x, z - TRIED_MM)):
        there, _ = stable_pitches(replace(inputs, tie_mm=tie), speed_m_s, start_pitch)
        if there is None:
            return None
        turned.append(abs(degrees(there - found.pitch)) / TRIED_MM)
    return max(turned)


def righting(inputs: DiveInputs) -> float:
    r"""How hard it is to heel about the tie, per sine of the angle [N m]: below 0 it does not run upright.

    .. math:: R = m g\,(z_{tie} - z_G) + \rho g V\,(z_B - z_{tie})

    Derived here, in body axes.

    Examples
    --------
    >>> bait = DiveInputs(1000.0, (0, 0), (6, -8), 35.0, 22.0, 18.0, 396.0, 11.0, 0.75, 10.0, 12.0, (30, -4), (30, 1),
    ...                   300.0, 0.3, 900.0, 0.7, (33, 0), 11.0, 0.35)
    >>> righting(bait) / 9.80665   # 10 g 4 mm below, 12 g lift 1 mm above
    5.2e-05
    """
    tie, mass = inputs.tie_mm[1], inputs.mass_g
    lift = inputs.water_kg_m3 * inputs.displaced_cm3 / G_PER_KG
    arms = mass * (tie - inputs.centre_of_mass_mm[1]) + lift * (inputs.centre_of_buoyancy_mm[1] - tie)
    return float(standard_gravity() / G_PER_KG / MM_PER_M * arms)


def heel(inputs: DiveInputs, found: Running, off_mm: float | None = None) -> float | None:
    r"""How far it heels where the lip's pressure lies ``off_mm`` beside the mid-plane [rad]; None: it is turned over.

    .. math:: \sin\phi = N \cos\alpha\,\Delta y / R

    It grows with the speed squared. A note on how true a lip must be, and no limit of the speed: a bait blows out
    sideways, and nothing sideways is worked out.

    Parameters
    ----------
    off_mm : float, optional
        Left out, ``dive.toml`` [doubted] lip_off_mm [mm].

    References
    ----------
    Derived here: the lip's downward part beside the tie, against ``righting``.
    """
    off = load("dive")["doubted"]["lip_off_mm"] if off_mm is None else off_mm
    stiff = righting(inputs)
    sine = abs(found.lip_force * cos(found.incidence)) * off / MM_PER_M / stiff if stiff > 0 else 1.0
    return asin(sine) if sine < 1 else None


_FITTED = "outside the plates that the formula was fitted to: the figure is less sure than the range says"


def _at_rest(inputs: DiveInputs, flotation: Flotation, steepest: float) -> Iterator[Finding]:
    if flotation.state == "sinks":
        remedy = "it sinks, and where it then runs is up to the hand that draws it: lighter, and a dive can be told"
        yield Finding("dive-sinks", "note", "float.state", remedy, flotation.reserve_g, 0.0, "g")
        return
    lies = flotation.attitude
    if abs(lies.pitch_deg) > steepest:
        way = "forward" if lies.pitch_deg > 0 else "aft"
        remedy = f"at rest it stands on end, and nobody can say which way it goes when it is drawn: ballast {way}"
        yield Finding("dive-rest", "warning", "float.pitch_deg", remedy, lies.pitch_deg, steepest, "deg")
    if lies.water_height is not None:
        x, z = on_lip(inputs, inputs.lip_length_mm)
        out = float(lies.up[0] * x + lies.up[2] * z) - lies.water_height
        if out > 0:
            remedy = "at rest the lip's tip is {} above the water and does not bite: ballast forward, or a steeper lip"
            yield Finding("dive-lip-dry", "warning", "lip", remedy, out, 0.0, "mm", lengths=(out,))


def _too_slow_or_fast(speed_m_s: float, low: float, high: float) -> Iterator[Finding]:
    remedy = f"the estimate stands for speeds from {low:g} to {high:g} m/s: nobody has measured a bait at others"
    yield from _outside("dive-speed", "retrieve.speed_m_s", "m/s", speed_m_s, (low, high), remedy)


def _lip(inputs: DiveInputs, limits: dict[str, Any]) -> Iterator[Finding]:
    share, least = inputs.lip_area_mm2 / inputs.frontal_area_mm2, limits["least_lip_share"]
    if share < least:
        remedy = "so small a lip lies in the body's own wake: a larger one, and a dive can be told"
        yield Finding("dive-lip-small", "warning", "lip.width", remedy, 100 * share, 100 * least, "%")
    remedy = "no plate of this shape was ever measured that the estimate could lean on: another length or width"
    yield from _outside("dive-lip-shape", "lip.width", "", inputs.lip_aspect, limits["aspect"], remedy)


def _overturns(inputs: DiveInputs) -> Iterator[Finding]:
    stiff = righting(inputs) * MM_PER_M
    if stiff <= 0:
        remedy = "drawn by its tie it does not stay upright: put the ballast lower, or tie it lower"
        yield Finding("dive-overturns", "warning", "total.centre_of_mass_mm", remedy, stiff, 0.0, "N mm")


def _no_attitude() -> Finding:
    remedy = (
        "tied there it comes to no steady attitude, nose down or nose up: move the tie forward, or down towards the lip"
    )
    return Finding("dive-no-attitude", "warning", "bore", remedy)


def _runs(inputs: DiveInputs, found: Running, limits: dict[str, Any]) -> Iterator[Finding]:
    low, high = limits["incidence_deg"]
    incidence, pitch = degrees(found.incidence), degrees(found.pitch)
    if incidence > high:
        remedy = "drawn, its lip turns broadside to the water and only brakes: a flatter lip, or the tie forward"
        yield Finding("dive-broadside", "warning", "lip.angle", remedy, incidence, high, "deg")
    elif incidence < low:
        remedy = "drawn, its lip lies along the water and nothing pulls it down: a steeper lip, or the tie aft"
        yield Finding("dive-lip-idle", "warning", "lip.angle", remedy, incidence, low, "deg")
    remedy = "drawn, it stands steeper than the forces on its body are known for: a flatter lip, or the tie elsewhere"
    yield from _outside("dive-pitch", "lip.angle", "deg", pitch, limits["pitch_deg"], remedy)
    lift = (inputs.water_kg_m3 * inputs.displaced_cm3 / CM3_PER_M3 - inputs.mass_g / G_PER_KG) * standard_gravity()
    least = limits["least_down_share"] * max(lift, 0.0)
    if found.down_force <= least:
        remedy = "what holds it down is next to nothing beside its lift: a larger or flatter lip, or more ballast"
        yield Finding("dive-lifted", "warning", "lip", remedy, found.down_force, least, "N")


def _outside(code: str, where: str, unit: str, value: float, limits: Sequence[float], remedy: str) -> Iterator[Finding]:
    """Doubt a figure that lies outside [least, most]."""
    low, high = limits
    if not low <= value <= high:
        yield Finding(code, "warning", where, remedy, value, low if value < low else high, unit)


def _touchy(found: Running, turns: float | None, limit: float) -> Finding:
    if found.other_pitches:
        other = degrees(min(found.other_pitches, key=lambda pitch: abs(pitch - found.pitch)))
        remedy = (
            f"it can also run at {other:.0f} deg, so a knock changes how deep it goes: move the tie away from the lip"
        )
    elif turns is None:
        remedy = "tied a millimetre elsewhere it comes to no steady attitude: move the tie the other way"
    else:
        remedy = "a tie a millimetre elsewhere turns it by so much: tied at about the lip's middle, it hangs on a hair"
    return Finding("dive-touchy", "warning", "lip.tie_hole", remedy, turns, limit, "deg/mm")
