"""Is enough wood left? Bores against the skin, each other and the lip slot; the slot against chin and back.

Knows tools; what a bore leaves under the skin is ``bore_skin.py``'s. Every limit comes from the recipe or from
``tables/limits.toml``.
"""

from dataclasses import fields
from functools import partial

import numpy as np
from numpy.typing import NDArray

from bodygen.findings import Finding, PartKey, Severity
from bodygen.form.cuts.between_bores import STATIONS, at_least, wall_points, wood_between
from bodygen.form.cuts.bore_skin import against_skin
from bodygen.form.cuts.hole import label
from bodygen.form.cuts.skin import Skin
from bodygen.form.cuts.tools import Prism, Revolved, Tool
from bodygen.form.ray_caster import RayCaster
from bodygen.form.triples import inside_polygon
from bodygen.kept import Kept
from bodygen.recipe.model import Limits, Recipe
from bodygen.tables import load

Array = NDArray[np.float64]
REMEDY = {
    "bore-meets-slot": "it runs into the lip slot: move the bore or shorten the slot",
    "bore-near-slot": "move the bore aft or shorten the slot",
    "slot-comes-out": "the slot runs out of the body and cuts the nose off: shorten it, or set it or tilt it otherwise",
    "slot-near-back": "the nose hangs on too little wood: shorten the slot",
}
TO_SLOT = {"hanger": "hanger_to_slot", "tie": "hanger_to_slot", "eye": "eye_to_slot"}


def limits_of(recipe: Recipe) -> dict[str, float]:
    """Least wood left for every rule [mm]: the recipe's own figures, else the table's for this wood.

    A kind's own limit is never more than the recipe asks of every bore. ``hanger_to_skin`` is not among them: it goes
    by each bore's own diameter. ``past_mouth`` is how far in from its mouth a bore is first held against the skin
    beside it: nearer, every skin is near. It is the usual limit, whatever the recipe asks for.

    Common practice, no published source, where ``limits.toml`` names none.

    Examples
    --------
    >>> from bodygen.recipe.model import Stations, Wood
    >>> shape = Stations("bar.csv", ())
    >>> [limits_of(Recipe("bar", "mm", shape, Wood(w)))["bore_to_skin"] / 25.4 for w in ("basswood", "balsa")]
    [0.125, 0.1875]
    """
    table = load("limits")["wood_left"]
    chosen: dict[str, float] = {}
    for field in fields(Limits):
        if field.name == "hanger_to_skin":
            continue
        own = getattr(recipe.limits, field.name)
        special = table.get(f"{field.name}_{recipe.wood.species}_mm")
        chosen[field.name] = float(
            own if own is not None else special if special is not None else table[f"{field.name}_mm"]
        )
    chosen["past_mouth"] = table.get(f"bore_to_skin_{recipe.wood.species}_mm", table["bore_to_skin_mm"])
    for kind in ("hanger_to_slot", "eye_to_slot"):
        if getattr(recipe.limits, kind) is None:
            chosen[kind] = min(chosen[kind], chosen["bore_to_slot"])
    return chosen


def wood_left(recipe: Recipe, tools: tuple[Tool, ...], skin: Skin, caster: RayCaster) -> tuple[Finding, ...]:
    """Every place where a cut leaves too little wood [mm], breaks out, or runs into another.

    Each finding names the source of its limit; the distances are ``bore_skin``'s and elementary between axes.

    Parameters
    ----------
    tools : (Revolved or Prism, ...)
        All cuts, as ``cuts.tools_of`` gives them.
    skin : Skin
        Of the uncut body.

    Returns
    -------
    (Finding, ...)
        Lengths in mm; bores that meet each other twice (mirrored ones) are named once, at the worse place.
    """
    least = limits_of(recipe)
    bores = [t for t in tools if isinstance(t, Revolved) and not t.mirrored]
    every = [t for t in tools if isinstance(t, Revolved)]
    slots = [t for t in tools if isinstance(t, Prism) and t.kind == "slot"]
    found: list[Finding] = []
    for bore in bores:
        found += against_skin(bore, skin, least, recipe.limits)
    for i, bore in enumerate(every):
        for other in every[i + 1 :]:
            if not (bore.mirrored and other.mirrored):
                found += _against_bore(recipe, bore, other, least["bore_to_bore"], skin, caster)
    for slot in slots:
        for bore in bores:
            found += _against_slot(bore, slot, least, skin.kept)
        from_nose = recipe.lip is not None and recipe.lip.entry == "nose"
        follows = "slot in body", slot, tuple(sorted(least.items())), from_nose
        found += skin.kept.of(follows, partial(_slot_in_body, slot, caster, least, from_nose=from_nose))
    kerfs = [t for t in tools if isinstance(t, Prism) and t.kind == "wire"]
    found += [doubt for kerf in kerfs for bore in bores for doubt in _into_kerf(bore, kerf, skin.kept)]
    worst: dict[tuple[str, tuple[PartKey, ...]], Finding] = {}
    for finding in found:
        key = finding.code, finding.about
        if key not in worst or (finding.value or 0.0) < (worst[key].value or 0.0):
            worst[key] = finding
    return tuple(worst.values())


def _rule(
    code: str,
    of: Revolved | str,
    value: float,
    limit: float | None,
    remedy: str = "",
    *,
    other: PartKey | None = None,
    broken: bool = False,
) -> Finding:
    """Doubt a bore, and the ``other`` part that it is too near to; or the lip, by the key that says where."""
    severity: Severity = "error" if broken else "warning"
    where, part = (of, ("lip", 0)) if isinstance(of, str) else (label(of), of.part)
    about = (part,) if other is None else (part, other)
    return Finding(code, severity, where, remedy or REMEDY[code], round(value, 3), limit, "mm", about=about)


