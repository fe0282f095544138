"""The attitude in which a bait runs on a free line: where the moments about the tie balance, and come back.

Knows forces in the mid-plane on what ``inputs.py`` holds. Knows nothing of the line beyond the tie, and of nothing that
goes sideways. Earth axes: X the way the water passes, Z up; SI inside.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from math import atan2, cos, hypot, radians, sin
from typing import Literal

import numpy as np

from bodygen.dive.inputs import DiveInputs
from bodygen.dive.plate import Array, normal_coefficient, pressure_centre
from bodygen.tables import load
from bodygen.units import CM3_PER_M3, G_PER_KG, MM2_PER_M2, MM_PER_M

CLOSE_RAD = 1e-12
STEP_RAD = 1e-5
STEPS = 100


@dataclass(frozen=True, slots=True)
class Forces:
    """On the bait without its line, at pitch angles (k,): ``along`` the flow and ``up`` [N].

    ``moment`` is about the tie, nose up positive [N m]; ``lip`` the force square to the lip alone [N].
    """

    along: Array
    up: Array
    moment: Array
    lip: Array


@dataclass(frozen=True, slots=True)
class Act:
    """One force on the bait: ``at`` x and z in the body [mm], ``along`` the flow and ``up`` [N]."""

    name: Literal["lip", "body", "buoyancy", "weight", "hook"]
    at: tuple[Array | float, Array | float]
    along: Array | float
    up: Array | float


@dataclass(frozen=True, slots=True)
class Running:
    """How it runs. Angles [rad], pitch nose up positive; forces [N].

    ``incidence`` is the lip's to the water, ``line_angle`` the line's above horizontal at the tie. ``down_force`` is
    net of buoyancy. ``slope`` of the nose-up moment by the pitch [N m/rad], negative as the attitude is stable.
    ``lip_force`` is square to the lip. ``other_pitches``: further stable ones, that it does not come to from rest.
    """

    pitch: float
    incidence: float
    drag: float
    down_force: float
    pull: float
    line_angle: float
    slope: float
    lip_force: float
    other_pitches: tuple[float, ...]


def running(inputs: DiveInputs, speed_m_s: float, start_pitch: float) -> Running | None:
    """The attitude that a bait comes to when it is drawn from rest; None where it comes to none.

    Parameters
    ----------
    inputs : DiveInputs
        The bait.
    speed_m_s : float
        Through the water, > 0 [m/s].
    start_pitch : float
        How it lies when the pull begins: its float pitch, of a bait that suspends its pitch wholly under [rad]; steeper
        than the scan it begins at its end.

    Returns
    -------
    Running or None
        From the start it turns the way the moment points, until that changes its sign.

    References
    ----------
    Derived here: the line swings freely, so its pull has no moment about the tie. The parts are in ``forces``.
    """
    reached, others = stable_pitches(inputs, speed_m_s, start_pitch)
    return None if reached is None else _at(inputs, speed_m_s, reached, others)


def stable_pitches(inputs: DiveInputs, speed_m_s: float, start_pitch: float) -> tuple[float | None, tuple[float, ...]]:
    """The pitch that a bait comes to, None where it comes to none, and the others it would keep [rad].

    As ``running``.
    """
    moment = partial(_moment, inputs, speed_m_s)
    scan = load("dive")["scan"]
    count = round((scan["highest_deg"] - scan["lowest_deg"]) / scan["step_deg"]) + 1
    pitches = np.radians(np.linspace(scan["lowest_deg"], scan["highest_deg"], count))
    values = forces(inputs, speed_m_s, pitches).moment
    falls = np.nonzero((values[:-1] >= 0) & (values[1:] < 0))[0]
    stable = [root_between(moment, float(pitches[i]), float(pitches[i + 1])) for i in falls]
    # the way up from a moment >= 0 first meets a sign that falls, and so does the way down from one < 0: a stable root
    start = min(max(start_pitch, float(pitches[0])), float(pitches[-1]))
    up = moment(start) >= 0
    ahead = [pitch for pitch in stable if pitch == start or (pitch > start) == up]
    if not ahead:
        return None, ()
    reached = min(ahead) if up else max(ahead)
    return reached, tuple(pitch for pitch in stable if pitch != reached)


def forces(inputs: DiveInputs, speed_m_s: float, pitch: Array | float) -> Forces:
    r"""What acts on a bait wholly under at pitch angles (k,) [rad], the line's pull left out.

    Square to the lip :math:`\eta q S C_N`; the body's drag along the flow and its cross-flow force square to its axis;
    Munk's couple :math:`q V m \sin 2\theta`; the hooks' drag at their eyes; weight and buoyancy.

    Parameters
    ----------
    inputs : DiveInputs
        The bait.
    speed_m_s : float
        Through the water [m/s].
    pitch : array (k,)
        Nose up positive [rad].

    References
    ----------
    The plate as ``plate.py``; S. F. Hoerner, Fluid-Dynamic Drag (1965), bodies and wire; H. J. Allen, E. W. Perkins,
    NACA Report 1048 (1951), cross-flow; M. M. Munk, NACA Report 184 (1924), the couple: all from memory.
    """
    theta = np.asarray(pitch, dtype=np.float64)
    drawn, lifted, turning = np.asarray(0.0), np.asarray(0.0), couple(inputs, speed_m_s, theta)
    acts, sine, cosine = acting(inputs, speed_m_s, theta), np.sin(theta), np.cos(theta)
    for act in acts:
        drawn, lifted = drawn + act.along, lifted + act.up
        turning = turning + _turns(inputs, act, sine, cosine)
    incidence = radians(inputs.lip_angle_deg) - theta
    return Forces(drawn, lifted, turning, acts[0].along * np.sin(incidence) - acts[0].up * np.cos(incidence))


def acting(inputs: DiveInputs, speed_m_s: float, pitch: Array | float) -> tuple[Act, ...]:
    """The parts of ``forces`` that act at a place [N], the lip's first; pitch (k,) [rad].

    From memory, as those.
    """
    theta = np.asarray(pitch, dtype=np.float64)
    sine, q = np.sin(theta), inputs.water_kg_m3 * speed_m_s**2 / 2
    incidence = radians(inputs.lip_angle_deg) - theta
    pressed = normal_coefficient(inputs.lip_aspect, incidence)
    lip = inputs.eta_lip * q * inputs.lip_area_mm2 / MM2_PER_M2 * pressed
    out = inputs.lip_length_mm - pressure_centre(inputs.lip_length_mm, inputs.lip_centroid_from_tip_mm, incidence)
    across = q * inputs.plan_area_mm2 / MM2_PER_M2 * inputs.c_cross * sine * np.abs(sine)
    drag = q * inputs.frontal_area_mm2 / MM2_PER_M2 * inputs.cd_body
    lift = inputs.water_kg_m3 * standard_gravity() * inputs.displaced_cm3 / CM3_PER_M3
    return (
        Act("lip", on_lip(inputs, out), lip * np.sin(incidence), -lip * np.cos(incidence)),
        Act("body", inputs.cross_at_mm, drag + across * sine, across * np.cos(theta)),
        Act("buoyancy", inputs.centre_of_buoyancy_mm, 0.0, lift),
        Act("weight", inputs.centre_of_mass_mm, 0.0, -inputs.mass_g / G_PER_KG * standard_gravity()),
        *(Act("hook", (x, z), q * area / MM2_PER_M2, 0.0) for x, z, area in inputs.hooks_x_z_cda_mm_mm_mm2),
    )


def couple(inputs: DiveInputs, speed_m_s: float, pitch: Array | float) -> Array:
    """Munk's couple on the hull at pitch (k,) [rad], nose up positive [N m]: it turns a hull broadside.

    References
    ----------
    M. M. Munk, NACA Report 184 (1924), from memory.
    """
    q = inputs.water_kg_m3 * speed_m_s**2 / 2
    return np.asarray(q * inputs.body_volume_cm3 / CM3_PER_M3 * inputs.munk_factor * np.sin(2 * np.asarray(pitch)))


def turns(inputs: DiveInputs, act: Act, pitch: Array | float) -> Array:
    """Nose-up moment of a force about the tie at pitch (k,) [rad]: z F_x - x F_z in earth axes [N m]. Elementary."""
    return np.asarray(_turns(inputs, act, np.sin(pitch), np.cos(pitch)))


def _turns(inputs: DiveInputs, act: Act, sine: Array, cosine: Array) -> Array:
    """The same of the pitch's sine and cosine, which all the forces share."""
    (at_x, at_z), (tie_x, tie_z) = act.at, inputs.tie_mm
    x, z = (at_x - tie_x) / MM_PER_M, (at_z - tie_z) / MM_PER_M
    turning: Array = (z * cosine - x * sine) * act.along - (x * cosine + z * sine) * act.up
    return turning


