"""Small changes in a finished bait's wood: putty in a bore's open part, a trim bore plugged, metal drilled out.

Knows bores and metals of an answer. Knows no goal, and chooses nothing.
"""

from collections.abc import Iterator
from math import pi

import numpy as np

from bodygen.ballast.answer import Answer
from bodygen.ballast.bore_report import bore_table
from bodygen.flotation.refit import load
from bodygen.form.cuts import Revolved, Tool
from bodygen.form.cuts.wire_checks import to_bore, to_slot
from bodygen.form.integrals import Array
from bodygen.recipe.model import Bore, Fill
from bodygen.tables import load as load_table
from bodygen.trim.candidate import (
    DRILLED,
    OUT,
    PLUG,
    PUTTY,
    Candidate,
    cold_cautions,
    fitting_table,
    free_name,
    on_the_scale,
)
from bodygen.trim.readings import metal_g_cm3
from bodygen.units import length_text
from bodygen.weights.item import MM3_PER_CM3, Item

NEAR_MM = 8.0
"""Mouths of bores that are nearer leave too little wood between them."""
STEPS = 9
"""Places along a hole where it is held against other cuts."""
RING = np.array([[1.0, 0.0], [0.0, 1.0], [-1.0, 0.0], [0.0, -1.0]]) * 0.5**0.5
"""Where the mean over a disc of radius 1 is read: exact of a surface of the second degree."""


def putty(answer: Answer) -> Iterator[Candidate]:
    """Tungsten putty in the part of a ballast bore that its metal leaves open to filler, of a mirror pair in both."""
    dense = metal_g_cm3(load_table("trim")["plug"]["putty"])
    recipe = answer.recipe
    for place, bore in enumerate(recipe.bores):
        fillers = _of(answer, "closing", place)
        volume = _open(answer, place) / max(len(fillers), 1)
        if bore.fill is None or not fillers or volume <= 0:
            continue
        for share in (0.25, 0.5, 0.75, 1.0):
            each = share * volume * (dense - fillers[0].mass * MM3_PER_CM3 / volume) / MM3_PER_CM3
            grams, net = _at_each(fillers, each)
            what = f"tungsten putty in {100 * share:.0f} % of the open part of {bore.name}{_both(fillers)}"
            name = free_name(f"trim putty in {bore.name}", [one.name for one in recipe.fittings])
            fitting = fitting_table(name, each, 0.0, fillers[0].at) | ({"mirror": True} if len(fillers) > 1 else {})
            added = {"rigged": grams}
            changes = {f"fitting[{len(recipe.fittings) + 1}]": fitting, **on_the_scale(recipe, added)}
            yield Candidate(f"{what} ({grams:+.2f} g)", PUTTY, grams, net[1:] / grams, net, changes, added=added)


def _of(answer: Answer, kind: str, place: int) -> list[Item]:
    """What of a kind is in the bore at a place: one item, of a mirror pair two."""
    return [item for item in answer.items if item.kind == kind and item.owner == ("bore", place)]


def _both(items: list[Item]) -> str:
    return ", on both sides" if len(items) > 1 else ""


def _at_each(items: list[Item], grams: float) -> tuple[float, Array]:
    """So many grams at each of the items: all of it [g] and its load (4,) [g, g mm]."""
    return len(items) * grams, np.asarray(sum((load(grams, item.at) for item in items), np.zeros(4)))


def _open(answer: Answer, place: int) -> float:
    """What metal leaves of a bore, of a mirror pair of both [mm^3]."""
    cavities = [one for one in answer.measured.bores if one.index == place]
    return sum(one.cavity.volume - (one.metal.volume if one.metal is not None else 0.0) for one in cavities)


def plugs(answer: Answer, aside: bool) -> Iterator[Candidate]:
    """Trim bores in the belly, filled flush with metal; where a kerf or slot is in the way, one on either side."""
    table, ends = load_table("trim")["plug"], answer.sizes[0] * load_table("trim")["plug"]["from_ends_share"]
    mouths = [np.array(tool.origin) for tool in answer.tools if isinstance(tool, Revolved)]
    for x in np.arange(ends, answer.sizes[0] - ends, table["every_mm"]).tolist():
        for y in table["across_mm"] if aside else [0.0]:
            for d in table["drill_mm"]:
                z, above = _mouth(answer, x, y, d)
                mouth = np.array([x, y, z])
                if not np.isfinite(above) or any(np.linalg.norm(mouth - other) < NEAR_MM for other in mouths):
                    continue
                for deep in table["depth_mm"]:
                    if deep > 0.6 * answer.sizes[1] or deep <= 2 * above:
                        continue
                    if not _meets(answer, mouth, d, deep):
                        yield _plug(answer, mouth, above, d, deep, mirror=False)
                    elif y == 0:
                        yield from _on_both_sides(answer, x, d, deep)


def _on_both_sides(answer: Answer, x: float, d: float, deep: float) -> Iterator[Candidate]:
    y = float(load_table("trim")["plug"]["beside_mm"])
    z, above = _mouth(answer, x, y, d)
    mouth = np.array([x, y, z])
    if np.isfinite(above) and deep > 2 * above and not _meets(answer, mouth, d, deep):
        yield _plug(answer, mouth, above, d, deep, mirror=True)


