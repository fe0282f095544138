"""What a maker should hear about how the bait lies in the water.

Knows a ``Flotation`` and the limits of ``tables/flotation.toml``. Knows nothing of bores, lips or hooks.
"""

import math

from bodygen.findings import Finding
from bodygen.flotation.equilibrium import Attitude, Flotation, State, Vector
from bodygen.tables import load


def flotation_checks(
    flotation: Flotation,
    centre_of_mass: Vector,
    centre_under: Vector,
    depth_mm: float,
    *,
    meant: State | None = None,
    has_lip: bool = False,
) -> tuple[Finding, ...]:
    """Judge an answer of ``find_attitudes``.

    Limits are common practice, no published source (``flotation.toml`` [checks]).

    Parameters
    ----------
    flotation : Flotation
        The answer.
    centre_of_mass : (3,)
        Of the total, body axes [mm].
    centre_under : (3,)
        Centre of buoyancy wholly under, where the bait runs [mm].
    depth_mm : float
        Greatest depth of the body, back to belly [mm].
    meant : "floats", "suspends", "sinks" or None
        What the maker calls it; None when the recipe does not say.
    has_lip : bool
        Whether a lip has to bite.

    Returns
    -------
    tuple of Finding
        The most serious first.
    """
    limits = load("flotation")["checks"]
    found = [
        *_not_as_meant(flotation, meant),
        *_tender(flotation, depth_mm, limits["least_gm_share_of_depth"]),
        *_top_heavy(flotation, centre_of_mass, centre_under),
        *_nose_up(flotation.attitude, has_lip, limits["most_nose_up_deg"]),
        *_rolled(flotation.attitude, limits["rolled_from_deg"]),
        *_two_ways(flotation, limits["other_attitude_from_deg"]),
    ]
    rank = ("error", "warning", "note")
    return tuple(sorted(found, key=lambda finding: rank.index(finding.severity)))


def _not_as_meant(flotation: Flotation, meant: State | None) -> list[Finding]:
    """Compare with what the maker calls it: it sinks though called floating, or the like."""
    if meant is None or meant == flotation.state:
        return []
    reserve = flotation.reserve_g
    remedy = {
        "floats": "take out ballast, or use lighter wood or a fuller body",
        "suspends": "trim by small weights in the water it is for; its temperature counts",
        "sinks": "put in more ballast",
    }[meant]
    words = f"meant to be one that {meant}, but it {flotation.state} with {reserve:+.2f} g of reserve: {remedy}"
    return [Finding("state-not-as-meant", "warning", "float.state", words, reserve, 0.0, "g")]


def _tender(flotation: Flotation, depth_mm: float, share: float) -> list[Finding]:
    """Little metacentric height: a touch rolls it."""
    gm, limit = flotation.attitude.gm_mm, share * depth_mm
    if gm >= limit or flotation.attitude.roll_deg is None:
        return []
    remedy = (
        f"put the ballast lower or use more of it: GM is {{}}, {100 * gm / depth_mm:.1f} % of the depth, "
        "so it rolls at a touch"
    )
    return [Finding("gm-small", "warning", "float.gm_mm", remedy, gm, limit, "mm", lengths=(gm,))]


def _top_heavy(flotation: Flotation, centre_of_mass: Vector, centre_under: Vector) -> list[Finding]:
    """Centre of mass above the centre of buoyancy wholly under: afloat its width may hold it, running nothing does."""
    above = sum((g - b) * u for g, b, u in zip(centre_of_mass, centre_under, flotation.attitude.up, strict=True))
    if above <= 1e-6 * depth_scale(flotation):
        return []
    remedy = (
        "put the ballast lower: its weight lies above the centre of buoyancy of the whole, so under water it turns over"
    )
    return [Finding("ballast-high", "warning", "total.centre_of_mass_mm", remedy, above, 0.0, "mm")]


def depth_scale(flotation: Flotation) -> float:
    """Edge of the cube of the displaced volume [mm].

    Derived here: a yardstick that grows with the bait, whatever its form.
    """
    return float((1000 * flotation.displaced_cm3) ** (1 / 3))


def _nose_up(attitude: Attitude, has_lip: bool, limit: float) -> list[Finding]:
    """Tail-heavy at rest: the lip points at the sky."""
    if not has_lip or attitude.pitch_deg <= limit:
        return []
    remedy = "move ballast forward: at rest the nose stands so high that the lip finds no water to bite"
    return [Finding("nose-up", "warning", "float.pitch_deg", remedy, attitude.pitch_deg, limit, "deg")]


def _rolled(attitude: Attitude, limit: float) -> list[Finding]:
    """Let go back up, it turns far over: too little weight below, too much above, or a body that is upside down."""
    if attitude.roll_deg is None or abs(attitude.roll_deg) < limit:
        return []
    remedy = "let go back up it turns over so far: put weight lower; of a mesh, see whether its back is up along z"
    return [Finding("rests-rolled", "warning", "float.roll_deg", remedy, attitude.roll_deg, limit, "deg")]


def _two_ways(flotation: Flotation, limit: float) -> list[Finding]:
    """Look for a further stable attitude far from the first."""
    first = flotation.attitude.up
    apart = [
        math.degrees(math.acos(max(-1.0, min(1.0, sum(a * b for a, b in zip(first, other.up, strict=True))))))
        for other in flotation.others
    ]
    far = [(angle, other) for angle, other in zip(apart, flotation.others, strict=True) if angle > limit]
    if not far:
        return []
    angle, other = far[0]
    roll = "" if other.roll_deg is None else f", roll {other.roll_deg:.0f} deg"
    remedy = (
        f"put the ballast lower: thrown badly it also rests at pitch {other.pitch_deg:.0f} deg{roll}, "
        f"{angle:.0f} deg from how it should lie"
    )
    return [Finding("two-attitudes", "warning", "float.others", remedy, angle, limit, "deg")]
