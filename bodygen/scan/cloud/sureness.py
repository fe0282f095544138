"""Which end of a scanned bait is its nose and which side its back, and how sure that is.

What is left of hooks and lip says it for sure; else the fuller end is taken for the nose and the fuller side for the
belly. How often that is right was counted on this project's random baits, which are drawn with their greatest height
25 to 60 % of the length behind the nose, with back and belly drawn alike: of 1110 the fuller end was the nose in 77 %
of those whose centroid lies 2 to 3 % of the length off the middle, 80 % at 3 to 5 %, 97 % at 5 to 8 %, all 59 beyond;
the fuller side was the belly in every second one, however full. A girth's place or an end's taper tells no more: a bait
that is full behind looks in everything like one that is full in front turned round.
"""

from dataclasses import dataclass
from math import exp, log

import numpy as np
from numpy.typing import NDArray

from bodygen.form.body import Body, fine_parameters
from bodygen.form.integrals import body_volume
from bodygen.scan.cloud.clean import clusters
from bodygen.scan.cloud.feet import feet_of
from bodygen.scan.cloud.points import Cloud

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]
SURE = 0.98
"""Below it a decision is said as guessed."""
CLEAR = 0.08
"""Share of the length that the centroid lies off the middle where the shape alone is just sure of the nose."""
HARDWARE = 0.99
"""How sure a hook or a lip makes it: no count stands behind it."""
TOSSED = 0.5
"""How sure the shape alone makes it which side is the back."""
LIP_WITHIN = 0.4
"""Share of the length from an end within which a lip stands."""
STAND = 1.2
"""Both skins of more than this share of length times depth are no lip and no hook."""
SHEET_MM2 = 40.0
"""Less of a plate is no lip."""
STANDS_OUT = 0.03
"""Share of the length that a hook, a ring or a lip reaches out of the skin at least: what lies nearer is skin that the
fit does not follow, such as a corner between two of its rows."""
MOSTLY = 0.5
"""Share of a part's area that the body itself may hold: more of it is a piece of the body that the fit lost."""
BELOW = 0.25
"""Share of the depth that the middle of what hangs lies away from the axis at least."""


@dataclass(frozen=True, slots=True)
class Seen:
    """What stands out of the body: hooks and a lip's place.

    ``below`` is the mean height of all of it [mm] and ``lip`` the x of a sheet [mm]; None where there is none.
    """

    below: float | None = None
    lip: float | None = None
    words: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Decided:
    """A decision: ``turned`` where the axes must be turned round, how ``sure`` [-], and ``why``."""

    turned: bool
    sure: float
    why: str


def seen_outside(cloud: Cloud, thick: Mask, body: Body) -> Seen:
    """Look at the points in the body's axes [mm] that lie away from the skin.

    ``thick`` (k,): which of them were the body's when what is thin was taken off it.
    """
    points, areas = cloud.points, cloud.areas
    if not len(points):
        return Seen()
    length, depth, thickness = body.sizes()
    folded = np.stack([points[:, 0], np.abs(points[:, 1]), points[:, 2]], axis=1)
    far = np.linalg.norm(folded - feet_of(body, folded).point, axis=1)
    number = clusters(points, 3 * cloud.spacing)
    heights, weights, lips, words = [], [], [], []
    for i in range(int(number.max()) + 1):
        some = number == i
        area = float(areas[some].sum())
        if area < 4 * cloud.spacing**2 or far[some].max() < STANDS_OUT * length:
            continue
        middle = areas[some] @ points[some] / area
        belly, back = (float(h[0]) for h in body.heights_at(middle[:1]))
        outside = (
            middle[2] > back or middle[2] < belly or not 0 <= middle[0] <= length or abs(middle[1]) > thickness / 2
        )
        if not outside:
            continue
        if area > STAND * length * depth:
            words.append(f"something large ({area:.0f} mm2): a stand?")
            continue
        if areas[some] @ thick[some] > MOSTLY * area:
            words.append(f"skin at {round(middle[0])} mm ({area:.0f} mm2), up to {far[some].max():.1f} mm off the body")
            continue
        heights.append(float(middle[2]))
        weights.append(area)
        beside = min(abs(middle[0]), abs(middle[0] - length)) < LIP_WITHIN * length
        if beside and _is_sheet(cloud.taken(some), thickness):
            lips.append((area, float(middle[0])))
            words.append(f"a sheet at {round(middle[0])} mm ({area:.0f} mm2)")
        else:
            words.append(f"hook, ring or other hardware at {round(middle[0])} mm ({area:.0f} mm2)")
    if not heights:
        return Seen(words=tuple(words))
    below = float(np.average(heights, weights=weights))
    enough = abs(below) > BELOW * depth and sum(weights) > 0.004 * length * depth
    return Seen(below if enough else None, max(lips)[1] if lips else None, tuple(words))


def _is_sheet(part: Cloud, thickness: float) -> bool:
    """Whether it is a plate across the body: most of it looks one way, and that way lies in the mid-plane."""
    total = part.areas.sum()
    if total < SHEET_MM2 or np.ptp(part.points[:, 1]) < 0.35 * thickness:
        return False
    spread = part.normals.T * part.areas @ part.normals / total
    share, ways = np.linalg.eigh(spread)
    return bool(share[2] > 0.7 and abs(ways[1, 2]) < 0.4)


def nose_of(body: Body, seen: Seen, told: bool | None) -> Decided:
    """Whether the tail must become the nose; ``told``: the maker says so."""
    if told is not None:
        return Decided(told, 1.0, "as --nose says")
    length = body.length
    if seen.lip is not None:
        return Decided(seen.lip > length / 2, HARDWARE, "the lip is at that end")
    off = (body_volume(body).centroid[0] - length / 2) / length
    why = f"the fuller end: the centroid lies {abs(off):.1%} of the length ahead of the middle"
    return Decided(bool(off > 0), _sure(off), why)


def back_of(body: Body, seen: Seen, told: bool | None) -> Decided:
    """Whether the belly must become the back; ``told``: the maker says so."""
    if told is not None:
        return Decided(told, 1.0, "as --back says")
    if seen.below is not None:
        return Decided(seen.below > 0, HARDWARE, "hooks or lip hang from the other side")
    depth = body.sizes()[1]
    height = body.polygons(fine_parameters(body, 12))[:, [0, -1], 2]
    off = (body_volume(body).centroid[2] - (height.min() + height.max()) / 2) / depth
    why = f"opposite the fuller side: the centroid lies {abs(off):.1%} of the depth below the middle of the height"
    return Decided(bool(off > 0), TOSSED, f"{why}, which is no evidence")


def _sure(off: float) -> float:
    """How often the fuller end is the nose where the centroid lies ``off``: 0.5 in the middle, ``SURE`` at ``CLEAR``.

    The logistic curve through the counts above: 0.77, 0.87, 0.96 at 2.5, 4, 6.5 %.
    """
    return float(1 / (1 + exp(-log(SURE / (1 - SURE)) * abs(off) / CLEAR)))
