"""Is enough wood left? Bores against the skin, each other and the lip slot; the slot against chin and back.

Knows tools and points of the skin; every limit comes from the recipe or from ``tables/limits.toml``.
"""

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from bodygen.findings import Finding
from bodygen.form.cuts import Prism, Probe, Revolved, Tool, square_to
from bodygen.recipe.model import Limits, Recipe
from bodygen.tables import load

Array = NDArray[np.float64]
FACING = 0.5
"""Skin whose normal lies within 60 degrees of the drill's way belongs to the mouth, or at the far end to the exit."""


@dataclass(frozen=True, slots=True)
class Skin:
    """Points of the skin (n, 3) [mm] with unit outward normals (n, 3)."""

    points: Array
    normals: Array


def limits_of(recipe: Recipe) -> dict[str, float]:
    """Least wood left for every rule [mm]: the recipe's own figures, else the table's for this wood."""
    table = load("limits")["wood_left"]
    chosen: dict[str, float] = {}
    for field in fields(Limits):
        own = getattr(recipe.limits, field.name)
        special = table.get(f"{field.name}_{recipe.wood.species}_mm")
        chosen[field.name] = float(
            own if own is not None else special if special is not None else table[f"{field.name}_mm"]
        )
    return chosen


def wood_left(recipe: Recipe, tools: tuple[Tool, ...], skin: Skin, probe: Probe) -> tuple[Finding, ...]:
    """Every place where a cut leaves too little wood, breaks out, or runs into another."""
    least = limits_of(recipe)
    bores = [t for t in tools if isinstance(t, Revolved) and not t.mirrored]
    every = [t for t in tools if isinstance(t, Revolved)]
    slots = [t for t in tools if isinstance(t, Prism) and t.kind == "slot"]
    found: list[Finding] = []
    for bore in bores:
        found += _against_skin(bore, skin, least)
    for i, bore in enumerate(every):
        for other in every[i + 1 :]:
            if not (bore.mirrored and other.mirrored):
                found += _against_bore(recipe, bore, other, least)
    for slot in slots:
        for bore in bores:
            found += _against_slot(bore, slot, least)
        found += _slot_in_body(slot, probe, least, from_nose=recipe.lip is not None and recipe.lip.entry == "nose")
    return tuple(found)


def _rule(code: str, where: str, value: float, limit: float, remedy: str, severity: str = "warning") -> Finding:
    return Finding(code, "error" if severity == "error" else "warning", where, remedy, round(value, 3), limit, "mm")


def _label(bore: Revolved) -> str:
    return f"bore[{bore.bore + 1}] {bore.name}"


def _in_profile(bore: Revolved, points: Array) -> tuple[Array, Array]:
    """Distance along the axis and signed distance to the hole, negative inside (n,), for points (n, 3) [mm]."""
    away = points - np.array(bore.origin)
    s = away @ np.array(bore.axis)
    r = np.linalg.norm(away - s[:, None] * np.array(bore.axis), axis=1)
    profile = np.array(bore.profile)
    # outside the skin the drill's path is air: begin at the mouth
    wide = np.interp(0.0, profile[:, 0], profile[:, 1])
    within = profile[profile[:, 0] > 0]
    if bore.through:
        within = np.array([[bore.point, bore.diameter / 2], [bore.point, 0.0]])
    outline = np.concatenate([[[0.0, 0.0], [0.0, wide]], within])
    start, step = outline[:-1], np.diff(outline, axis=0)
    at = np.stack([s, r], axis=1)[:, None]
    length = np.maximum((step**2).sum(axis=1), 1e-18)
    share = np.clip(((at - start) * step).sum(axis=2) / length, 0.0, 1.0)
    distance = np.linalg.norm(at - start - share[..., None] * step, axis=2).min(axis=1)
    inside = (s > 0) & (s < bore.point) & (r < np.interp(s, outline[1:, 0], outline[1:, 1]))
    return s, np.where(inside, -distance, distance)


def _against_skin(bore: Revolved, skin: Skin, least: dict[str, float]) -> list[Finding]:
    limit = least["bore_to_skin"]
    s, distance = _in_profile(bore, skin.points)
    facing = skin.normals @ np.array(bore.axis)
    away_from_mouth = facing > -FACING
    flank = away_from_mouth & (facing < FACING) if bore.through else away_from_mouth
    out = flank & (distance < 0) & (s > bore.diameter / 2)
    if out.any():
        worst = skin.points[out][np.argmin(distance[out])]
        return [
            _rule(
                "bore-breaks-out",
                _label(bore),
                float(distance[out].min()),
                0.0,
                f"it comes out through the skin near x = {worst[0]:.1f} mm: drill less deep, thinner, or elsewhere",
                "error",
            )
        ]
    if bore.kind == "ballast":
        back = away_from_mouth & (facing > FACING)
        if back.any() and distance[back].min() < least["ballast_to_back"]:
            return [
                _rule(
                    "ballast-near-back",
                    _label(bore),
                    float(distance[back].min()),
                    least["ballast_to_back"],
                    "less depth and a wider drill hold the same metal lower",
                )
            ]
    near = flank & (s > limit) & (distance < limit)
    if near.any():
        return [
            _rule(
                "bore-near-skin",
                _label(bore),
                float(distance[near].min()),
                limit,
                "a thinner drill, less depth, or a thicker place",
            )
        ]
    return []


