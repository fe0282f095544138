"""What ``bodygen dive`` answers, as JSON and in words, and the ``dive`` block of properties.json."""

from dataclasses import asdict
from math import degrees, exp, inf
from textwrap import wrap
from typing import Any

from bodygen.assessment import Assessment
from bodygen.dive.checks import heel
from bodygen.dive.estimate import Estimate, given
from bodygen.dive.spread import Conditions, floor, foretold
from bodygen.dive.what_if.effects import DiveEffect
from bodygen.recipe.model import Recipe
from bodygen.tables import load
from bodygen.units import FT_PER_M, length_text

WIDTH = 100
HOW = {"tow": "towed at a steady", "retrieve": "cast and drawn home at"}


def dive_block(e: Estimate) -> dict[str, Any]:
    """``dive`` of properties.json: the range and what it is told for; or why there is none, with whatever is known."""
    block: dict[str, Any] = {"refused": e.refused} if e.refused else {}
    if e.depth is not None:
        block["depth_m"] = asdict(e.depth)
    if (running := e.runs.running) is not None:
        block |= {
            "pitch_deg": degrees(running.pitch),
            "incidence_deg": degrees(running.incidence),
            "pull_n": running.pull,
            "line_angle_deg": degrees(running.line_angle),
            "others_pitch_deg": [degrees(pitch) for pitch in running.other_pitches],
        }
    if e.depth is not None and (off := lip_off(e)) is not None:
        block["lip_off"] = off
    if e.asked.conditions is not None:
        block["conditions"] = asdict(e.asked.conditions) | {"tip_assumed": e.asked.tip_assumed}
    if e.runs.inputs is not None:
        block["inputs"] = given(e)
    factor = e.factor
    block["spread"] = {
        "ln_factor_mean": factor.ln_mean,
        "ln_sd": factor.ln_sd,
        "readings": factor.readings,
        "does_not_carry": list(factor.why_not),
    }
    if e.depth is not None:
        block["classes"] = [class_text(*one) for one in e.classes]
        block["share_of_time_deep"] = e.time_deep
    return block | {"is_not": is_not()}


def lip_off(e: Estimate) -> dict[str, float | None] | None:
    """How true the lip must be: what one that is so far off the middle heels the bait [deg]; None: turned over."""
    if e.runs.inputs is None or e.runs.running is None:
        return None
    heeled = heel(e.runs.inputs, e.runs.running)
    off = float(load("dive")["doubted"]["lip_off_mm"])
    return {"off_mm": off, "heels_deg": None if heeled is None else degrees(heeled)}


def is_not() -> str:
    """What the estimate is not, which stands on every output of it."""
    return str(load("fishing")["words"]["is_not"])


def class_text(low_ft: float, high_ft: float) -> str:
    """Name one of the trade's classes.

    >>> class_text(3.0, 8.0), class_text(12.0, float("inf"))
    ('3-8 ft', '12+ ft')
    """
    return f"{low_ft:g}+ ft" if high_ft == inf else f"{low_ft:g}-{high_ft:g} ft"


def depth_text(metres: float, units: str, digits: int = 1) -> str:
    """Show a depth [m], in feet first for who works in inches.

    >>> depth_text(1.5, "mm"), depth_text(1.5, "in")
    ('1.5 m', '4.9 ft (1.5 m)')
    """
    feet = metres * FT_PER_M
    return f"{metres:.{digits}f} m" if units == "mm" else f"{feet:.{digits}f} ft ({metres:.{digits}f} m)"


def estimate_text(e: Estimate, units: str, water_g_cm3: float) -> list[str]:
    """The range first, never a figure alone; then what it is told for, and how the bait runs; lines."""
    if e.depth is None:
        lines = wrap(f"no depth is told: {e.refused}", WIDTH, initial_indent="  ", subsequent_indent="    ")
        return [*lines, *conditions_text(e, units, water_g_cm3), *_runs(e)]
    d = e.depth
    names = ", ".join(class_text(*one) for one in e.classes)
    likely = f"likely {depth_text(d.likely, units)}: eight dives in ten"
    return [
        f"  {depth_text(d.low, units)} to {depth_text(d.high, units)} deep, {likely}",
        f"  of the trade's classes it touches {names}",
        *conditions_text(e, units, water_g_cm3),
        *_runs(e),
        *_time(e),
        *_true(e, units),
    ]


def range_text(e: Estimate, units: str, water_g_cm3: float) -> list[str]:
    """The range, what it is told for, and how true the lip must be: what one reads at the water; lines."""
    whole = estimate_text(e, units, water_g_cm3)
    if e.depth is None:
        return whole[: len(whole) - len(_runs(e))]
    return [whole[0], *conditions_text(e, units, water_g_cm3), *_true(e, units)]


def _true(e: Estimate, units: str) -> list[str]:
    """How true the lip must be, in words."""
    off = lip_off(e)
    if off is None or off["off_mm"] is None:
        return []
    heels = "turns it over" if off["heels_deg"] is None else f"heels it by about {off['heels_deg']:.0f} deg"
    return [f"  a lip {length_text(off['off_mm'], units)} off the middle {heels} at that speed"]


