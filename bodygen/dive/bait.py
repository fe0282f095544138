"""A bait as the dive estimate sees it: ledger, outline, silhouettes and hooks of a recipe as ``DiveInputs``.

Knows where everything of a recipe is. Knows nothing of forces: what acts is in ``attitude.py``.

Left out on purpose: coats add to mass and displacement, not to the silhouettes, and rings and bare eyes have no drag of
their own. What that does to a depth is in ``tests/dive/test_dive_left_out.py``; it is small beside the range.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import atan2, cos, degrees, hypot, pi, sin

import numpy as np

from bodygen.dive.body import area_and_moment, silhouettes_of
from bodygen.dive.ellipsoid import added_mass
from bodygen.dive.inputs import DiveInputs, Place
from bodygen.findings import Finding
from bodygen.form.cuts import Prism, Revolved, Tool, slot_of
from bodygen.form.cuts.hung import USUAL_EYE_MM, eye_stands_out
from bodygen.form.cuts.wired import BentWire
from bodygen.form.integrals import Array
from bodygen.mesh.base_body import BaseBody
from bodygen.plane.shapes import Circle, Loop
from bodygen.recipe.model import Bend, Lip, Recipe
from bodygen.tables import load
from bodygen.weights.item import MM3_PER_CM3, Item, Total

SAG_MM = 0.002
"""How far the polygon may leave the lip's outline where a bend parts it."""
MEAN_SINE_CUBED = 3 * pi / 16
"""A wire turned every way: the force across it goes with the sine squared of its angle, the drag with the cube."""


@dataclass(frozen=True, slots=True)
class FlatLip:
    """The flat plate that a lip counts as: ``angle`` below the body's axis [rad], ``area`` [mm^2].

    ``length`` and ``centroid`` are from the slot to the tip and to the area's centroid [mm].
    """

    angle: float
    length: float
    centroid: float
    area: float


def inputs_of(
    recipe: Recipe,
    body: BaseBody,
    tools: Sequence[Tool],
    exposed: tuple[Loop, Sequence[Circle]] | None,
    items: Sequence[Item],
    total: Total,
    water_g_cm3: float,
    wires: Sequence[BentWire] = (),
) -> tuple[DiveInputs | None, tuple[Finding, ...]]:
    """What the estimate is given of a bait; None, and why, where it has no lip or nobody says where it is tied.

    Parameters
    ----------
    recipe : Recipe
        With the place of every fitting worked out [mm].
    body, tools
        The uncut body and the cuts [mm].
    exposed : Loop and holes, or None
        The lip's outline outside the slot, in plate axes: x from the slot's mouth to the tip [mm].
    items, total
        The ledger, wholly under: masses [g], places [mm], volumes [mm^3].
    water_g_cm3 : float
        Density of the water [g/cm^3].
    wires : sequence of BentWire
        The recipe's bent wires [mm].

    Returns
    -------
    inputs : DiveInputs or None
        The body's own areas and volume are the wood's, without coats.
    findings : tuple of Finding
        Why there are none, or what was taken for granted.

    Notes
    -----
    Derived here: the hull counts as the ellipsoid of its length, depth and thickness for the couple alone.
    """
    slot = slot_of(tools)
    if recipe.lip is None or exposed is None or slot is None:
        remedy = "without a lip it does not dive by itself: the estimate has no ground"
        return None, (Finding("dive-no-lip", "note", "lip", remedy),)
    lip, table = flat_lip(recipe.lip, *exposed), load("dive")
    tied = _ties(recipe, tools, slot, wires)
    if not tied:
        remedy = 'say where it is tied: a bore of kind "tie", lip.tie_hole, or a wire from the nose on in its slot'
        return None, (Finding("dive-no-tie", "note", "bore", remedy),)
    (_, tie), *more = tied
    seen = silhouettes_of(body)
    length, depth, thickness = body.sizes
    k_x, k_z = added_mass(length / 2, thickness / 2, depth / 2)
    row = table["body"]
    found = [_two_ties(tied)] if more else []
    inputs = DiveInputs(
        water_kg_m3=1000 * water_g_cm3,
        tie_mm=tie,
        slot_mm=(slot.origin[0], slot.origin[2]),
        lip_angle_deg=degrees(lip.angle),
        lip_length_mm=lip.length,
        lip_width_mm=recipe.lip.width,
        lip_area_mm2=lip.area,
        lip_centroid_from_tip_mm=lip.length - lip.centroid,
        eta_lip=table["lip"]["share"],
        mass_g=total.mass,
        displaced_cm3=total.displaced / MM3_PER_CM3,
        centre_of_mass_mm=_in_plane(total.centre_of_mass),
        centre_of_buoyancy_mm=_in_plane(total.centre_of_buoyancy),
        frontal_area_mm2=seen.frontal,
        cd_body=row["drag"],
        plan_area_mm2=seen.plan,
        c_cross=row["across"],
        cross_at_mm=(seen.plan_x, 0.0),
        body_volume_cm3=body.volume.volume / MM3_PER_CM3,
        munk_factor=row["munk_share"] * (k_z - k_x),
        hooks_x_z_cda_mm_mm_mm2=_hooks(recipe, items),
    )
    return inputs, tuple(found)


