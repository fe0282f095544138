"""Is enough wood left? Bores against the skin, each other and the lip slot; the slot against chin and back.

Knows tools and facets of the skin; every limit comes from the recipe or from ``tables/limits.toml``.
"""

from dataclasses import dataclass, fields
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from bodygen.findings import Finding, Part, Severity
from bodygen.form.cuts import Prism, Probe, Revolved, Tool, square_to
from bodygen.recipe.model import Limits, Recipe
from bodygen.tables import load

Array = NDArray[np.float64]
FACING = 0.5
"""Skin whose normal lies within 60 degrees of the drill's way belongs to the mouth, or at the far end to the exit."""
CLOSE_MM = 0.02
"""How near the least distance to the skin is found."""
REMEDY = {
    "ballast-near-back": "less depth and a wider drill hold the same metal lower",
    "bore-near-skin": "a thinner drill, less depth, or a thicker place",
    "bore-meets-slot": "it runs into the lip slot: move the bore or shorten the slot",
    "bore-near-slot": "move the bore aft or shorten the slot",
    "slot-comes-out": "the slot runs out of the body and cuts the nose off: shorten it, or set it or tilt it otherwise",
    "slot-near-back": "the nose hangs on too little wood: shorten the slot",
}


@dataclass(frozen=True, slots=True, eq=False)
class Skin:
    """Facets of the skin: corners (m, 3, 3) [mm], counter-clockwise from outside, and unit outward normals (m, 3)."""

    corners: Array
    normals: Array


