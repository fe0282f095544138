"""How much of a pointed nose or tail a drill takes away that starts there."""

from math import ceil

import numpy as np

from bodygen.findings import Finding, Severity
from bodygen.form.cuts.hole import ON_MM, cylindrical, label
from bodygen.form.cuts.skin import Skin
from bodygen.form.cuts.tools import Revolved
from bodygen.tables import load

ENDWISE = 0.5
"""A bore whose axis lies within 60 degrees of the body's starts at nose or tail, whose tip it may take away."""
FACE_DIAMETERS = 2.0
"""Width of a face that a drill can be started on."""


def tip_lost(bore: Revolved, skin: Skin) -> Finding | None:
    """How much [mm] of a pointed nose or tail is wider nowhere than the drill that starts there."""
    along = bore.axis[0]
    if abs(along) < ENDWISE:
        return None
    way = -float(np.sign(along))
    ends = [way * float(x) for x in (skin.corners[:, :, 0].min(), skin.corners[:, :, 0].max())]
    stays = _tip_left(bore, skin, way)
    lost, table = max(ends) - stays, load("limits")["wood_left"]
    if lost <= table["tip_told_mm"]:
        return None
    end = "tail" if along < 0 else "nose"
    narrow = min(float(np.ptp(skin.corners[:, :, k])) for k in (1, 2))
    share = ceil(FACE_DIAMETERS * bore.diameter / narrow * 100) / 100
    shorter = stays - min(ends)
    remedy = (
        f"the tip is drilled away, and the body is then {{}} long: saw the {end} off square first. In a "
        f"drawn shape {end}.size = {share:g} leaves a face that the drill can start on"
    )
    limit = table["tip_lost_mm"]
    severity: Severity = "warning" if lost > limit else "note"
    about, lengths = (bore.part,), (shorter,)
    value = round(lost, 2)
    return Finding("tip-drilled-away", severity, label(bore), remedy, value, limit, "mm", about=about, lengths=lengths)


def _tip_left(bore: Revolved, skin: Skin, way: float) -> float:
    """How far skin outside the drill's way in reaches, towards the tail (``way`` 1) or the nose (-1) [mm]; exact.

    Derived here: outside a convex way in a plane facet reaches farthest at a corner, or where an edge comes out of it.
    """
    wide = float(np.interp(0.0, *np.array(bore.profile).T))
    middles, radii = skin.balls()
    s, r = skin.middles_from(bore)
    out = (s >= bore.shoulder) | (r >= wide)
    some = way * middles[0] + radii >= (way * middles[0])[out].max(initial=-np.inf)  # no other facet reaches farther
    corners = skin.corners[some]
    s, r = (each.reshape(-1, 3) for each in cylindrical(bore, corners.reshape(-1, 3)))
    out = (s >= bore.shoulder) | (r >= wide - ON_MM)
    facet, one = np.nonzero(out != out[:, [1, 2, 0]])
    other = (one + 1) % 3
    inner, outer = (facet, np.where(out[facet, one], other, one)), (facet, np.where(out[facet, one], one, other))
    axis, edge = np.array(bore.axis), corners[outer] - corners[inner]
    aside = edge - (edge @ axis)[:, None] * axis
    square, slope = (aside * aside).sum(axis=1), (aside * (corners[inner] - np.array(bore.origin))).sum(axis=1)
    less = wide**2 - r[inner] ** 2
    with np.errstate(divide="ignore"):  # an edge along the axis comes out at the shoulder alone
        through_wall = less / (slope + np.sqrt(slope * slope + square * less))
    beyond = s[outer] - bore.shoulder
    past_shoulder = np.where(beyond > 0, 1 - beyond / np.where(beyond > 0, s[outer] - s[inner], 1.0), 1.0)
    comes_out = corners[inner] + np.minimum(through_wall, past_shoulder)[:, None] * edge
    return float((way * np.concatenate([corners[out], comes_out])[:, 0]).max(initial=-np.inf))
