"""What ``bodygen ballast`` answers, as JSON and in words."""

import textwrap
from dataclasses import asdict
from math import degrees
from typing import Any

from bodygen import tables
from bodygen.ballast.bore_report import BoreReport, bore_table
from bodygen.ballast.offer import Offer
from bodygen.ballast.solve import Solution
from bodygen.ballast.wood import limit_words
from bodygen.recipe.model import Recipe, Units
from bodygen.recipe.paste import table_text
from bodygen.report.dive import depth_text, is_not
from bodygen.report.summary import findings_text
from bodygen.units import length_text, mass_text

WIDTH = 100
ON_THE_SCALE = "the drilled body with its hangers and all of this ballast, before any coat"


def solution_document(solution: Solution) -> dict[str, Any]:
    """What ``ballast --json`` prints."""
    s, goal = solution, solution.goal
    return {
        "format": 1,
        "name": s.given.recipe.name,
        "goal": {
            "reserve_g": s.reserve_g,
            "pitch_deg": None if goal.pitch is None else degrees(goal.pitch),
            "waterline_x_mm": None if goal.waterline is None else goal.waterline.x,
            "waterline_height_mm": None if goal.waterline is None else goal.waterline.height,
            "speed_m_s": goal.sinks_at or goal.rises_at,
            "bores": s.mode,
        },
        "water_g_cm3": s.given.flotation.water_g_cm3,
        "given": {"reserve_g": s.given.flotation.reserve_g, "pitch_deg": s.given.flotation.attitude.pitch_deg},
        "drag": {"area_mm2": s.drag.area, "low": s.drag.low, "likely": s.drag.likely, "high": s.drag.high},
        "offers": [_offer(offer) for offer in s.offers],
        "depth_is_not": is_not() if any(offer.depth_m for offer in s.offers) else None,
        "findings": [finding.document(s.given.recipe.units) for finding in s.findings],
    }


def solution_text(solution: Solution, *, colour: bool = False) -> str:
    """The answer in words: what was asked, each way to have it and what it costs, what stops it, cautions."""
    s, units = solution, solution.given.recipe.units
    given = s.given.flotation
    lines = [f"{s.given.recipe.name}: {_asked(s)}", ""]
    lines.append(
        f"  as it is: {given.state} with a reserve of {given.reserve_g:+.2f} g, {given.attitude.pitch_deg:+.1f} deg,"
        f" in water of {given.water_g_cm3:.4f} g/cm3"
    )
    for number, offer in enumerate(s.offers, 1):
        lines += ["", *offered(number, offer, units)]
    lines += _lead_or_not(s, units)
    if s.offers and s.offers[0].met:
        lines += ["", *_for_the_recipe(s.given.recipe, s.offers[0])]
    if any(offer.depth_m for offer in s.offers):
        lines += ["", *textwrap.wrap(f"How deep it runs: {is_not()}", WIDTH)]
    if s.findings:
        lines += ["", *findings_text(s.findings, units, colour=colour)]
    return "\n".join([*lines, *_cautions(s)]) + "\n"


def _for_the_recipe(given: Recipe, offer: Offer) -> list[str]:
    """The first offer's bores to paste, each with the place that it belongs in; what goes out."""
    without = f", without {', '.join(offer.left_out)}" if offer.left_out else ""
    lines = [f"For the recipe, the first of them{without}:"]
    places = {bore.name: number for number, bore in enumerate(given.bores, 1)}
    names = {bore.name for bore in offer.bores}
    for bore in offer.recipe.bores:
        if bore.name in names:
            place = f"in the place of bore[{places[bore.name]}]" if bore.name in places else "new, behind the last bore"
            lines += [
                f"    # {place}",
                *(f"    {line}" for line in table_text("bore", bore_table(bore, given.units)).splitlines()),
            ]
    return lines


def bores_toml(offer: Offer) -> str:
    """The offer's bores as a recipe has them, to paste in the place of the old ones."""
    names = {bore.name for bore in offer.bores}
    tables_ = (bore_table(bore, offer.recipe.units) for bore in offer.recipe.bores if bore.name in names)
    return "\n".join(table_text("bore", table) for table in tables_)


def _asked(solution: Solution) -> str:
    goal, parts = solution.goal, []
    if goal.sinks_at is not None or goal.rises_at is not None:
        way = "sinks" if goal.sinks_at is not None else "rises"
        d = solution.drag
        parts.append(
            f"{way} at {goal.sinks_at or goal.rises_at:g} m/s, an estimate: drag coefficient {d.likely:.2f}"
            f" ({d.low:.2f} to {d.high:.2f}) on a silhouette of {d.area / 100:.1f} cm2"
        )
    if solution.reserve_g is not None:
        parts.append(f"a reserve of {solution.reserve_g:+.2f} g")
    if goal.suspends_at is not None:
        parts.append(f"in water of {goal.suspends_at:g} degC")
    if goal.pitch is not None:
        parts.append(f"nose {abs(degrees(goal.pitch)):.1f} deg {'up' if goal.pitch >= 0 else 'down'}")
    if goal.waterline is not None:
        units = solution.given.recipe.units
        height, x = (length_text(length, units) for length in (goal.waterline.height, goal.waterline.x))
        parts.append(f"water at z = {height} over x = {x}")
    return ", ".join(parts)


