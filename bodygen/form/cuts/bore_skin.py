"""One bore against the skin: its own mouth, where it breaks out, and how little wood it leaves.

The mouth is where the drill goes in: skin inside its path that faces it. In a pointed tail that is the whole tip. Knows
facets and tools; which limit holds for which kind of bore is in ``tables/limits.toml``.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bodygen.findings import Finding, Severity
from bodygen.form.cuts.hole import ON_MM, in_profile, label
from bodygen.form.cuts.skin import NearFacets, Skin
from bodygen.form.cuts.tip import tip_lost
from bodygen.form.cuts.tools import Revolved
from bodygen.recipe.model import Limits
from bodygen.tables import load

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Indices = NDArray[np.intp]
FACING = 0.5
"""Skin whose normal lies within 60 degrees of the drill's way is ahead of it; within 60 of its way back, behind it."""
LEVEL = 1e-6
"""Skin that turns less towards the drill than this runs along it."""
CLOSE_MM = 0.02
"""How near the least distance to the skin is found."""
BATCH = 50_000
"""Facets that are looked at together; a whole plane end cut as fine as ``CLOSE_MM`` would fill the memory."""
HELD_IN = frozenset({"hanger", "tie"})
THINNER = "a thinner drill, less depth, or a thicker place"


@dataclass(frozen=True, slots=True, eq=False)
class Sought:
    """Of which facets (m,) the least distance is sought: deeper than ``beyond`` on the axis, below ``within`` [mm]."""

    which: Flags
    beyond: float
    within: float


@dataclass(frozen=True, slots=True)
class ToSkin:
    """The least wood ``limit`` between a bore and the skin beside it, held from ``past`` the mouth on [mm]."""

    limit: float
    past: float
    source: str


def against_skin(bore: Revolved, skin: Skin, least: dict[str, float], own: Limits) -> list[Finding]:
    """Where a bore comes out, leaves too little wood, or takes the tip of nose or tail away.

    Limits are ``limits.toml``'s, most of them common practice, no published source.

    Parameters
    ----------
    bore : Revolved
        Its path.
    skin : Skin
        Of the uncut body.
    least : dict
        Limits of this recipe and wood [mm].
    own : Limits
        What the recipe itself says.

    Returns
    -------
    list of Finding
        Lengths in mm.
    """
    key = "against skin", bore, tuple(sorted(least.items())), own
    return skin.kept.of(key, lambda: _doubted(bore, skin, least, own))


def _doubted(bore: Revolved, skin: Skin, least: dict[str, float], own: Limits) -> list[Finding]:
    if not len(skin.corners):
        return []
    end = float(load("limits")["wood_left"]["bore_end_mm"])
    near = skin.near(bore, max(*least.values(), own.hanger_to_skin or 0.0, end) + CLOSE_MM)
    to_skin = _to_skin(bore, least, own)
    comes_out = max(bore.shoulder, bore.diameter / 2)
    if bore.through:
        comes_out = -_in_hole(bore, near, near.facing > LEVEL, -np.array(bore.axis))
    grooved = comes_out - 2 * CLOSE_MM
    # where the mouth ends matters beyond what is not held against the skin beside it, or where it makes a groove
    mouth = _in_hole(bore, near, near.facing <= LEVEL, np.array(bore.axis), min(to_skin.past, grooved))
    out = _breaks_out(bore, near) or (_groove(bore) if mouth > grooved else None)
    if out is not None:
        return [out]
    tip = tip_lost(bore, skin)
    thin = _thin(bore, near, mouth, least, to_skin)
    return [finding for finding in (tip, thin) if finding is not None]


def _in_hole(bore: Revolved, near: NearFacets, which: Flags, way: Array, least: float = -np.inf) -> float:
    """How far from the mouth along a unit direction (3,) chosen facets in the hole reach, or ``least`` [mm]."""
    start = float(np.dot(bore.origin, way))
    some = which & (near.least < 0)
    return max(least, _farthest(bore, near.corners[some], near.radius[some], way, start + least) - start)


