"""The ledger: every part of the bait as an item, from the wood that is left to the hooks.

Knows which part goes where and in which order. Knows nothing of water. The maker's own figures win everywhere.
"""

from dataclasses import replace

import numpy as np

from bodygen.recipe.model import BoreKind, Lip, Recipe
from bodygen.weights import catalogue
from bodygen.weights.coats import coat_items
from bodygen.weights.fittings import Fitted, fitted
from bodygen.weights.item import MM3_PER_CM3, Item, solid
from bodygen.weights.learned import Learned, corrected
from bodygen.weights.measured import LipRoom, Measured
from bodygen.weights.rooms import bore_items, closing, left_over
from bodygen.weights.spread import Cause, uniform
from bodygen.weights.wood import WoodDensity

RoomKey = tuple[str, int]  # ("bore" or "slot", place in Measured)
# Bores that a kind of hardware is set into, besides wire slots
TAKEN_BY: dict[str, frozenset[BoreKind]] = {
    "wire": frozenset({"hanger", "tie", "through", "any"}),
    "screw_eye": frozenset({"hanger", "tie"}),
    "eye": frozenset({"eye"}),
}


def ledger(
    recipe: Recipe, measured: Measured, density: WoodDensity, learned: Learned | None = None
) -> tuple[Item, ...]:
    """All items: wood, what fills the rooms, fittings, coats, lip; pours and coats by what was learned of them.

    Raises
    ------
    DesignError
        A part without a mass, or a name that the tables lack (the reader refuses both before).
    """
    fittings = fitted(recipe)
    lodgings = [_lodging(f, recipe, measured) for f in fittings]
    items = [_wood(measured, density)]
    for place, room in enumerate(measured.bores):
        hardware = _hardware(fittings, lodgings, ("bore", place))
        items.extend(bore_items(recipe.bores[room.index], room, hardware))
    for place, slot in enumerate(measured.slots):
        wire_slot = recipe.wire_slots[slot.index]
        rest = left_over(slot.room, None, _hardware(fittings, lodgings, ("slot", place)))
        owner = ("wire_slot", slot.index)
        items.extend(closing(owner, wire_slot.name, "hangers", wire_slot.closed, rest, glued=True))
    for fitting, lodging in zip(fittings, lodgings, strict=True):
        items.append(fitting.item if lodging is None else replace(fitting.item, outside=False))
    items.extend(coat_items(recipe, measured.skin))
    if recipe.lip is not None and measured.lip is not None:
        items.extend(_lip(recipe.lip, measured.lip))
    return corrected(items, learned)


def _wood(measured: Measured, density: WoodDensity) -> Item:
    item = solid("wood", None, "wood", "drilled", measured.wood_left, density.g_cm3, density.basis)
    return replace(item, spread=density.cov * item.mass, cause=Cause("wood") if density.cov else None)


def _lip(lip: Lip, room: LipRoom) -> tuple[Item, ...]:
    """Plate outside the skin, tongue inside it, and the glue round the tongue."""
    row = catalogue.row("sheet", "sheet", lip.sheet, "lip.sheet")
    density = catalogue.density(row)
    low, high = catalogue.bounds(row)
    basis = f"{row['name']}, {lip.thickness:g} mm: {row['source']}{', recalled' if row.get('recalled') else ''}"
    if lip.mass is not None:
        density = low = high = lip.mass * MM3_PER_CM3 / (room.exposed.volume + room.tongue.volume)
        basis = f"mass as given in the recipe ({row['name']})"
    owner = ("lip", 0)
    plate = solid("plate", owner, "lip", "rigged", room.exposed, density, basis)
    tongue = solid("tongue", owner, "lip, tongue", "rigged", room.tongue, density, basis)
    cause, share = Cause("sheet", lip.sheet), uniform(low, high) / density
    parts = [replace(plate, outside=True), tongue]
    if share > 0:
        parts = [replace(part, spread=share * part.mass, cause=cause) for part in parts]
    glue = closing(owner, "lip", "rigged", "filled", left_over(room.slot, room.tongue, 0.0), glued=True)
    return (*parts, *glue)


def _lodging(fitting: Fitted, recipe: Recipe, measured: Measured) -> RoomKey | None:
    """Find the room that a wire or eye lies in: the nearest of its kind, if no farther off than the wire is long.

    An eye that stands outside the skin is counted into the room with its shank; that misplaces a few mm^3 of glue.
    """
    if fitting.kind not in TAKEN_BY or not fitting.reach > 0:
        return None
    at = fitting.item.at
    near: list[tuple[float, RoomKey]] = []
    for place, room in enumerate(measured.bores):
        if recipe.bores[room.index].kind in TAKEN_BY[fitting.kind]:
            gap = min(float(np.linalg.norm(at - room.mouth)), float(np.linalg.norm(at - room.room.centroid)))
            near.append((gap, ("bore", place)))
    if fitting.kind == "wire":
        for place, slot in enumerate(measured.slots):
            wire_slot = recipe.wire_slots[slot.index]
            along = max(wire_slot.start - at[0], 0.0, at[0] - wire_slot.end)
            near.append((float(np.hypot(along, at[1])), ("slot", place)))
    gap, where = min(near, default=(np.inf, None))
    return where if gap <= fitting.reach else None


def _hardware(fittings: tuple[Fitted, ...], lodgings: list[RoomKey | None], room: RoomKey) -> float:
    """Metal of the fittings that lie in a room [mm^3]."""
    return sum(f.item.displaces for f, lodging in zip(fittings, lodgings, strict=True) if lodging == room)
