"""The numbers that a maker asks for, in words: one sentence of what the bait will do, some more, the scale's row."""

from collections.abc import Sequence
from typing import Any

from bodygen.assessment import Assessment, answer_of
from bodygen.recipe.model import Recipe
from bodygen.report.blocks import goal_text, spread_text
from bodygen.report.dive import depth_text
from bodygen.report.properties import properties
from bodygen.report.sheet import called_for
from bodygen.report.summary import ON_THE_SCALE
from bodygen.serve.answer.known import Known, stages_of
from bodygen.tables import load
from bodygen.units import length_text, mass_text

LEVEL_DEG = 0.5
"""Nearer than that a bait is told to lie level."""


def sentence_of(known: Known) -> str:
    """What it will do, in one sentence: how it lies, what it carries, how deep it runs where that is known."""
    f, units = known.flotation, known.recipe.units
    at = f.attitude
    lies = "level"
    if abs(at.pitch_deg) >= LEVEL_DEG:
        lies = f"nose {'up' if at.pitch_deg > 0 else 'down'} {abs(at.pitch_deg):.1f} deg"
    if at.roll_deg is not None and abs(at.roll_deg) >= LEVEL_DEG:
        lies += f", rolled {abs(at.roll_deg):.0f} deg"
    grams = f"{abs(f.reserve_g):.2f} g"
    text = {
        "floats": f"Floats {lies} with {grams} to spare",
        "suspends": f"Hangs in the water, {lies}",
        "sinks": f"Sinks {lies}, {grams} too heavy to float",
    }[f.state]
    dive = known.dive if isinstance(known, Assessment) else None
    if dive is None or dive.depth is None or dive.asked.conditions is None:
        return text
    deep = f"{depth_text(dive.depth.low, units)} to {depth_text(dive.depth.high, units)}"
    line = dive.asked.conditions
    out = depth_text(line.line_out_m, units, 0)
    return f"{text}; runs {deep} on {out} of {length_text(line.line_diameter_mm, 'mm')}"


def sentences_of(known: Known) -> list[str]:
    """What else a maker asks, a sentence each."""
    units, f = known.recipe.units, known.flotation
    length, depth, thick = (length_text(size, units) for size in known.shaped.sizes)
    at = f.attitude
    said = [
        f"{length} long, {depth} deep, {thick} thick",
        f"{mass_text(known.total.mass, units)} in all, pushes {f.displaced_cm3:.2f} cm3 of water aside",
    ]
    if f.state == "floats" and at.freeboard_mm is not None:
        said.append(f"{length_text(at.freeboard_mm, units)} of it stands above the water")
        said.append(f"GM {at.gm_mm:.2f} mm across, {at.gml_mm:.1f} mm along: how stiffly it stands")
    if isinstance(known, Assessment):
        others = len(f.others)
        said += [f"lies also in {others} other way{'s' if others > 1 else ''}"] if others else []
        said += [line.strip() for line in spread_text(known.spread)] if known.spread else []
        said += [line.strip() for line in goal_text(answer_of(known))]
        if known.dive is not None and known.dive.refused:
            said.append(f"no depth is told: {known.dive.refused}")
    return said


def scale_of(known: Known) -> list[dict[str, Any]]:
    """What the scale should read at every step, and what it did."""
    weighed = dict(known.recipe.weighed)
    return [
        {
            "stage": stage.name,
            "key": f"weighed.{stage.name}",
            "mass_g": stage.mass,
            "tolerance_g": stage.tolerance,
            "weighed_g": weighed.get(stage.name),
            "text": ON_THE_SCALE.get(stage.name, "the squared block"),
        }
        for stage in stages_of(known)
    ]


def figures_of(known: Known) -> dict[str, Any]:
    """Figures by name: all of ``properties.json``; of a glance those that it knows, under the same names."""
    if isinstance(known, Assessment):
        return properties(known)
    f, at = known.flotation, known.flotation.attitude
    return {
        "total": {"mass_g": known.total.mass, "centre_of_mass_mm": known.total.centre_of_mass.tolist()},
        "float": {
            "water_g_cm3": f.water_g_cm3,
            "state": f.state,
            "reserve_g": f.reserve_g,
            "pitch_deg": at.pitch_deg,
            "roll_deg": at.roll_deg,
            "freeboard_mm": at.freeboard_mm,
            "gm_mm": at.gm_mm,
            "gml_mm": at.gml_mm,
            "submerged_cm3": at.submerged_cm3,
        },
    }


def refusal_of(mistakes: Sequence[Any]) -> list[dict[str, Any]]:
    """Every mistake as data: line, key, what was written, and what is wrong and accepted."""
    return [
        {
            "line": m.line,
            "key": m.key,
            "wrote": m.written,
            "message": m.problem,
            "accepted": m.accepted,
        }
        for m in mistakes
    ]


def care_of(recipe: Recipe) -> dict[str, Any]:
    """What to take care of at each group of the bench, as title and text, and the sentence that defers."""
    table, called = load("cautions"), called_for(recipe)
    glued = ["epoxy_skin"] if recipe.lip is not None else []
    wires = ["wire_ends"] if any(fitting.kind == "wire" for fitting in recipe.fittings) else []
    groups = {
        "wood": [*called["bench"], *called["wood"]],
        "metal": called["metal"],
        "lip": [*called["sheet"], *glued],
        "hooks": [*called["hooks"], *wires],
        "finish": called["coat"],
        "tub": called["hooks"],
    }
    told = {
        group: [{"title": row["title"], "text": row["text"]} for row in map(table["caution"].get, dict.fromkeys(keys))]
        for group, keys in groups.items()
    }
    return {"groups": told, "defer": table["defer"]["text"]}