def _surface(bore: Revolved) -> Array:
    """Points on the hole's wall and its axis, from the mouth inwards (n, 3) [mm]."""
    profile = np.array(bore.profile)
    s = np.linspace(0.0, bore.point, 40)
    r = np.interp(s, profile[:, 0], profile[:, 1])
    first, second = square_to(bore.axis)
    angle = np.linspace(0, 2 * np.pi, 24, endpoint=False)
    ring = np.cos(angle)[:, None] * first + np.sin(angle)[:, None] * second
    axis = np.array(bore.origin) + s[:, None] * np.array(bore.axis)
    return np.concatenate([axis, (axis[:, None] + r[:, None, None] * ring).reshape(-1, 3)])


def _against_bore(recipe: Recipe, bore: Revolved, other: Revolved, least: dict[str, float]) -> list[Finding]:
    if bore.bore == other.bore and bore.through:
        return []
    allowed = recipe.bores[bore.bore].may_meet + recipe.bores[other.bore].may_meet
    if other.name in allowed or bore.name in allowed:
        return []
    distance = float(min(_in_profile(other, _surface(bore))[1].min(), _in_profile(bore, _surface(other))[1].min()))
    where = _label(bore)
    with_other = _label(other) if other.bore != bore.bore else "its mirror image"
    if distance <= 0:
        remedy = f"it runs into {with_other}: move one, or name it in may_meet if that is meant"
        return [_rule("bores-meet", where, distance, 0.0, remedy, "error")]
    if distance < least["bore_to_bore"]:
        return [
            _rule(
                "bores-close",
                where,
                distance,
                least["bore_to_bore"],
                f"little wood is left beside {with_other}: move them apart",
            )
        ]
    return []


def _against_slot(bore: Revolved, slot: Prism, least: dict[str, float]) -> list[Finding]:
    points = _surface(bore) - np.array(slot.origin)
    across = np.cross(slot.along, slot.normal)
    at = np.stack([points @ np.array(slot.along), points @ np.array(slot.normal), points @ across], axis=1)
    polygon = np.array(slot.polygon)
    low = np.array([-1.0, polygon[:, 1].min(), -slot.half])
    high = np.array([slot.depth, polygon[:, 1].max(), slot.half])
    outside = np.linalg.norm(np.maximum(np.maximum(low - at, at - high), 0.0), axis=1)
    distance = float(outside.min())
    if distance <= 0:
        return [
            _rule(
                "bore-meets-slot",
                _label(bore),
                0.0,
                0.0,
                "it runs into the lip slot: move the bore or shorten the slot",
                "error",
            )
        ]
    if distance < least["bore_to_slot"]:
        return [
            _rule(
                "bore-near-slot", _label(bore), distance, least["bore_to_slot"], "move the bore aft or shorten the slot"
            )
        ]
    return []


def _slot_in_body(slot: Prism, probe: Probe, least: dict[str, float], *, from_nose: bool) -> list[Finding]:
    """Slot against the body. The chin: wood under a slot let in from the nose, wood ahead of one let in from the belly."""
    origin, along, normal = (np.array(v)[[0, 2]] for v in (slot.origin, slot.along, slot.normal))
    x = np.linspace(probe.low[0], probe.high[0], 1500)
    belly, back = probe.heights(x)
    half = float(np.array(slot.polygon)[1, 1])
    ends = [origin + slot.depth * along + b * normal for b in (half, -half)]
    lower = np.stack([origin + slot.depth * share * along + half * normal for share in np.linspace(0.5, 1.0, 15)])
    for end in ends:
        low, high = np.interp(end[0], x, belly), np.interp(end[0], x, back)
        if not (x[0] < end[0] < x[-1] and low < end[1] < high):
            return [
                Finding(
                    "slot-comes-out",
                    "error",
                    "lip.slot_depth",
                    "the slot runs out of the body and cuts the nose off: "
                    "shorten it, or give it another angle or place",
                    slot.depth,
                    None,
                    "mm",
                )
            ]
    if from_nose:
        chin = float(np.linalg.norm(np.stack([x, belly], axis=1)[:, None] - lower[None], axis=2).min())
    else:
        chin = float(np.linalg.norm(origin - half * normal - (x[0], (belly[0] + back[0]) / 2)))
    found = []
    if chin < least["chin"]:
        found.append(
            _rule(
                "chin-thin",
                "lip.slot_depth",
                chin,
                least["chin"],
                "a deeper or steeper slot, or one further up" if from_nose else "set the slot further aft",
            )
        )
    roof = np.stack([x, back], axis=1)
    above = float(min(np.linalg.norm(roof - end, axis=1).min() for end in ends))
    if above < least["bore_to_skin"]:
        found.append(
            _rule(
                "slot-near-back",
                "lip.slot_depth",
                above,
                least["bore_to_skin"],
                "the nose hangs on too little wood: shorten the slot",
            )
        )
    return found
