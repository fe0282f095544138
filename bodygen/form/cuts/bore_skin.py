"""One bore against the skin: its own mouth, where it breaks out, and how little wood it leaves.

The mouth is where the drill goes in: skin inside its path that faces it. In a pointed tail that is the whole tip. Knows
facets and tools; which limit holds for which kind of bore is in ``tables/limits.toml``.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import ceil

import numpy as np
from numpy.typing import NDArray

from bodygen.findings import Finding, Severity
from bodygen.form.cuts.skin import NearFacets, Skin
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
ON_MM = 1e-9
"""Skin as near to a hole's own end as rounding leaves it lies on that end."""
BATCH = 50_000
"""Facets that are looked at together; a whole plane end cut as fine as ``CLOSE_MM`` would fill the memory."""
ENDWISE = 0.5
"""A bore whose axis lies within 60 degrees of the body's starts at nose or tail."""
FACE_DIAMETERS = 2.0
"""Width of a face that a drill can be started on."""
HELD_IN = frozenset({"hanger", "tie"})
THINNER = "a thinner drill, less depth, or a thicker place"


@dataclass(frozen=True, slots=True, eq=False)
class Sought:
    """Of which facets (m,) the least distance is sought: deeper than ``beyond`` on the axis, below ``within`` [mm]."""

    which: Flags
    beyond: float
    within: float


def label(bore: Revolved) -> str:
    """What a finding calls a bore: its place in the recipe and its name."""
    return f"bore[{bore.bore + 1}] {bore.name}"


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
    mouth = _in_hole(bore, near, near.facing <= LEVEL, np.array(bore.axis))
    out = _breaks_out(bore, near, mouth)
    if out is not None:
        return [out]
    tip = _tip_lost(bore, skin)
    thin = _thin(bore, near, mouth, least, own)
    return [finding for finding in (tip, thin) if finding is not None]


def _in_hole(bore: Revolved, near: NearFacets, which: Flags, way: Array) -> float:
    """How far from the mouth along a unit direction (3,) chosen facets in the hole reach [mm]."""
    some = which & (near.least < 0)
    return _farthest(bore, near.corners[some], near.radius[some], way) - float(np.dot(bore.origin, way))


def _breaks_out(bore: Revolved, near: NearFacets, mouth: float) -> Finding | None:
    """Where the drill comes out again, or never gets all round into the wood."""
    facing = near.facing
    if bore.through:
        exit_from = -_in_hole(bore, near, facing > LEVEL, -np.array(bore.axis))
        return _groove(bore) if mouth > exit_from - 2 * CLOSE_MM else None
    beside = (facing > LEVEL) & (facing <= FACING)
    sought = Sought(facing > FACING, -np.inf, 0.0), Sought(beside, bore.diameter / 2, 0.0)
    distance, place = min(nearest(bore, near, sought), key=lambda found: found[0])
    if distance < 0:
        remedy = "it comes out through the skin near x = {}: drill less deep, thinner, or elsewhere"
        found, at = round(distance, 3), (float(place[0]),)
        return Finding(
            "bore-breaks-out", "error", label(bore), remedy, found, 0.0, "mm", about=(bore.part,), lengths=at
        )
    return _groove(bore) if mouth > max(bore.shoulder, bore.diameter / 2) - 2 * CLOSE_MM else None


def _groove(bore: Revolved) -> Finding:
    remedy = (
        "the body is narrower there than the drill, which leaves a groove open all along: a thinner drill, or elsewhere"
    )
    return Finding("bore-breaks-out", "error", label(bore), remedy, about=(bore.part,))