def dive_text(a: Assessment, *, brief: bool = False) -> list[str]:
    """How deep it runs, as weigh and the build sheet say it, or the range alone; or which keys to add; lines."""
    if a.dive is not None:
        text = estimate_text(a.dive, a.recipe.units, a.flotation.water_g_cm3)
        text = text[:1] if brief and a.dive.depth is not None else text
        return [*text, *wrap(is_not(), WIDTH, initial_indent="  ", subsequent_indent="  ")]
    return [f"  {line}" for line in keys_to_add(a.recipe)]


def keys_to_add(recipe: Recipe) -> list[str]:
    """One line with the keys without which no depth is told of a bait with a lip."""
    line, retrieve = recipe.line, recipe.retrieve
    keys = {
        "line.diameter": line.diameter if line else None,
        "line.length_m": line.length_m if line else None,
        "retrieve.speed_m_s": retrieve.speed_m_s if retrieve else None,
    }
    missing = [key for key, value in keys.items() if value is None]
    return [f"add {', '.join(missing)} to the recipe to be told a depth"] if missing and recipe.lip else []


def _time(e: Estimate) -> list[str]:
    if e.asked.conditions is None or e.time_deep is None or e.asked.conditions.how == "tow":
        return []
    return [f"  deeper than 80 % of that for about {round(20 * e.time_deep) * 5} % of the time from cast to rod"]


def conditions_text(e: Estimate, units: str, water_g_cm3: float) -> list[str]:
    """What a depth is told for: how the bait is drawn, which line, which water; lines."""
    c = e.asked.conditions
    if c is None:
        return []
    tip = " (taken for granted: --tip says how high)" if e.asked.tip_assumed else ""
    water = "fresh" if water_g_cm3 < load("fishing")["water"]["salt_from_g_cm3"] else "salt"
    text = (
        f"{HOW[c.how]} {c.speed_m_s:.2f} m/s, {line_text(c, units)}, rod tip {depth_text(c.tip_height_m, units)} above"
        f" the water{tip}; {water} water, {water_g_cm3:.4f} g/cm3"
    )
    return wrap(text, WIDTH, initial_indent="  ", subsequent_indent="    ")


def line_text(c: Conditions, units: str) -> str:
    """Which line, and how much of it is out."""
    return f"{depth_text(c.line_out_m, units)} of {c.line_diameter_mm:.2f} mm line out"


def _runs(e: Estimate) -> list[str]:
    running = e.runs.running
    if running is None or e.asked.speed_m_s is None:
        return []
    pitch = degrees(running.pitch)
    nose = f"nose {abs(pitch):.0f} deg {'down' if pitch < 0 else 'up'}"
    others = ", ".join(f"{degrees(one):+.0f}" for one in running.other_pitches)
    text = (
        f"it runs {nose}, the lip {degrees(running.incidence):.0f} deg to the water; it pulls {running.pull:.2f} N, the"
        f" line {degrees(running.line_angle):.0f} deg steep at the tie; forces taken at {e.asked.speed_m_s:.2f} m/s"
    )
    text += f"; it could also run at {others} deg" if others else ""
    return wrap(text, WIDTH, initial_indent="  ", subsequent_indent="    ")


def sureness_text(e: Estimate, silent: int, unheard: int) -> list[str]:
    """What measured dives did, what more of them would do; lines."""
    if e.depth is None:
        return []
    f = e.factor
    days = "no measured dive yet" if not f.readings else f"{f.readings} day{'s' * (f.readings > 1)} of measured dives"
    lines = [f"  {days}: within a factor of {_factor(f.ln_sd)} either way, four times in five"]
    if f.readings:
        lines.append(f"  the model's own depth is taken times {exp(f.ln_mean):.2f}: as much as so few days can prove")
    lines += [f"  they do not carry so far, and the range stays wide: {why}" for why in f.why_not]
    ahead = foretold(f)
    after = f"after {', '.join(map(str, ahead))} more days under these conditions"
    lines.append(f"  {after}: {', '.join(map(_factor, ahead.values()))}; never below {_factor(floor())}")
    if silent:
        lines.append(f"  {silent} measured depth{'s' * (silent > 1)} in the log teach nothing: none was told then")
    if unheard:
        lines.append(f"  {unheard} of --measured teach nothing: for those conditions no depth is told")
    return [row for line in lines for row in wrap(line, WIDTH, subsequent_indent="    ")]


def _factor(ln_sd: float) -> str:
    return f"{exp(load('fishing')['spread']['range_80'] * ln_sd):.2f}"


def effects_text(rows: tuple[DiveEffect, ...]) -> list[str]:
    """One change a line, each alone."""
    if not rows:
        return []
    head = f"  {'one change alone':<34}{'pitch, deg':>11}{'line, deg':>11}{'pull, %':>9}{'depth, %':>10}"
    return [head, *(f"  {row.what:<34}{_cells(row)}" for row in rows)]


def _cells(row: DiveEffect) -> str:
    cells = ((row.pitch_deg, 11), (row.line_angle_deg, 11), (row.pull_percent, 9), (row.depth_percent, 10))
    return "".join(f"{signed_text(value):>{wide}}" for value, wide in cells)


def signed_text(value: float | None) -> str:
    """A change with its sign; of nothing, none.

    >>> signed_text(1.26), signed_text(-0.04), signed_text(None)
    ('+1.3', '0.0', '-')
    """
    if value is None:
        return "-"
    return f"{value:+.1f}" if round(value, 1) else "0.0"