def _breaks_out(bore: Revolved, near: NearFacets) -> Finding | None:
    """Where the drill of a blind hole comes out again."""
    if bore.through:
        return None
    facing = near.facing
    beside = (facing > LEVEL) & (facing <= FACING)
    sought = Sought(facing > FACING, -np.inf, 0.0), Sought(beside, bore.diameter / 2, 0.0)
    distance, place = min(nearest(bore, near, sought), key=lambda found: found[0])
    if distance >= 0:
        return None
    remedy = "it comes out through the skin near x = {}: drill less deep, thinner, or elsewhere"
    found, at = round(distance, 3), (float(place[0]),)
    return Finding("bore-breaks-out", "error", label(bore), remedy, found, 0.0, "mm", about=(bore.part,), lengths=at)


def _groove(bore: Revolved) -> Finding:
    """What is said of a drill that never gets all round into the wood."""
    remedy = (
        "the body is narrower there than the drill, which leaves a groove open all along: a thinner drill, or elsewhere"
    )
    return Finding("bore-breaks-out", "error", label(bore), remedy, about=(bore.part,))


def _to_skin(bore: Revolved, least: dict[str, float], own: Limits) -> ToSkin:
    if bore.kind not in HELD_IN:
        return ToSkin(least["bore_to_skin"], least["past_mouth"], "")
    table = load("limits")["wood_left"]
    usual = table["hanger_to_skin_diameters"] * bore.diameter
    limit = own.hanger_to_skin if own.hanger_to_skin is not None else min(usual, least["bore_to_skin"])
    past = (1 - load("hardware")["screw_eye"]["threaded_fraction"]) * bore.point
    return ToSkin(limit, past, table["hanger_to_skin_source"] if limit == usual and own.hanger_to_skin is None else "")


def _thin(bore: Revolved, near: NearFacets, mouth: float, least: dict[str, float], to_skin: ToSkin) -> Finding | None:
    """The worst place with too little wood beyond the mouth: ahead of the drill first, then beside it."""
    end, limit = load("limits")["wood_left"]["bore_end_mm"], to_skin.limit
    to_back = least["ballast_to_back"] if bore.kind == "ballast" else end
    ahead, flank = near.facing > FACING, near.facing > -FACING
    if bore.through:
        ahead, flank = ahead & False, flank & (near.facing < FACING)
    sought = Sought(ahead, -np.inf, max(to_back, end)), Sought(flank, max(mouth, to_skin.past), limit)
    (in_front, _), (beside, _) = nearest(bore, near, sought)
    if in_front < end:
        remedy = "so thin a skin is gone with the first sanding: drill less deep"
        code = "ballast-near-back" if bore.kind == "ballast" else "bore-near-skin"
        return _short(code, bore, in_front, end, remedy, "error")
    if in_front < to_back:
        remedy = "less depth and a wider drill hold the same metal lower"
        return _short("ballast-near-back", bore, in_front, to_back, remedy)
    return _short("bore-near-skin", bore, beside, limit, THINNER, source=to_skin.source) if beside < limit else None


def _short(
    code: str, bore: Revolved, value: float, limit: float, remedy: str, severity: Severity = "warning", source: str = ""
) -> Finding:
    left, about = round(max(value, 0.0), 3), (bore.part,)
    return Finding(code, severity, label(bore), remedy, left, limit, "mm", source, about=about)


