"""The whole answer of ``bodygen dive``: the estimate, what a change does, lips for a wanted depth; JSON and words."""

from collections.abc import Mapping
from dataclasses import asdict
from math import degrees
from textwrap import wrap
from typing import Any

from bodygen.dive.spread import floor, foretold
from bodygen.dive.what_if.aim import Aimed, LipOffer
from bodygen.dive.what_if.answer import Dive
from bodygen.dive.what_if.size import DeepestLip
from bodygen.recipe.paste import pasted
from bodygen.report.dive import (
    WIDTH,
    depth_text,
    dive_block,
    effects_text,
    estimate_text,
    is_not,
    sureness_text,
)
from bodygen.report.summary import findings_text
from bodygen.tables import load
from bodygen.units import INCH, inch_fraction, length_text

UNITS = {"length": "mm", "width": "mm", "angle": "deg", "tie": "mm"}
UP = {
    "length": ("shorter", "longer"),
    "width": ("narrower", "wider"),
    "angle": ("flatter", "steeper"),
}
TIE = {"distance": ("nearer to the slot", "farther out"), "height": ("down", "up"), "x": ("forward", "aft")}


def answer_document(found: Dive) -> dict[str, Any]:
    """What ``dive --json`` prints: the block of properties.json, and what else was asked."""
    units, estimate, aimed = found.recipe.units, found.estimate, found.aimed
    document: dict[str, Any] = {"format": 1, "name": found.recipe.name, **dive_block(estimate)}
    document["spread"] |= {
        "silent_readings": found.silent + found.unheard,
        "ln_sd_after_days": {str(days): sd for days, sd in foretold(estimate.factor).items()},
        "ln_sd_floor": floor(),
    }
    document["effects"] = [asdict(row) for row in found.effects]
    if found.deepest is not None:
        document["deepest_lip"] = asdict(found.deepest)
    if aimed is not None:
        document["aim"] = {
            "low_m": aimed.low_m,
            "high_m": aimed.high_m,
            "met": any(offer.met for offer in aimed.offers),
            "offers": [_offer(offer) for offer in aimed.offers],
            "line_diameter_mm": aimed.line_diameter_mm,
            "line_out_m": aimed.line_out_m,
            "lip_reach_m": aimed.lip_reach_m,
            "line_reach_m": aimed.line_reach_m,
            "stops": [stop.document(units) for stop in aimed.stops],
        }
    document["findings"] = [finding.document(units) for finding in found.findings]
    return document


def _offer(offer: LipOffer) -> dict[str, Any]:
    block = dive_block(offer.estimate)
    kept = {key: block[key] for key in ("depth_m", "pitch_deg", "incidence_deg", "pull_n", "line_angle_deg")}
    moved = {f"{name}_{UNITS[name]}": by for name, by in offer.moved.items()}
    return {"changes": dict(offer.changes), "moved": moved, "met": offer.met, "toml": pasted(offer.changes), **kept}


def answer_text(found: Dive, water_g_cm3: float, *, colour: bool = False) -> str:
    """The answer in words, what it is not at its end."""
    units, estimate = found.recipe.units, found.estimate
    lines = [f"{found.recipe.name}: how deep it runs", *estimate_text(estimate, units, water_g_cm3)]
    for part in (sureness_text(estimate, found.silent, found.unheard), effects_text(found.effects)):
        lines += ["", *part] if part else []
    if found.deepest is not None:
        lines += deepest_text(found.deepest, units)
    if found.aimed is not None:
        lines += ["", *aimed_text(found.aimed, units)]
    if found.findings:
        lines += ["", *findings_text(found.findings, units, colour=colour)]
    return "\n".join([*lines, "", *wrap(is_not(), WIDTH)]) + "\n"


def deepest_text(deepest: DeepestLip, units: str) -> list[str]:
    """How large a lip of this shape may be before it runs less deep; lines."""
    deep = depth_text(deepest.depth_m, units)
    long, wide = (_about(size, units) for size in (deepest.length_mm, deepest.width_mm))
    text = f"of lips of this shape one about {long} long and {wide} wide runs deepest, likely {deep}; "
    if deepest.beyond:
        text += f"of a larger one no depth is told: {deepest.beyond}"
    else:
        text += "no larger one was tried" if deepest.tried_all else "a larger one mostly brakes and runs less deep"
    return wrap(text, WIDTH, initial_indent="  ", subsequent_indent="    ")