def skin_of(vertices: Array, faces: NDArray[np.int64]) -> Skin:
    """The skin of a closed mesh: vertices (n, 3) [mm], faces (m, 3); facets without area are left out."""
    corners = vertices[faces]
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    size = np.linalg.norm(normals, axis=1)
    return Skin(corners[size > 0], normals[size > 0] / size[size > 0, None])


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
    """Every place where a cut leaves too little wood, breaks out, or runs into another.

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
        found += _against_skin(bore, skin, least)
    for i, bore in enumerate(every):
        for other in every[i + 1 :]:
            if not (bore.mirrored and other.mirrored):
                found += _against_bore(recipe, bore, other, least)
    for slot in slots:
        for bore in bores:
            found += _against_slot(bore, slot, least)
        found += _slot_in_body(slot, probe, least, from_nose=recipe.lip is not None and recipe.lip.entry == "nose")
    worst: dict[tuple[str, tuple[Part, ...]], Finding] = {}
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
    other: Part | None = None,
    broken: bool = False,
) -> Finding:
    """Doubt a bore, and the ``other`` part that it is too near to; or the lip, by the key that says where."""
    severity: Severity = "error" if broken else "warning"
    where, part = (of, ("lip", 0)) if isinstance(of, str) else (_label(of), of.part)
    about = (part,) if other is None else (part, other)
    return Finding(code, severity, where, remedy or REMEDY[code], round(value, 3), limit, "mm", about=about)


def _label(bore: Revolved) -> str:
    return f"bore[{bore.bore + 1}] {bore.name}"


def _in_profile(bore: Revolved, points: Array) -> tuple[Array, Array]:
    """Distance along the axis and signed distance to the hole, negative inside (n,), for points (n, 3) [mm]."""
    away = points - np.array(bore.origin)
    s = away @ np.array(bore.axis)
    r = np.sqrt(np.maximum(np.einsum("ij,ij->i", away, away) - s * s, 0.0))
    profile = np.array(bore.profile)
    # outside the skin the drill's path is air: begin at the mouth
    wide = float(np.interp(0.0, profile[:, 0], profile[:, 1]))
    within = profile[profile[:, 0] > 0]
    if bore.through:
        within = np.array([[bore.point, bore.diameter / 2], [bore.point, 0.0]])
    outline = np.concatenate([[[0.0, 0.0], [0.0, wide]], within])
    nearest = np.full(len(points), np.inf)
    for (s0, r0), (s1, r1) in pairwise(outline.tolist()):
        ds, dr = s1 - s0, r1 - r0
        share = np.clip(((s - s0) * ds + (r - r0) * dr) / max(ds * ds + dr * dr, 1e-18), 0.0, 1.0)
        nearest = np.minimum(nearest, (s - s0 - share * ds) ** 2 + (r - r0 - share * dr) ** 2)
    distance = np.sqrt(nearest)
    inside = (s > 0) & (s < bore.point) & (r < np.interp(s, outline[1:, 0], outline[1:, 1]))
    return s, np.where(inside, -distance, distance)


def _against_skin(bore: Revolved, skin: Skin, least: dict[str, float]) -> list[Finding]:
    limit, to_back = least["bore_to_skin"], least["ballast_to_back"]
    facing = skin.normals @ np.array(bore.axis)
    away_from_mouth = facing > -FACING
    flank = away_from_mouth & (facing < FACING) if bore.through else away_from_mouth
    distance, place = _nearest(bore, skin.corners[flank], bore.diameter / 2, 0.0)
    if distance < 0:
        remedy = f"it comes out through the skin near x = {place[0]:.1f} mm: drill less deep, thinner, or elsewhere"
        return [_rule("bore-breaks-out", bore, distance, 0.0, remedy, broken=True)]
    if bore.kind == "ballast":
        back = away_from_mouth & (facing > FACING)
        distance, _ = _nearest(bore, skin.corners[back], -np.inf, to_back)
        if distance < to_back:
            return [_rule("ballast-near-back", bore, distance, to_back)]
    distance, _ = _nearest(bore, skin.corners[flank], limit, limit)
    return [_rule("bore-near-skin", bore, distance, limit)] if distance < limit else []


def _nearest(bore: Revolved, corners: Array, beyond: float, within: float) -> tuple[float, Array]:
    """Least signed distance from a hole to skin that lies deeper than ``beyond`` along its axis, and where that is.

    Facets (m, 3, 3) that may hold a nearer place than any found are quartered until none may, by more than
    ``CLOSE_MM``. Only distances below ``within`` are looked for; infinite when there is none [mm].
    """
    best, place = np.inf, np.zeros(3)
    middle = np.array(bore.origin) + bore.point / 2 * np.array(bore.axis)
    reach = bore.point / 2 + max(r for _, r in bore.profile) + within
    far = np.linalg.norm(corners[:, 0] - middle, axis=1) - _radii(corners, corners[:, 0]) > reach
    corners = corners[~far]
    while len(corners):
        centre = (corners[:, 0] + corners[:, 1] + corners[:, 2]) / 3
        radius = _radii(corners, centre)
        s, distance = _in_profile(bore, centre)
        counts = (s > beyond) & (distance < within)
        if counts.any():
            i = int(np.argmin(np.where(counts, distance, np.inf)))
            if distance[i] < best:
                best, place = float(distance[i]), centre[i]
        may = (distance - radius < min(best - CLOSE_MM, within)) & (s + radius > beyond) & (radius > CLOSE_MM)
        corners = _quartered(corners[may])
    return best, place


def _radii(corners: Array, centre: Array) -> Array:
    """How far each facet (m, 3, 3) reaches from a point of its own (m, 3) [mm]."""
    away = corners - centre[:, None]
    square = np.einsum("ijk,ijk->ij", away, away)
    return np.asarray(np.sqrt(np.maximum(np.maximum(square[:, 0], square[:, 1]), square[:, 2])))


def _quartered(corners: Array) -> Array:
    """Each facet (m, 3, 3) as four, joined at the middles of its sides: (4 m, 3, 3)."""
    a, b, c = corners[:, 0], corners[:, 1], corners[:, 2]
    ab, bc, ca = (a + b) / 2, (b + c) / 2, (c + a) / 2
    parts = (a, ab, ca), (ab, b, bc), (ca, bc, c), (ab, bc, ca)
    return np.concatenate([np.stack(part, axis=1) for part in parts])


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
    one, another = recipe.bores[bore.bore], recipe.bores[other.bore]
    if another.name in one.may_meet or one.name in another.may_meet:
        return []
    limit = least["bore_to_bore"]
    if _far_apart(bore, other, limit):
        return []
    distance = float(min(_in_profile(other, _surface(bore))[1].min(), _in_profile(bore, _surface(other))[1].min()))
    with_other = _label(other) if other.bore != bore.bore else "its mirror image"
    if distance <= 0:
        remedy = f"it runs into {with_other}: move one, or name it in may_meet if that is meant"
        return [_rule("bores-meet", bore, distance, 0.0, remedy, other=other.part, broken=True)]
    if distance < limit:
        remedy = f"little wood is left beside {with_other}: move them apart"
        return [_rule("bores-close", bore, distance, limit, remedy, other=other.part)]
    return []


def _far_apart(bore: Revolved, other: Revolved, limit: float) -> bool:
    """Whether spheres round the two holes already keep further apart than the limit [mm]."""
    middles = [np.array(b.origin) + b.point / 2 * np.array(b.axis) for b in (bore, other)]
    reach = sum(b.point / 2 + max(r for _, r in b.profile) for b in (bore, other))
    return bool(np.linalg.norm(middles[0] - middles[1]) > reach + limit)


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
        return [_rule("bore-meets-slot", bore, 0.0, 0.0, other=slot.part, broken=True)]
    limit = least["bore_to_slot"]
    return [_rule("bore-near-slot", bore, distance, limit, other=slot.part)] if distance < limit else []


def _slot_in_body(slot: Prism, probe: Probe, least: dict[str, float], *, from_nose: bool) -> list[Finding]:
    """Slot against the body, all in the mid-plane.

    The chin is the wood under a slot let in from the nose, and the wood ahead of one let in from the belly.
    """
    origin, along, normal = (np.array(v)[[0, 2]] for v in (slot.origin, slot.along, slot.normal))
    half = float(np.array(slot.polygon)[:, 1].max())
    ends = [origin + slot.depth * along + b * normal for b in (half, -half)]
    lower = np.stack([origin + slot.depth * share * along - half * normal for share in np.linspace(0.5, 1.0, 15)])
    wide = max(least["chin"], least["bore_to_skin"])
    places = np.array([*ends, *lower])[:, 0]
    x = np.linspace(max(places.min() - wide, probe.low[0]), min(places.max() + wide, probe.high[0]), 300)
    belly, back = probe.heights(x)
    for end in ends:
        low, high = np.interp(end[0], x, belly), np.interp(end[0], x, back)
        if not (probe.low[0] < end[0] < probe.high[0] and low < end[1] < high):
            return [_rule("slot-comes-out", "lip.slot_depth", slot.depth, None, broken=True)]
    if from_nose:
        chin = float(np.linalg.norm(np.stack([x, belly], axis=1)[:, None] - lower[None], axis=2).min())
        chin_remedy = "a deeper or steeper slot, or one further up"
    else:
        nose = float(probe.low[0])
        (low,), (high,) = probe.heights(np.array([nose]))
        chin = float(np.linalg.norm(origin + half * normal - (nose, (low + high) / 2)))
        chin_remedy = "set the slot further aft"
    above = float(min(np.linalg.norm(np.stack([x, back], axis=1) - end, axis=1).min() for end in ends))
    found = []
    if chin < least["chin"]:
        found.append(_rule("chin-thin", "lip.slot_depth", chin, least["chin"], chin_remedy))
    if above < least["bore_to_skin"]:
        found.append(_rule("slot-near-back", "lip.slot_depth", above, least["bore_to_skin"]))
    return found
