"""How deep a bait runs: its forces on its attitude, the line behind it, and what measured dives taught, as a range.

Knows what the model is given and what is asked. A figure without a ground is not here, but the reason.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass
from math import exp, radians
from typing import Any

from bodygen.dive.asked import DiveAsked
from bodygen.dive.attitude import Running, running
from bodygen.dive.checks import doubts, refusals
from bodygen.dive.inputs import DiveInputs
from bodygen.dive.line.retrieve import depth_of, line_drag, out_of_range, time_deep
from bodygen.dive.line.tow import bend, hung_from_tip
from bodygen.dive.spread import (
    Conditions,
    DepthRange,
    DiveFactor,
    DiveReading,
    LipFamily,
    classes_touched,
    depth_range,
    learned_factor,
)
from bodygen.findings import Finding
from bodygen.flotation.equilibrium import Flotation
from bodygen.recipe.model import Recipe, Units
from bodygen.tables import load
from bodygen.units import FT_PER_M, MM_PER_M


@dataclass(frozen=True, slots=True)
class Modelled:
    """What the model alone says of one bait on one line: depth [m], None where it has no ground: ``why``.

    ``time_deep``: how much of the time the bait is deeper than 80 % of it [-].
    """

    depth: float | None
    time_deep: float | None = None
    why: str = ""


@dataclass(frozen=True, slots=True)
class Runs:
    """How a bait runs at one speed, line apart.

    ``inputs`` is None where there is no lip or no tie, ``running`` also where no speed is known or no attitude holds.
    ``refusals``: why no depth may be told of it; ``doubts`` about one that may.
    """

    inputs: DiveInputs | None
    running: Running | None
    family: LipFamily | None
    refusals: tuple[Finding, ...] = ()
    doubts: tuple[Finding, ...] = ()


@dataclass(frozen=True, slots=True)
class Estimate:
    """All that is known of how a bait dives.

    ``modelled_m`` is what the model says by itself [m]; ``depth`` is with what was learned. ``refused``: why there is
    none. ``running`` is at the speed of the conditions, at which its forces are taken, too. ``readings``: every dive
    that was told, of other lips, too.
    """

    runs: Runs
    asked: DiveAsked
    factor: DiveFactor
    modelled_m: float | None = None
    depth: DepthRange | None = None
    time_deep: float | None = None
    refused: str = ""
    readings: tuple[DiveReading, ...] = ()

    @property
    def classes(self) -> tuple[tuple[float, float], ...]:
        """The trade's classes that the range touches, each from and to [ft].

        Notes
        -----
        Common practice, no published source.
        """
        return classes_touched(self.depth.low, self.depth.high) if self.depth else ()


def c_n() -> float:
    """Drag of a line square to itself [-].

    Notes
    -----
    Table ``fishing.toml``: a study of bare towed cable.
    """
    return float(load("fishing")["line"]["c_n"])


def runs(
    recipe: Recipe,
    inputs: DiveInputs | None,
    findings: Sequence[Finding],
    flotation: Flotation,
    speed_m_s: float | None,
) -> Runs:
    """How a bait runs at a speed [m/s], from its float attitude on; what forbids a depth, and what to doubt.

    Parameters
    ----------
    recipe : Recipe
        For its lip's family.
    inputs, findings
        As ``bait.inputs_of`` gives them.
    flotation : Flotation
        How it lies at rest.
    speed_m_s : float or None
        Through the water; None: not known.

    Notes
    -----
    As of ``attitude`` and ``checks``, derived there.
    """
    if inputs is None:
        return Runs(None, None, None, tuple(findings))
    family = family_of(recipe, inputs)
    if speed_m_s is None:
        return Runs(inputs, None, family, (), tuple(findings))
    start = radians(flotation.attitude.pitch_deg)
    found = running(inputs, speed_m_s, start)
    against = refusals(inputs, speed_m_s, flotation, found)
    if found is None or against:
        return Runs(inputs, found, family, against, tuple(findings))
    return Runs(inputs, found, family, (), (*findings, *doubts(inputs, speed_m_s, start, found)))


def family_of(recipe: Recipe, inputs: DiveInputs) -> LipFamily:
    """The family of a recipe's lip: outline and entry, where the line is tied, and its angle [deg].

    Notes
    -----
    Judgement; common practice, no published source.
    """
    lip = recipe.lip
    kind = f"{lip.outline} from the {lip.entry}" if lip else ""
    bores = [f"{bore.entry} bore" for bore in recipe.bores if bore.kind == "tie"]
    holes = ["lip hole"] if lip and lip.tie_hole else []
    return LipFamily(kind, [*bores, *holes, "wire"][0], inputs.lip_angle_deg)


def estimated(runs: Runs, asked: DiveAsked, readings: Sequence[DiveReading] = ()) -> Estimate:
    """The depth of a bait that runs so, with what measured dives taught of its lip's family.

    Parameters
    ----------
    runs : Runs
        At the speed that is asked for.
    asked : DiveAsked
        Lines [mm, m], speed [m/s], rod [m].
    readings : sequence of DiveReading
        Every dive that was measured and told.

    Returns
    -------
    Estimate
        Refused, with the reason, where there is no ground for a figure.

    Notes
    -----
    As of ``modelled``; what is learned: ``spread.learned_factor``, derived there.
    """
    conditions = asked.conditions
    unread = learned_factor((), LipFamily("", "", 0.0), Conditions("tow", 1.0, 1.0, 1.0, 0.0))
    if conditions is None:
        said = f"nothing says {', '.join(asked.missing)}: --line-out, --line, --speed, or [line] and [retrieve]"
        return Estimate(runs, asked, unread, refused="; ".join([*_why(runs, asked.units), said]))
    if runs.running is None or runs.inputs is None or runs.family is None or runs.refusals:
        return Estimate(runs, asked, unread, refused="; ".join(_why(runs, asked.units)))
    factor = learned_factor(readings, runs.family, conditions)
    bare = modelled(runs.running, conditions, runs.inputs.water_kg_m3, asked.units)
    if bare.depth is None:
        return Estimate(runs, asked, factor, refused=bare.why)
    depth = depth_range(bare.depth * exp(factor.ln_mean), factor.ln_sd)
    return Estimate(runs, asked, factor, bare.depth, depth, bare.time_deep, readings=tuple(readings))


def _why(runs: Runs, units: Units) -> list[str]:
    return [refusal.told(units) for refusal in runs.refusals]


def given(e: Estimate) -> dict[str, Any]:
    """All that the model was given of the bait, under its names with their units, and the line's drag coefficient [-].

    Elementary.
    """
    if e.runs.inputs is None:
        return {}
    speed = {} if e.asked.speed_m_s is None else {"speed_m_s": e.asked.speed_m_s}
    return {**speed, **asdict(e.runs.inputs), "c_n": c_n()}


def modelled(running: Running, conditions: Conditions, water: float, units: Units = "mm") -> Modelled:
    """Depth by the model alone of a bait that runs so [m].

    Parameters
    ----------
    running : Running
        At the conditions' speed.
    conditions : Conditions
        Line, speed, rod.
    water : float
        Density [kg/m^3].
    units : "mm" or "in"
        Those of the words, where it has no ground.

    Notes
    -----
    As of ``tow`` and ``retrieve``, derived there. Of a retrieve k and b are taken at the reeling speed; the bait's own
    is more at first and falls to that.
    """
    diameter = conditions.line_diameter_mm / MM_PER_M
    line_out, tip, speed = conditions.line_out_m, conditions.tip_height_m, conditions.speed_m_s
    if conditions.how == "tow":
        turns = bend(running.pull, diameter, speed, c_n(), water)
        line = hung_from_tip(turns, running.line_angle, line_out, tip)
        if line is None:
            out, up = _length(line_out, units), _length(tip, units)
            why = f"the line is too short: all of its {out} hang dry from a tip {up} above the water"
            return Modelled(None, why=why)
        return Modelled(line.depth, 1.0)
    if line_out <= tip:
        out, up = _length(line_out, units), _length(tip, units)
        return Modelled(None, why=f"the line is too short: {out} from a tip {up} above the water")
    k = running.down_force / running.drag
    drag = line_drag(diameter, c_n(), line_out, running.drag / speed**2, water)
    if outside := out_of_range(k, drag, line_out, tip):
        why = "; ".join(_outside(outside, conditions, units))
        return Modelled(None, why=f"no cast like this was worked out: {why}; a steady pull can be told: --tow")
    return Modelled(depth_of(k, drag, line_out, tip), time_deep(k, drag, line_out, tip))


def _outside(outside: Mapping[str, tuple[float, float, float]], c: Conditions, units: Units) -> Iterator[str]:
    """What of a cast lies outside of all that was run [m], and how it comes back; a row each."""
    if "down_over_drag" in outside:
        k, least, most = outside["down_over_drag"]
        other = "a larger or flatter lip" if k < least else "a smaller or steeper lip"
        yield f"it pulls down {k:.2f} times as hard as back, known from {least:g} to {most:g} times: {other}"
    if "line_over_bait_drag" in outside:
        drag, least, most = outside["line_over_bait_drag"]
        out = _length(c.line_out_m * (most if drag > most else least) / drag, units)
        other = f"thinner line, or at most {out}" if drag > most else f"thicker line, or at least {out}"
        yield f"so much line drags {drag:.2g} times as hard as the bait, known from {least:g} to {most:g}: {other}"
    if c.tip_height_m < 0:
        yield "a rod's tip under water was not tried: hold it at the water, or above"
    elif steep := [value / most for name, (value, _, most) in outside.items() if name.startswith("tip")]:
        lengths = c.tip_height_m, c.line_out_m * max(steep), c.tip_height_m / max(steep)
        tip, cast, lower = (_length(length, units) for length in lengths)
        yield f"so short a cast from a tip {tip} up is too steep: cast more than {cast}, or hold it below {lower}"


def _length(metres: float, units: Units) -> str:
    return f"{metres:.3g} m" if units == "mm" else f"{metres * FT_PER_M:.3g} ft"


def fished(e: Estimate, conditions: Conditions) -> Modelled:
    """What the model alone says of the same bait on another line, or more of it, at the same speed [m].

    Notes
    -----
    As of ``modelled``, derived there.
    """
    running, inputs = e.runs.running, e.runs.inputs
    if running is None or inputs is None:
        return Modelled(None, why=e.refused)
    return modelled(running, conditions, inputs.water_kg_m3)