def _thin(bore: Revolved, near: NearFacets, mouth: float, least: dict[str, float], own: Limits) -> Finding | None:
    """The worst place with too little wood beyond the mouth: ahead of the drill first, then beside it."""
    table = load("limits")["wood_left"]
    end = table["bore_end_mm"]
    if bore.kind in HELD_IN:
        usual = table["hanger_to_skin_diameters"] * bore.diameter
        limit = own.hanger_to_skin if own.hanger_to_skin is not None else min(usual, least["bore_to_skin"])
        past = (1 - load("hardware")["screw_eye"]["threaded_fraction"]) * bore.point
        source = table["hanger_to_skin_source"] if limit == usual and own.hanger_to_skin is None else ""
    else:
        limit, past, source = least["bore_to_skin"], least["past_mouth"], ""
    to_back = least["ballast_to_back"] if bore.kind == "ballast" else end
    ahead, flank = near.facing > FACING, near.facing > -FACING
    if bore.through:
        ahead, flank = ahead & False, flank & (near.facing < FACING)
    sought = Sought(ahead, -np.inf, max(to_back, end)), Sought(flank, max(mouth, past), limit)
    (in_front, _), (beside, _) = nearest(bore, near, sought)
    if in_front < end:
        remedy = "so thin a skin is gone with the first sanding: drill less deep"
        code = "ballast-near-back" if bore.kind == "ballast" else "bore-near-skin"
        return _short(code, bore, in_front, end, remedy, "error")
    if in_front < to_back:
        remedy = "less depth and a wider drill hold the same metal lower"
        return _short("ballast-near-back", bore, in_front, to_back, remedy)
    return _short("bore-near-skin", bore, beside, limit, THINNER, source=source) if beside < limit else None


def _short(
    code: str, bore: Revolved, value: float, limit: float, remedy: str, severity: Severity = "warning", source: str = ""
) -> Finding:
    left, about = round(max(value, 0.0), 3), (bore.part,)
    return Finding(code, severity, label(bore), remedy, left, limit, "mm", source, about=about)


def _tip_lost(bore: Revolved, skin: Skin) -> Finding | None:
    """How much of a pointed nose or tail is wider nowhere than the drill that starts there."""
    along = bore.axis[0]
    if abs(along) < ENDWISE:
        return None
    way = np.array([-np.sign(along), 0.0, 0.0])
    x = skin.corners[:, :, 0] * way[0]
    reach = np.maximum(np.maximum(x[:, 0], x[:, 1]), x[:, 2])
    stays = _tip_left(bore, skin, way, reach)
    lost, table = float(reach.max()) - stays, load("limits")["wood_left"]
    if lost <= table["tip_told_mm"]:
        return None
    end = "tail" if along < 0 else "nose"
    size = skin.corners.reshape(-1, 3)
    sides = (size.max(axis=0) - size.min(axis=0))[1:]
    share = ceil(FACE_DIAMETERS * bore.diameter / float(sides.min()) * 100) / 100
    shorter = stays - float(x.min())
    remedy = (
        f"the tip is drilled away, and the body is then {{}} long: saw the {end} off square first. In a "
        f"drawn shape {end}.size = {share:g} leaves a face that the drill can start on"
    )
    limit = table["tip_lost_mm"]
    severity: Severity = "warning" if lost > limit else "note"
    about, lengths = (bore.part,), (shorter,)
    value = round(lost, 2)
    return Finding("tip-drilled-away", severity, label(bore), remedy, value, limit, "mm", about=about, lengths=lengths)


def _tip_left(bore: Revolved, skin: Skin, way: Array, reach: Array) -> float:
    """How far skin outside the drill's way reaches [mm]; looked for from the tip on, which reaches farthest."""
    most, size, radius = float(reach.max()), bore.diameter, skin.balls()[1]
    while True:
        tip = reach > most - size
        found = _farthest(bore, skin.corners[tip], radius[tip], way, shadow=True)
        if found > most - size or size > float(np.ptp(reach)):
            return found
        size *= 4


def _cylindrical(bore: Revolved, points: Array) -> tuple[Array, Array]:
    """Distance along the axis from the mouth and away from it (n,), for points (n, 3) [mm]."""
    away = points - np.array(bore.origin)
    s = away @ np.array(bore.axis)
    return s, np.sqrt(np.maximum(np.einsum("ij,ij->i", away, away) - s * s, 0.0))