def _about(length: float, units: str) -> str:
    """A length [mm] to half a millimetre or a sixteenth of an inch, without more digits than that."""
    if units == "mm":
        return f"{round(2 * length) / 2:g} mm"
    return f"{inch_fraction(round(16 * length / float(INCH)) / 16)} in"


def aimed_text(aimed: Aimed, units: str) -> list[str]:
    """Each lip that gives the wanted depth, least change first; or the nearest, and what stands in the way; lines."""
    wanted = f"{depth_text(aimed.low_m, units, 2)} to {depth_text(aimed.high_m, units, 2)}"
    lines = [f"For a likely depth of {wanted}"]
    if not any(offer.met for offer in aimed.offers):
        lines.append("  NO lip or tie within reach gives that" + ("; the nearest:" if aimed.offers else ""))
    for number, offer in enumerate(aimed.offers, 1):
        lines += lip_offered(number, offer, units)
    if not any(offer.met for offer in aimed.offers):
        told = dict.fromkeys(f"{stop.where}: {stop.code}" for stop in aimed.stops)
        text = f"in the way: {', '.join(told)}"
        lines += (
            wrap(text, WIDTH, initial_indent="  ", subsequent_indent="    ", break_on_hyphens=False) if told else []
        )
    lines += _line_instead(aimed, units)
    if aimed.offers and aimed.offers[0].changes:
        lines += ["", "For the recipe, the first of them, in the place of the keys that are there:"]
        lines += [f"    {line}" for line in pasted(aimed.offers[0].changes).splitlines()]
    return lines


def lip_offered(number: int, offer: LipOffer, units: str) -> list[str]:
    """One lip, or tie, in a terminal's lines; none where no depth is told of it."""
    words = lip_words(offer, units)
    if words is None:
        return []
    told = f"{number}. {words[0]}" + (f": {_keys(offer.changes)}" if offer.changes else "")
    head = wrap(told, WIDTH, initial_indent="  ", subsequent_indent="     ")
    return [*head, f"     {words[1]}"]


def lip_words(offer: LipOffer, units: str) -> tuple[str, str] | None:
    """What a lip, or tie, is to be and how it runs then; None where no depth is told of it."""
    depth, running = offer.estimate.depth, offer.estimate.runs.running
    if depth is None or running is None:
        return None
    what = ", ".join(_moved(name, by, offer.changes, units) for name, by in offer.moved.items())
    low, high = (depth_text(deep, units) for deep in (depth.low, depth.high))
    deep = f"{low} to {high} deep, likely {depth_text(depth.likely, units, 2)}"
    pitch = degrees(running.pitch)
    nose = f"nose {abs(pitch):.0f} deg {'down' if pitch < 0 else 'up'}"
    return what or "the lip as it is", f"{deep}; {nose}; it pulls {running.pull:.2f} N"


def _moved(name: str, by: float, changes: Mapping[str, object], units: str) -> str:
    much = f"{abs(by):.1f} deg" if name == "angle" else length_text(abs(by), units)
    if name != "tie":
        return f"lip {UP[name][by > 0]} by {much}"
    (key,) = {key.rpartition(".")[2] for key in changes} & TIE.keys()
    return f"tie {TIE[key][by > 0]} by {much}"


def _keys(changes: Mapping[str, object]) -> str:
    return ", ".join(f"{key} = {value}" for key, value in changes.items() if isinstance(value, str)) or "own points"


def _line_instead(aimed: Aimed, units: str) -> list[str]:
    ways = []
    if aimed.line_diameter_mm is not None:
        ways.append(f"{aimed.line_diameter_mm:.2f} mm line")
    if aimed.line_out_m is not None:
        ways.append(f"{depth_text(aimed.line_out_m, units)} of line out")
    lines = [f"  with the lip as it is: {', or '.join(ways)}"] if ways else []
    if aimed.lip_reach_m is not None:
        low, high = (depth_text(depth, units) for depth in aimed.lip_reach_m)
        lines.append(f"  lips that fit reach {low} to {high} in all")
    if aimed.line_reach_m is not None:
        low, high = (depth_text(depth, units) for depth in aimed.line_reach_m)
        more = ": more than any lip" if aimed.line_does_more else ""
        least, most = load("fishing")["aim"]["line_share"]
        lines.append(f"  {least:g} to {most:g} times this line's diameter or length out reach {low} to {high}{more}")
    return lines
