"""Whether bent wires can be bent and fit where they go: bends, twist, legs, kerf, and what lies beside a kerf's wire.

Limits are rows of ``wire.toml``. Whether wood is left round the bores themselves is asked in ``checks.py``.
"""

from collections.abc import Iterator, Sequence

import numpy as np

from bodygen.findings import Finding
from bodygen.form.cuts.tools import Prism, Revolved, Tool
from bodygen.form.cuts.wired import BentWire, bent_wires, floor_of, points_on
from bodygen.form.integrals import Array
from bodygen.form.ray_caster import RayCaster
from bodygen.form.wire.bends import Twist
from bodygen.recipe.model import Recipe
from bodygen.tables import load

NEAR_MM = 0.01
"""Less than this outside is not outside."""


def wire_checks(recipe: Recipe, tools: tuple[Tool, ...], caster: RayCaster) -> tuple[Finding, ...]:
    """Doubt every bent wire that cannot be bent, does not go in, leaves its kerf or runs into another cut [mm].

    Limits: ``wire.toml``, common practice but for the advised radius (spring makers).
    """
    found: list[Finding] = []
    for wire in bent_wires(recipe, tools, caster):
        where = f"fitting[{wire.place + 1}] {wire.name}"
        found += _bends(wire, where)
        if isinstance(wire.tool, Revolved):
            found += _legs(wire, wire.tool, where)
        else:
            found += _in_kerf(recipe, wire, wire.tool, caster, where)
            found += _beside(wire, tools, where)
    return tuple(found)


def _bends(wire: BentWire, where: str) -> Iterator[Finding]:
    limits, form = load("wire"), wire.form
    tightest = min(bend.inside for bend in form.bends)
    least, advised = (form.wire * limits["bend"][key] for key in ("least_radius_d", "advised_radius_d"))
    if tightest < least - NEAR_MM:
        remedy = "so tight a bend cracks hard wire: a wider loop or radius, or softer wire"
        yield Finding("wire-bend-tight", "warning", where, remedy, round(tightest, 2), round(least, 2), "mm")
    elif tightest < advised - NEAR_MM:
        remedy = "a bend that carries load lasts longer from this radius on: a wider loop or radius"
        source = str(limits["bend"]["advised_radius_d_source"])
        yield Finding("wire-bend-tight", "note", where, remedy, round(tightest, 2), round(advised, 2), "mm", source)
    twist = next((segment for segment in form.segments if isinstance(segment, Twist)), None)
    if twist is not None:
        pitch, tight = twist.axial / twist.turns, form.wire * limits["twist"]["least_pitch_d"]
        if pitch < tight - NEAR_MM:
            remedy = "the legs would run into their own next turn: fewer turns, or longer legs"
            yield Finding("wire-twist-tight", "warning", where, remedy, round(pitch, 2), round(tight, 2), "mm")


def _legs(wire: BentWire, bore: Revolved, where: str) -> Iterator[Finding]:
    leg = -min(y for piece in wire.form.path for _, y in (piece.start, piece.end))
    if leg > bore.shoulder + NEAR_MM:
        remedy = f"{bore.name} is not so deep: shorter legs, or drill deeper"
        yield Finding("wire-leg-long", "warning", where, remedy, round(leg, 2), round(bore.shoulder, 2), "mm")


def out_of_kerf(recipe: Recipe, wire: BentWire, kerf: Prism, caster: RayCaster) -> float:
    """How far a through-wire reaches out of its kerf, or out of the wood at its mouth; below 0 how much is left [mm].

    Looked at every quarter of a millimetre along all of it that is buried. At the mouth the tails beside the wire are
    left out: they end where the body tapers, beside the eye. Derived here.
    """
    slot, half = recipe.wire_slots[kerf.slot], wire.form.wire / 2
    down = 1.0 if slot.along == "belly" else -1.0
    points = points_on(wire.form.buried)
    floor = floor_of(kerf)
    # inside the body alone: beyond its ends there is no wood that the wire could run into
    low, high = float(caster.low[0]), float(caster.high[0])
    inside = points[(points[:, 0] >= low) & (points[:, 0] <= high)]
    begin, end = (-np.inf if slot.start <= low else slot.start), (np.inf if slot.end >= high else slot.end)
    beyond = [
        float((down * (inside[:, 1] - np.interp(inside[:, 0], floor[:, 0], floor[:, 1]))).max()) + half,
        float((begin - inside[:, 0]).max()) + half,
        float((inside[:, 0] - end).max()) + half,
        half - kerf.half,
    ]
    pieces = wire.form.buried
    bent = recipe.fittings[wire.place].bent
    first = 1 if bent is not None and bent.start is None else 0
    run = points_on(pieces[first:-1])
    skin = caster.heights(run[:, 0])[0 if down > 0 else 1]
    out = down * (skin - run[:, 1])
    beyond.append(float(np.nanmax(out)) if np.isfinite(out).any() else 0.0)
    return max(beyond)


def _in_kerf(recipe: Recipe, wire: BentWire, kerf: Prism, caster: RayCaster, where: str) -> Iterator[Finding]:
    out = out_of_kerf(recipe, wire, kerf, caster)
    if out > NEAR_MM:
        remedy = f"it does not lie in {kerf.name} all the way: another height, a deeper, longer or wider kerf"
        yield Finding("wire-out-of-kerf", "warning", where, remedy, round(out, 2), 0.0, "mm")


def _beside(wire: BentWire, tools: Sequence[Tool], where: str) -> Iterator[Finding]:
    """Bores and saw cuts that a kerf's wire runs into; those that are for wires hold it, and are left out."""
    flat = points_on(wire.form.buried)
    points = np.column_stack([flat[:, 0], np.zeros(len(flat)), flat[:, 1]])
    for tool in tools:
        if isinstance(tool, Revolved):
            wired = tool.kind in {"hanger", "tie", "through", "any"}
            gap = np.inf if wired else float(to_bore(points, tool).min()) - wire.form.wire / 2
        else:
            gap = np.inf if tool.kind == "wire" else float(to_slot(points, tool).min()) - wire.form.wire / 2
        if gap < -NEAR_MM:
            remedy = f"it runs into {tool.name}: another height, a hook that ends before it, or move {tool.name}"
            yield Finding("wire-meets-cut", "warning", where, remedy, round(gap, 2), 0.0, "mm")


def to_bore(points: Array, bore: Revolved) -> Array:
    """From places (n, 3) to a bore's wall, below 0 inside it [mm]; its point is taken as flat.

    Elementary.
    """
    from_mouth = points - np.array(bore.origin)
    along = from_mouth @ np.array(bore.axis)
    radial = np.linalg.norm(from_mouth - along[:, None] * np.array(bore.axis), axis=1) - bore.diameter / 2
    past = np.maximum(along - bore.point, -along)
    return np.asarray(np.where((radial > 0) & (past > 0), np.hypot(radial, past), np.maximum(radial, past)))


def to_slot(points: Array, slot: Prism) -> Array:
    """From places (n, 3) to a saw cut's faces, below 0 inside it [mm].

    Elementary.
    """
    polygon = np.array(slot.polygon)
    from_mouth = points - np.array(slot.origin)
    a, b = from_mouth @ np.array(slot.along), from_mouth @ np.array(slot.normal)
    (a0, b0), (a1, b1) = polygon.min(axis=0), polygon.max(axis=0)
    one, other = np.maximum(a0 - a, a - a1), np.maximum(b0 - b, b - b1)
    return np.asarray(np.where((one > 0) & (other > 0), np.hypot(one, other), np.maximum(one, other)))