def flat_lip(lip: Lip, exposed: Loop, holes: Sequence[Circle]) -> FlatLip:
    """The flat plate that a lip counts as: a bent one from the slot's mouth through the centroid of its bent area.

    Its length [mm] is the bent tip's, along that line; its area [mm^2] is that of the sheet.

    Derived here: the parts on either side of the bend keep their areas.

    Examples
    --------
    >>> from bodygen.plane.polygon import rectangle
    >>> lip = Lip("polycarbonate", 1.5, 0.6, 8.0, 20.0, 12.0, x=9.0)
    >>> flat_lip(lip, rectangle(20.0, 12.0, (0.0, -6.0)), ())
    FlatLip(angle=0.6, length=20.0, centroid=10.0, area=240.0)
    """
    area = exposed.area - sum(hole.area for hole in holes)
    moment = exposed.area * exposed.centroid[0] - sum(hole.area * hole.centroid[0] for hole in holes)
    if lip.bend is None:
        return FlatLip(lip.angle, lip.length, moment / area, area)
    beyond = area_and_moment(_beyond(np.array(exposed.points(SAG_MM)), lip.bend.distance))
    for hole in holes:
        if hole.centre[0] > lip.bend.distance:
            beyond = beyond - hole.area * np.array([1.0, hole.centre[0]])
    near = np.array([area, moment]) - beyond
    along, down = near[1], 0.0
    if beyond[0] > 0:
        x, z = bent(lip.bend, beyond[1] / beyond[0])
        along, down = along + beyond[0] * x, down + beyond[0] * z
    turn, (tip_x, tip_z) = atan2(down, along), bent(lip.bend, lip.length)
    length = tip_x * cos(turn) + tip_z * sin(turn)
    return FlatLip(lip.angle + turn, length, hypot(along, down) / area, area)


def bent(bend: Bend | None, out: float) -> Place:
    """Where a place ``out`` [mm] along the sheet lies: along the plate at the slot, and down from it [mm].

    Elementary.

    Examples
    --------
    >>> bent(Bend(8.0, pi / 6), 12.0)   # 4 mm beyond a bend of 30 deg
    (11.464, 2.0)
    """
    if bend is None or out <= bend.distance:
        return out, 0.0
    rest = out - bend.distance
    return bend.distance + rest * cos(bend.angle), rest * sin(bend.angle)


def _beyond(points: Array, x: float) -> Array:
    """The part of a polygon (k, 2) beyond a line across it (Sutherland and Hodgman, 1974, from memory)."""
    kept = []
    for here, after in zip(points, np.roll(points, -1, axis=0), strict=True):
        if here[0] > x:
            kept.append(here)
        if (here[0] > x) != (after[0] > x):
            kept.append(here + (x - here[0]) / (after[0] - here[0]) * (after - here))
    return np.array(kept).reshape(-1, 2)