def in_profile(bore: Revolved, points: Array, start: float = 0.0) -> tuple[Array, Array]:
    """Distance along the axis and signed distance to the hole, negative inside (n,), for points (n, 3) [mm].

    Elementary plane geometry: to each edge of the half section, the sign by whether a point lies within it. Outside the
    skin the drill's path is air: the hole begins at the mouth, or at ``start`` [mm, at most 0] where it leans and the
    wood beside the mouth begins before it.

    Examples
    --------
    >>> hole = Revolved("b", "any", 0, False, (0.0, 0.0, 0.0), (0.0, 0.0, 1.0),
    ...                 ((-9.0, 0.0), (-9.0, 3.0), (10.0, 3.0), (10.0, 0.0)), False, 6.0, 10.0, 10.0)
    >>> [each.tolist() for each in in_profile(hole, np.array([[1.0, 0.0, 5.0], [7.0, 0.0, 5.0], [0.0, 0.0, 14.0]]))]
    [[5.0, 5.0, 14.0], [-2.0, 4.0, 4.0]]
    """
    s, r = _cylindrical(bore, points)
    outline, (s0, r0, ds, dr, square) = _half_section(bore, start)
    off, out = s - s0, r - r0
    share = np.minimum(np.maximum((off * ds + out * dr) / square, 0.0), 1.0)
    off -= share * ds
    out -= share * dr
    distance = np.sqrt((off * off + out * out).min(axis=0))
    inside = (s > start) & (s < bore.point) & (r < np.interp(s, *outline))
    return s, np.where(inside, -distance, distance)


@lru_cache(maxsize=64)  # asked for hundreds of times while one bore is held against the skin
def _half_section(bore: Revolved, start: float) -> tuple[Array, tuple[Array, ...]]:
    """The hole's wall as (s, r) rows (2, n) [mm]; of every edge start, way (e, 1) [mm] and squared length [mm^2]."""
    profile = np.array(bore.profile)
    wide = float(np.interp(0.0, profile[:, 0], profile[:, 1]))
    within = profile[profile[:, 0] > 0]
    if bore.through:
        steps = within[within[:, 0] < bore.point]
        within = np.concatenate([steps, [[bore.point, bore.diameter / 2], [bore.point, 0.0]]])
    outline = np.concatenate([[[start, 0.0], [start, wide]], within])
    (s0, r0), (ds, dr) = outline[:-1].T[:, :, None], np.diff(outline, axis=0).T[:, :, None]
    return outline[1:].T, (s0, r0, ds, dr, np.maximum(ds * ds + dr * dr, 1e-18))


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


def _farthest(bore: Revolved, corners: Array, radius: Array, way: Array, *, shadow: bool = False) -> float:
    """How far skin reaches that lies in the hole or on its end, along a unit direction (3,) from the axes' zero [mm].

    ``shadow``: skin outside the drill's way in instead. -infinite where there is none.
    """
    best = -np.inf
    waiting = [(corners, radius, np.zeros(len(corners), dtype=np.intp))] if len(corners) else []
    while waiting:
        corners, radius, whose = waiting.pop()
        centre = (corners[:, 0] + corners[:, 1] + corners[:, 2]) / 3
        if shadow:
            s, r = _cylindrical(bore, centre)
            wide = float(np.interp(0.0, *np.array(bore.profile).T))
            inside = np.where(s < bore.shoulder, wide - r, -np.inf)
        else:
            inside = in_profile(bore, centre)[1]
        reach = centre @ way
        if (inside <= ON_MM).any():
            best = max(best, float(reach[inside <= ON_MM].max()))
        # by its own corners, not by its radius: of a plane end square to the way no part reaches farther than another
        most = np.maximum.reduce([corners[:, k] @ way for k in range(3)])
        may = (inside < radius) & (most > best + CLOSE_MM) & (radius > CLOSE_MM)
        waiting += _batches(may, corners, radius, whose)
    return best


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
