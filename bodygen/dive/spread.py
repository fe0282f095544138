"""How sure a depth is: a range that holds it four times in five, what measured dives teach, and how far that carries.

Pure: the same readings give the same factor. ln(measured/told) is this bench's own factor, the same every time, and the
scatter of single readings; both are normal, with the deviations of ``fishing.toml``. Knows no bait and no line but the
conditions that a depth is told for.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import exp, inf, log, sqrt
from typing import Literal

from bodygen.tables import load
from bodygen.units import FT_PER_M

How = Literal["tow", "retrieve"]
AHEAD = (1, 3, 5)
"""After how many more days of readings the spread is foretold."""


@dataclass(frozen=True, slots=True)
class Conditions:
    """What a depth is told for: diameter [mm], line out (the cast, of a retrieve) and height of the rod's tip [m]."""

    how: How
    line_diameter_mm: float
    line_out_m: float
    speed_m_s: float
    tip_height_m: float


@dataclass(frozen=True, slots=True)
class LipFamily:
    """Lips that share one factor: of one ``kind``, ``tie`` in one place, angles [deg] near each other."""

    kind: str
    tie: str
    angle_deg: float


@dataclass(frozen=True, slots=True)
class DiveReading:
    """A depth measured of one bait on one day, and what was told for it under the same conditions [m]."""

    bait: str
    day: str
    family: LipFamily
    conditions: Conditions
    measured_m: float
    told_m: float


@dataclass(frozen=True, slots=True)
class DiveFactor:
    """ln of measured over told: its ``ln_mean`` and ``ln_mean_sd``, and ``ln_sd`` of the next reading, all [-].

    ``readings`` days of baits stand behind it. ``why_not``: what keeps it from narrowing the range here.
    """

    ln_mean: float
    ln_mean_sd: float
    ln_sd: float
    readings: int
    why_not: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class DepthRange:
    """Depths that hold the true one four times in five, and the likely one [m]."""

    low: float
    likely: float
    high: float


def depth_range(depth: float, ln_sd: float) -> DepthRange:
    """The range that holds a depth [m] four times in five, of a deviation ``ln_sd`` in its logarithm [-].

    Notes
    -----
    Elementary: 1.2816 deviations either side hold 80 % of a normal spread.

    Examples
    --------
    >>> depth_range(2.7, 0.35)
    DepthRange(low=1.724106, likely=2.7, high=4.228278)
    """
    wide = load("fishing")["spread"]["range_80"] * ln_sd
    return DepthRange(depth * exp(-wide), depth, depth * exp(wide))


def factor_of(ratios: Sequence[float]) -> DiveFactor:
    """What readings teach, each ln(measured/told) [-]: one for each bait and day.

    Notes
    -----
    A normal prior and normal readings (A. Gelman et al., Bayesian Data Analysis, 3rd ed. 2013, section 2.5, from
    memory). The next reading scatters by the factor's own deviation and that of a reading.

    Examples
    --------
    >>> factor_of([])
    DiveFactor(ln_mean=0.0, ln_mean_sd=0.3, ln_sd=0.35, readings=0, why_not=())
    >>> round(factor_of([log(2.1 / 2.7)]).ln_sd, 6)
    0.237115
    """
    row = load("fishing")["spread"]
    if not ratios:
        return DiveFactor(0.0, row["model_ln"], row["unread_ln"], 0)
    variance = 1 / (1 / row["model_ln"] ** 2 + len(ratios) / row["reading_ln"] ** 2)
    mean = variance * sum(ratios) / row["reading_ln"] ** 2
    return DiveFactor(mean, sqrt(variance), sqrt(variance + row["reading_ln"] ** 2), len(ratios))