def nearest(bore: Revolved, near: NearFacets, sought: Sequence[Sought]) -> list[tuple[float, Array]]:
    """Least signed distance from a hole to the skin that each one seeks, and where that is; infinite for none [mm].

    Facets that may hold a nearer place than any found are quartered until none may, by more than ``CLOSE_MM``. All are
    looked at together: numpy takes as long for a few as for hundreds.

    Branch and bound, derived here: a facet is no nearer than its centre less its radius.
    """
    best, places = np.full(len(sought), np.inf), np.zeros((len(sought), 3))
    beyond, within = np.array([one.beyond for one in sought]), np.array([one.within for one in sought])
    chosen = [np.flatnonzero(one.which & (near.least < one.within)) for one in sought]
    first, whose = np.concatenate(chosen), np.repeat(np.arange(len(sought)), [len(few) for few in chosen])
    waiting = [(near.corners[first], near.radius[first], whose)] if len(first) else []
    while waiting:
        corners, radius, whose = waiting.pop()
        centre = (corners[:, 0] + corners[:, 1] + corners[:, 2]) / 3
        s, distance = in_profile(bore, centre)
        deep, limit = beyond[whose], within[whose]
        counts = np.where((s > deep) & (distance < limit), distance, np.inf)
        for k in range(len(sought)):
            own = np.where(whose == k, counts, np.inf)
            i = int(np.argmin(own))
            if own[i] < best[k]:
                best[k], places[k] = own[i], centre[i]
        may = (distance - radius < np.minimum(best[whose] - CLOSE_MM, limit)) & (s + radius > deep)
        may &= radius > CLOSE_MM
        few = 4 * np.count_nonzero(may) < BATCH
        for rest in [may] if few else [may & (whose == k) for k in range(len(sought))]:
            waiting += _batches(rest, corners, radius, whose)
    return list(zip(best.tolist(), places, strict=True))


def _farthest(bore: Revolved, corners: Array, radius: Array, way: Array, least: float) -> float:
    """How far skin reaches that lies in the hole or on its end, along a unit direction (3,) from the axes' zero [mm].

    At most ``least`` where it reaches no farther than that.
    """
    best = least - CLOSE_MM
    may = _most(corners, way) > least
    waiting = [(corners[may], radius[may], np.zeros(np.count_nonzero(may), dtype=np.intp))] if may.any() else []
    while waiting:
        corners, radius, whose = waiting.pop()
        centre = (corners[:, 0] + corners[:, 1] + corners[:, 2]) / 3
        inside = in_profile(bore, centre)[1]
        best = max(best, float((centre @ way)[inside <= ON_MM].max(initial=best)))
        may = (inside < radius) & (_most(corners, way) > best + CLOSE_MM) & (radius > CLOSE_MM)
        waiting += _batches(may, corners, radius, whose)
    return best


def _most(corners: Array, way: Array) -> Array:
    """How far facets (m, 3, 3) reach along a way (m,) [mm].

    By their own corners, not by their radius: of a plane end square to the way no part reaches farther than another.
    """
    return np.asarray(np.maximum.reduce([corners[:, k] @ way for k in range(3)]))


def _batches(which: Flags, corners: Array, radius: Array, whose: Indices) -> list[tuple[Array, Array, Indices]]:
    """Those of the facets (m, 3, 3), quartered, their radii and whose each is, in batches; none of none."""
    count = np.count_nonzero(which)
    if not count:
        return []
    parts = _quartered(corners[which]), np.tile(radius[which] / 2, 4), np.tile(whose[which], 4)
    splits = 1 + 4 * count // BATCH
    return [parts] if splits == 1 else list(zip(*(np.array_split(rows, splits) for rows in parts), strict=True))


def _quartered(corners: Array) -> Array:
    """Each facet (m, 3, 3) as four, joined at the middles of its sides: (4 m, 3, 3)."""
    a, b, c = corners[:, 0], corners[:, 1], corners[:, 2]
    ab, bc, ca = (a + b) / 2, (b + c) / 2, (c + a) / 2
    four = np.empty((4, len(corners), 3, 3))
    for part, places in zip(four, ((a, ab, ca), (ab, b, bc), (ca, bc, c), (ab, bc, ca)), strict=True):
        part[:, 0], part[:, 1], part[:, 2] = places
    return four.reshape(-1, 3, 3)