def _ties(recipe: Recipe, tools: Sequence[Tool], slot: Prism, wires: Sequence[BentWire]) -> list[tuple[str, Place]]:
    """Where a line may be tied, by key and place: eyes of ties, the lip's hole, a through-wire's eye at the nose.

    Without any of them the nose end of a kerf whose wire has no form that is told.
    """
    found: list[tuple[str, Place]] = []
    for tool in tools:
        if isinstance(tool, Revolved) and tool.kind == "tie" and not tool.mirrored:
            place = np.array(tool.origin) - eye_stands_out(tool.name, recipe) * np.array(tool.axis)
            found.append((f"bore[{tool.bore + 1}]", _in_plane(place)))
    found.sort(key=lambda tie: tie[1])  # the foremost, whatever the order in the recipe
    if recipe.lip is not None and recipe.lip.tie_hole is not None:
        along, down = bent(recipe.lip.bend, recipe.lip.tie_hole.distance)
        (x, _, z), (c, _, s) = slot.origin, slot.along
        found.append(("lip.tie_hole", (x - along * c + down * s, z - along * s - down * c)))
    through = [wire for wire in wires if isinstance(wire.tool, Prism)]
    found += [(f"fitting[{wire.place + 1}].bent", _nose_eye(wire)) for wire in through if _has_nose_eye(recipe, wire)]
    if not found:
        formed = [wire.tool for wire in through]
        found += [end for tool in tools if tool not in formed and (end := _wire_end(recipe, tool)) is not None]
    return found


def _has_nose_eye(recipe: Recipe, wire: BentWire) -> bool:
    bent = recipe.fittings[wire.place].bent
    return bent is not None and bent.start is None


def _nose_eye(wire: BentWire) -> Place:
    """Where the line pulls in the eye of a through-wire at the nose: the foremost of the loop's inside."""
    x, z = wire.form.eyes[0]
    return x - wire.form.loop / 2, z


def _wire_end(recipe: Recipe, tool: Tool) -> tuple[str, Place] | None:
    """Where the eye of a wire is that is laid from the nose on: before the kerf's floor there."""
    if not isinstance(tool, Prism) or tool.kind != "wire":
        return None
    written = recipe.wire_slots[tool.slot]
    if written.start > 0:
        return None
    deepest = max if written.along == "belly" else min
    floor = deepest(z for x, z in tool.polygon if x == written.start)
    return f"wire_slot[{tool.slot + 1}]", (written.start - USUAL_EYE_MM, floor)


def _hooks(recipe: Recipe, items: Sequence[Item]) -> tuple[tuple[float, float, float], ...]:
    """Eye and drag area of every hook: its wire by the table, so long as its size has steel; of no size, as it has."""
    row, rows = load("dive")["hook"], load("hardware")["treble_hook"]["sizes"]
    hooks = []
    for item in items:
        fitting = None if item.owner is None or item.owner[0] != "fitting" else recipe.fittings[item.owner[1]]
        if fitting is None or fitting.kind != "hook":
            continue
        size = next((size for size in rows if size["size"] == fitting.size), None)
        mass = item.mass / fitting.quantity
        wire = float((size or min(rows, key=lambda size: abs(size["mass_g"] - mass)))["wire_mm"])
        steel = item.displaces if size is None else fitting.quantity * size["displaced_cm3"] * MM3_PER_CM3
        x, z = _in_plane(item.at)
        hooks.append((x, z, row["cylinder"] * MEAN_SINE_CUBED * steel / (pi / 4 * wire)))  # d l, of d^2 l pi / 4
    return tuple(sorted(hooks))


def _in_plane(place: Array) -> Place:
    return float(place[0]), float(place[2])


def _two_ties(tied: list[tuple[str, Place]]) -> Finding:
    keys = [key for key, _ in tied]
    remedy = f"it can be tied at {' and '.join(keys)}: the dive is told for {keys[0]}"
    return Finding("dive-two-ties", "note", keys[1], remedy)