def _against_bore(
    recipe: Recipe, bore: Revolved, other: Revolved, limit: float, skin: Skin, caster: RayCaster
) -> list[Finding]:
    if bore.bore == other.bore and bore.through:
        return []
    one, another = recipe.bores[bore.bore], recipe.bores[other.bore]
    if another.name in one.may_meet or one.name in another.may_meet:
        return []
    distance = wood_between(bore, other, limit, skin, caster)
    with_other = label(other) if other.bore != bore.bore else "its mirror image"
    if distance <= 0:
        remedy = f"it runs into {with_other}: move one, or name it in may_meet if that is meant"
        return [_rule("bores-meet", bore, distance, 0.0, remedy, other=other.part, broken=True)]
    if distance < limit:
        remedy = f"little wood is left beside {with_other}: move them apart"
        return [_rule("bores-close", bore, distance, limit, remedy, other=other.part)]
    return []


def _against_slot(bore: Revolved, slot: Prism, least: dict[str, float], kept: Kept) -> list[Finding]:
    limit = least[TO_SLOT.get(bore.kind, "bore_to_slot")]
    if at_least(bore, partial(_off_slot, slot)) > limit:
        return []
    distance = kept.of(("to slot", bore, slot), lambda: float(_off_slot(slot, wall_points(bore)).min()))
    if distance <= 0:
        return [_rule("bore-meets-slot", bore, 0.0, 0.0, other=slot.part, broken=True)]
    return [_rule("bore-near-slot", bore, distance, limit, other=slot.part)] if distance < limit else []


def _off_slot(slot: Prism, points: Array) -> Array:
    """How far points (n, 3) are from the lip slot (n,) [mm]; 0 in it."""
    away = points - np.array(slot.origin)
    across = np.cross(slot.along, slot.normal)
    at = np.stack([away @ np.array(slot.along), away @ np.array(slot.normal), away @ across], axis=1)
    polygon = np.array(slot.polygon)
    low = np.array([-1.0, polygon[:, 1].min(), -slot.half])
    high = np.array([slot.depth, polygon[:, 1].max(), slot.half])
    return np.asarray(np.linalg.norm(np.maximum(np.maximum(low - at, at - high), 0.0), axis=1))


def _into_kerf(bore: Revolved, kerf: Prism, kept: Kept) -> list[Finding]:
    """Say where a bore has no wood around it because a wire's kerf is sawn there."""
    if bore.kind == "any" or bore.through or not kept.of(("meets kerf", bore, kerf), lambda: _meets(bore, kerf)):
        return []
    remedy = (
        f"it runs into {kerf.name}: right for a loop of the wire in it; else there is no wood around it there, move it"
    )
    return [Finding("bore-meets-kerf", "note", label(bore), remedy, about=(bore.part, kerf.part))]


def _meets(bore: Revolved, kerf: Prism) -> bool:
    surface = wall_points(bore)
    axis, ring = surface[:STATIONS], surface[STATIONS:].reshape(STATIONS, -1, 3)
    points = np.concatenate([surface, ((ring + axis[:, None]) / 2).reshape(-1, 3)])
    away = points - np.array(kerf.origin)
    beside = np.abs(away @ np.cross(kerf.along, kerf.normal)) < kerf.half
    in_plane = np.stack([away @ np.array(kerf.along), away @ np.array(kerf.normal)], axis=1)
    inside = inside_polygon(np.array(kerf.polygon), in_plane)
    return bool((inside & beside).any())


def _slot_in_body(slot: Prism, caster: RayCaster, least: dict[str, float], *, from_nose: bool) -> list[Finding]:
    """Slot against the body, all in the mid-plane.

    The chin is the wood under a slot let in from the nose, and the wood ahead of one let in from the belly.
    """
    origin, along, normal = (np.array(v)[[0, 2]] for v in (slot.origin, slot.along, slot.normal))
    half = float(np.array(slot.polygon)[:, 1].max())
    ends = [origin + slot.depth * along + b * normal for b in (half, -half)]
    lower = np.stack([origin + slot.depth * share * along - half * normal for share in np.linspace(0.5, 1.0, 15)])
    wide = max(least["chin"], least["bore_to_skin"])
    places = np.array([*ends, *lower])[:, 0]
    x = np.linspace(max(places.min() - wide, caster.low[0]), min(places.max() + wide, caster.high[0]), 300)
    belly, back = caster.heights(x)
    for end in ends:
        low, high = np.interp(end[0], x, belly), np.interp(end[0], x, back)
        if not (caster.low[0] < end[0] < caster.high[0] and low < end[1] < high):
            return [_rule("slot-comes-out", "lip.slot_depth", slot.depth, None, broken=True)]
    if from_nose:
        chin = float(np.linalg.norm(np.stack([x, belly], axis=1)[:, None] - lower[None], axis=2).min())
        chin_remedy = "a deeper or steeper slot, or one further up"
    else:
        nose = float(caster.low[0])
        (low,), (high,) = caster.heights(np.array([nose]))
        chin = float(np.linalg.norm(origin + half * normal - (nose, (low + high) / 2)))
        chin_remedy = "set the slot further aft"
    above = float(min(np.linalg.norm(np.stack([x, back], axis=1) - end, axis=1).min() for end in ends))
    found = []
    if chin < least["chin"]:
        found.append(_rule("chin-thin", "lip.slot_depth", chin, least["chin"], chin_remedy))
    if above < least["bore_to_skin"]:
        found.append(_rule("slot-near-back", "lip.slot_depth", above, least["bore_to_skin"]))
    return found