def on_lip(inputs: DiveInputs, out: Array | float) -> tuple[Array | float, Array | float]:
    """The place x, z [mm] on the lip's middle line that lies ``out`` [mm] from the slot towards the tip.

    Elementary.

    Examples
    --------
    >>> bait = DiveInputs(1000.0, (0, 0), (6, -8), 60.0, 22.0, 18.0, 396.0, 11.0, 0.75, 10.0, 12.0, (30, -4), (30, 1),
    ...                   300.0, 0.3, 900.0, 0.7, (33, 0), 11.0, 0.35)
    >>> [float(round(place, 6)) for place in on_lip(bait, 10.0)]   # 10 cos 60 ahead, 10 sin 60 down
    [1.0, -16.660254]
    """
    x, z = inputs.slot_mm
    angle = radians(inputs.lip_angle_deg)
    return x - out * cos(angle), z - out * sin(angle)


def standard_gravity() -> float:
    """Standard gravity [m/s^2].

    References
    ----------
    NIST SP 811, as in ``flotation.toml``.

    Examples
    --------
    >>> standard_gravity()
    9.80665
    """
    return float(load("flotation")["gravity"]["standard_m_s2"])


def root_between(function: Callable[[float], float], low: float, high: float) -> float:
    """Where a function that changes its sign between two places [rad] is nought, to 1e-12 rad.

    References
    ----------
    Regula falsi with the Illinois rule: M. Dowell, P. Jarratt, BIT 11 (1971), from memory.

    Examples
    --------
    >>> root_between(lambda x: x**3 - 8, 0.0, 5.0)
    2.0
    """
    at_low, at_high = function(low), function(high)
    for _ in range(STEPS):
        if at_low == 0 or abs(high - low) < CLOSE_RAD:
            return low
        new = high - at_high * (high - low) / (at_high - at_low)
        value = function(new)
        if value * at_high < 0:
            low, at_low = high, at_high
        else:
            at_low /= 2
        step, high, at_high = new - high, new, value
        if value == 0 or abs(step) < CLOSE_RAD:
            return high
    return high


def _moment(inputs: DiveInputs, speed_m_s: float, pitch: float) -> float:
    return float(forces(inputs, speed_m_s, pitch).moment)


def _at(inputs: DiveInputs, speed_m_s: float, pitch: float, others: tuple[float, ...]) -> Running:
    there = forces(inputs, speed_m_s, pitch)
    drag, down = float(there.along), -float(there.up)
    low, high = (_moment(inputs, speed_m_s, pitch + way * STEP_RAD) for way in (-1, 1))
    return Running(
        pitch=pitch,
        incidence=radians(inputs.lip_angle_deg) - pitch,
        drag=drag,
        down_force=down,
        pull=hypot(drag, down),
        line_angle=atan2(down, drag),
        slope=(high - low) / (2 * STEP_RAD),
        lip_force=float(there.lip),
        other_pitches=others,
    )