def learned_factor(readings: Sequence[DiveReading], family: LipFamily, now: Conditions) -> DiveFactor:
    """The factor of a lip's family under the conditions of now.

    Of one bait on one day all readings are one: what they share is not learned thrice.

    Parameters
    ----------
    readings : sequence of DiveReading
        Of any family; those of another are left aside.
    family : LipFamily
        Of the bait whose depth is to be told.
    now : Conditions
        Far from those of the readings the factor stays, and the range is as wide as before any.

    Returns
    -------
    DiveFactor
        All [-].

    Notes
    -----
    How far it carries is judgement: ``fishing.toml``; common practice, no published source.
    """
    near = [reading for reading in readings if same_family(reading.family, family)]
    days: dict[tuple[str, str], list[float]] = {}
    for reading in near:
        days.setdefault((reading.bait, reading.day), []).append(log(reading.measured_m / reading.told_m))
    factor = factor_of([sum(day) / len(day) for day in days.values()])
    why_not = _too_far([reading.conditions for reading in near], now) if near else ()
    if not why_not:
        return factor
    unread = float(load("fishing")["spread"]["unread_ln"])
    return DiveFactor(factor.ln_mean, factor.ln_mean_sd, unread, factor.readings, why_not)


def same_family(one: LipFamily, other: LipFamily) -> bool:
    """Whether two lips share one factor: angles [deg] within ten of each other, kind and tie alike.

    Notes
    -----
    Judgement; common practice, no published source.
    """
    apart = abs(one.angle_deg - other.angle_deg)
    return one.kind == other.kind and one.tie == other.tie and apart <= load("fishing")["carries"]["lip_angle_deg"]


def _too_far(read: Sequence[Conditions], now: Conditions) -> tuple[str, ...]:
    """Each condition that lies too far from all that was read, in words."""
    row = load("fishing")["carries"]
    limits = {
        "line out": (row["line_out"], "line_out_m", "m"),
        "line diameter": ((1 / row["line_diameter"], row["line_diameter"]), "line_diameter_mm", "mm"),
        "speed": ((1 / row["speed"], row["speed"]), "speed_m_s", "m/s"),
    }
    found = []
    for name, ((least, most), field, unit) in limits.items():
        values = [getattr(conditions, field) for conditions in read]
        low, high, value = least * min(values), most * max(values), getattr(now, field)
        if field == "speed_m_s":
            high = min(high, row["fastest_m_s"])
        if not low * (1 - 1e-9) <= value <= high * (1 + 1e-9):
            found.append(f"{name} {value:.3g} {unit}, readings carry from {low:.3g} to {high:.3g} {unit}")
    return tuple(found)


def foretold(factor: DiveFactor) -> dict[int, float]:
    """The deviation of the next reading [-] after one, three, five more days of readings under these conditions.

    Notes
    -----
    Derived here: the variance of the factor does not depend on what is read.

    Examples
    --------
    >>> {days: round(sd, 3) for days, sd in foretold(factor_of([])).items()}
    {1: 0.237, 3: 0.205, 5: 0.196}
    """
    return {days: factor_of([0.0] * (factor.readings + days)).ln_sd for days in AHEAD}


def floor() -> float:
    """The least deviation [-], however many readings: that of a reading.

    Notes
    -----
    Judgement; common practice, no published source.

    Examples
    --------
    >>> floor()
    0.18
    """
    return float(load("fishing")["spread"]["reading_ln"])


def classes_touched(low: float, high: float) -> tuple[tuple[float, float], ...]:
    """The trade's classes that a range of depths [m] touches, each from and to [ft]; the last has no end.

    Notes
    -----
    The classes are common practice, no published source.

    Examples
    --------
    >>> classes_touched(0.8, 1.2)   # 2.6 ft to 3.9 ft
    ((0.0, 3.0), (3.0, 8.0))
    """
    ends = [0.0, *load("fishing")["classes"]["ends_ft"], inf]
    feet = [depth * FT_PER_M for depth in (low, high)]
    return tuple((start, end) for start, end in pairwise(ends) if feet[0] < end and feet[1] >= start)