def _meets(answer: Answer, mouth: Array, d: float, deep: float) -> bool:
    """Whether a hole straight up from there runs into another cut: what it takes out is not wood then."""
    places = mouth + np.outer(np.linspace(0.0, deep, STEPS), [0.0, 0.0, 1.0])
    return any(_gap(places, tool) < d / 2 for tool in answer.tools)


def _gap(places: Array, tool: Tool) -> float:
    """From places (n, 3) on a line to a cut, below 0 in it [mm]; beside a saw cut, to its flat side."""
    if isinstance(tool, Revolved):
        return float(to_bore(places, tool).min())
    across = np.cross(tool.along, tool.normal)
    beside = np.abs((places - np.array(tool.origin)) @ across).min() - tool.half
    return float(max(beside, to_slot(places, tool).min()))


def _plug(answer: Answer, mouth: Array, above: float, d: float, deep: float, *, mirror: bool) -> Candidate:
    """One bore plugged flush, or a mirror pair."""
    table, recipe, wood = load_table("trim")["plug"], answer.recipe, answer.wood.g_cm3
    x, y, _ = mouth.tolist()
    cm3 = (1 + mirror) * pi / 4 * d**2 * (deep - above) / MM3_PER_CM3
    grams = cm3 * (metal_g_cm3(table["metal"]) - wood)
    at = mouth + np.array([0.0, -y if mirror else 0.0, (deep + above) / 2])
    name = free_name("trim bore", [bore.name for bore in recipe.bores])
    fill = Fill(table["metal"])
    bore = Bore(name, "ballast", "belly", d, deep, x=x, offset=y, tip="flat", fill=fill, mirror=mirror)
    added = {"drilled": -cm3 * wood, "ballast": grams}
    words, key = _plug_words(answer, d, deep, (x, y), grams, mirror=mirror), f"bore[{len(recipe.bores) + 1}]"
    changes = {key: bore_table(bore, recipe.units), **on_the_scale(recipe, added)}
    return Candidate(words, PLUG, grams, at, load(grams, at), changes, DRILLED, bore, added=added)


def _mouth(answer: Answer, x: float, y: float, d: float) -> tuple[float, float]:
    """Height of the belly at a place, and how far it lies above that in the mean over a drill's width [mm]; or nan."""
    below = answer.caster.low[2] - 1.0
    places = np.array([x, y]) + d / 2 * np.vstack([np.zeros(2), RING])
    origins = np.column_stack([places, np.full(len(places), below)])
    hits = answer.caster.lines(origins, np.tile([0.0, 0.0, 1.0], (len(places), 1)))
    if not all(len(hit) for hit in hits):
        return np.nan, np.nan
    first, *around = (below + float(hit[0]) for hit in hits)
    return first, float(np.mean(around)) - first


def _plug_words(
    answer: Answer, d: float, deep: float, place: tuple[float, float], grams: float, *, mirror: bool
) -> str:
    units, (x, y) = answer.recipe.units, place
    metal = load_table("metals")["metal"][load_table("trim")["plug"]["metal"]]["name"]
    side = "either side" if mirror else "the right" if y > 0 else "the left"
    off = "" if not y else f", {length_text(abs(y), units)} to {side}"
    bores = "a trim bore from the belly" if not mirror else "two trim bores from the belly"
    return (
        f"{bores} at {length_text(x, units)}{off}: {d:g} mm drill, {length_text(deep, units)} deep, "
        f"plugged flush with {metal} ({grams:+.2f} g)"
    )


def taken_out(answer: Answer) -> Iterator[Candidate]:
    """Ballast drilled out from the mouth of its bore, of a mirror pair of both, and made good with wood as light."""
    wood, recipe = answer.wood.g_cm3, answer.recipe
    for place, bore in enumerate(recipe.bores):
        metals = [item for item in _of(answer, "metal", place) if item.displaces]
        if not metals or bore.fill is None:
            continue
        area, one = pi / 4 * bore.diameter**2, metals[0]
        for deep in load_table("trim")["shave"]["out_mm"]:
            if area * deep > 0.8 * one.displaces:
                continue
            each = area * deep * (wood - one.mass * MM3_PER_CM3 / one.displaces) / MM3_PER_CM3
            grams, net = _at_each(metals, each)
            drill = length_text(bore.diameter, recipe.units)
            what = (
                f"{length_text(deep, recipe.units)} of the metal in {bore.name}{_both(metals)} drilled out with a "
                f"drill of {drill}, a plug of the same wood in its place ({grams:+.2f} g)"
            )
            changes: dict[str, object] = {f"bore[{place + 1}].fill.mass": f"{one.mass + each:.3f} g"}
            added = {"ballast": grams}
            changes |= on_the_scale(recipe, added)
            cautions = (*DRILLED, *cold_cautions(bore.fill.metal))
            yield Candidate(what, OUT, grams, net[1:] / grams, net, changes, cautions, added=added)