def offered(number: int, offer: Offer, units: Units) -> list[str]:
    """One offer in words; the first line names it."""
    mark = "" if offer.met else "  NOT WHAT WAS ASKED; the nearest" if number == 1 else "  not what was asked"
    metals = ", ".join(dict.fromkeys(_metal_name(bore.metal) for bore in offer.bores))
    lines = [f"{number}. {metals}, {mass_text(offer.mass_g, units)}{mark}"]
    for bore in offer.bores:
        fill = "" if bore.level >= 1 else f", filled to {100 * bore.level:.0f} % of that"
        lines.append(
            f"   {bore.name}: {bore.bit_text}, {bore.depth_text}{fill}, at x = {length_text(bore.x_mm, units)}"
        )
    roll = "" if offer.roll_deg is None or abs(offer.roll_deg) < 0.05 else f", rolled {offer.roll_deg:.0f} deg"
    lines.append(
        f"   {offer.state} with a reserve of {offer.reserve_g:+.2f} g (a half step of depth: {offer.within_g:.2f} g),"
        f" {offer.pitch_deg:+.1f} deg{roll}, GM {offer.gm_mm:.2f} mm"
    )
    if offer.left_out:
        lines.append(f"   without {', '.join(offer.left_out)}")
    if offer.waterline_mm is not None:
        lines.append(f"   water at z = {length_text(offer.waterline_mm, units)} over the station")
    if offer.speed_m_s is not None:
        slow, likely, quick = offer.speed_m_s
        lines.append(f"   moves at {likely:.2f} m/s or so, between {slow:.2f} and {quick:.2f}")
    if offer.depth_m is not None:
        low, middle, high = (depth_text(depth, units) for depth in offer.depth_m)
        lines.append(f"   runs {low} to {high} deep, likely {middle}")
    if offer.wood_to_back_mm is not None:
        lines.append(f"   {length_text(offer.wood_to_back_mm, units)} of wood left to the back")
    lines.append(f"   stop when the scale reads {mass_text(offer.scale_g, units)}: {ON_THE_SCALE}")
    return lines + [f"   leaves {limit_words(finding, units)}" for finding in offer.findings]


def _lead_or_not(solution: Solution, units: Units) -> list[str]:
    """What lead-free costs, where both ways were found."""
    met = [offer for offer in solution.offers if offer.met and len(offer.bores) == 1]
    free = next((offer for offer in met if offer.lead_free), None)
    lead = next((offer for offer in met if not offer.lead_free), None)
    if free is None or lead is None:
        return []
    one, other = free.bores[0], lead.bores[0]
    deeper = one.depth_mm - other.depth_mm
    how = f"{length_text(abs(deeper), units)} {'deeper' if deeper >= 0 else 'less deep'}"
    drills = f"drill {one.drill or one.diameter_mm} for {other.drill or other.diameter_mm}"
    return ["", f"Lead-free instead of lead: {how}, {drills}, GM {free.gm_mm:.2f} for {lead.gm_mm:.2f} mm."]


def _cautions(solution: Solution) -> list[str]:
    """The cautions of the metals on offer, once each, and whose word rules."""
    metals, known = tables.load("metals")["metal"], tables.load("cautions")
    keys = dict.fromkeys(key for offer in solution.offers for key in _cautions_of(metals[offer.metal], offer))
    if not keys:
        return []
    lines = [""]
    for key in keys:
        caution = known["caution"][key]
        lines += textwrap.wrap(
            f"{caution['title']}. {caution['text']}", WIDTH, initial_indent="! ", subsequent_indent="  "
        )
    return lines + textwrap.wrap(known["defer"]["text"], WIDTH)


def _cautions_of(row: dict[str, Any], offer: Offer) -> list[str]:
    """A solid piece is not poured."""
    poured = any(bore.placed == "poured" for bore in offer.bores)
    return [key for key in row["cautions"] if poured or key not in {"lead_pouring", "hot_metal"}]


def _metal_name(metal: str) -> str:
    return str(tables.load("metals")["metal"][metal]["name"])


def _bore(bore: BoreReport) -> dict[str, Any]:
    return asdict(bore)


def _offer(offer: Offer) -> dict[str, Any]:
    plain = ("mass_g", "metal", "lead_free", "state", "reserve_g", "pitch_deg", "roll_deg", "gm_mm", "gml_mm")
    more = ("waterline_mm", "wood_to_back_mm", "within_g", "within_deg", "scale_g", "met", "changes")
    speed, depth = (
        None if three is None else dict(zip(("low", "likely", "high"), three, strict=True))
        for three in (offer.speed_m_s, offer.depth_m)
    )
    return {
        "bores": [_bore(bore) for bore in offer.bores],
        **{name: getattr(offer, name) for name in (*plain, *more)},
        "speed_m_s": speed,
        "depth_m": depth,
        "bores_toml": bores_toml(offer),
        "findings": [finding.document(offer.recipe.units) for finding in offer.findings],
    }
