"""The ledger: every part of the bait as an item, from the wood that is left to the hooks.

Knows which part goes where and in which order. Knows nothing of water. The maker's own figures win everywhere.
"""

from dataclasses import replace

from bodygen.recipe.model import Lip, Recipe
from bodygen.tables import catalogue
from bodygen.weights.cavities import bore_items, closing, left_over
from bodygen.weights.coats import coat_items
from bodygen.weights.fittings import lodged
from bodygen.weights.item import MM3_PER_CM3, CavityKey, Item, inside, solid
from bodygen.weights.learned import Learned, corrected
from bodygen.weights.measured import LipCavity, Measured
from bodygen.weights.spread import Cause, uniform
from bodygen.weights.wood import WoodDensity


def ledger(
    recipe: Recipe, measured: Measured, density: WoodDensity, learned: Learned | None = None
) -> tuple[Item, ...]:
    """All items [g, mm^3]: wood, what fills the cavities, fittings, coats, lip; some by what was learned of them.

    Each item's ``basis`` names where its figure comes from.

    Raises
    ------
    DesignError
        A part without a mass, or a name that the tables lack (the reader refuses both before).
    """
    fittings = lodged(recipe, measured)
    items = [_wood(measured, density)]
    for place, cavity in enumerate(measured.bores):
        items.extend(bore_items(recipe.bores[cavity.index], cavity, place, _hardware(fittings, ("bore", place))))
    for place, slot in enumerate(measured.slots):
        wire_slot = recipe.wire_slots[slot.index]
        key: CavityKey = ("slot", place)
        rest = left_over(slot.cavity, None, _hardware(fittings, key))
        owner = ("wire_slot", slot.index)
        items.extend(closing(owner, key, wire_slot.name, "hangers", wire_slot.closed, rest, glued=True))
    items.extend(fittings)
    items.extend(coat_items(recipe, measured.skin))
    if recipe.lip is not None and measured.lip is not None:
        items.extend(_lip(recipe.lip, measured.lip))
    return corrected(items, learned)


def _wood(measured: Measured, density: WoodDensity) -> Item:
    item = solid("wood", None, "wood", "drilled", measured.wood_left, density.g_cm3, density.basis)
    return replace(item, spread=density.cov * item.mass, cause=Cause("wood") if density.cov else None)


def _lip(lip: Lip, cavity: LipCavity) -> tuple[Item, ...]:
    """Plate outside the skin, tongue inside it, and the glue round the tongue."""
    row = catalogue.row("sheet", "sheet", lip.sheet, "lip.sheet")
    density = catalogue.density(row)
    low, high = catalogue.bounds(row)
    basis = f"{row['name']}, {lip.thickness:g} mm: {row['source']}{', recalled' if row.get('recalled') else ''}"
    if lip.mass is not None:
        density = low = high = lip.mass * MM3_PER_CM3 / (cavity.exposed.volume + cavity.tongue.volume)
        basis = f"mass as given in the recipe ({row['name']})"
    owner = ("lip", 0)
    plate = solid("plate", owner, "lip", "rigged", cavity.exposed, density, basis)
    tongue = solid("tongue", owner, "lip, tongue", "rigged", cavity.tongue, density, basis)
    cause, share = Cause("sheet", lip.sheet), uniform(low, high) / density
    # in a slot that another cut has opened already, the tongue takes up no more than is left of it
    held = min(cavity.tongue.volume, cavity.slot.volume)
    held_at = cavity.tongue.centroid if held < cavity.slot.volume else cavity.slot.centroid
    key: CavityKey = ("lip", 0)
    parts = [
        replace(plate, outside=plate.displaces),
        replace(tongue, displaces=held, displaces_at=held_at, cavity=key),
    ]
    if share > 0:
        parts = [replace(part, spread=share * part.mass, cause=cause) for part in parts]
    glue = closing(owner, key, "lip", "rigged", "filled", left_over(cavity.slot, cavity.tongue, 0.0), glued=True)
    return (*parts, *glue)


def _hardware(fittings: tuple[Item, ...], cavity: CavityKey) -> float:
    """Metal of the fittings that lie in a cavity [mm^3]."""
    return inside(item for item in fittings if item.cavity == cavity)
