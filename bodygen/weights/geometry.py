"""From meshes to ``Measured``: integrates over every piece that the ledger needs to know of.

Knows which piece is which. Knows no densities.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import count

import manifold3d
import numpy as np

from bodygen.errors import DesignError
from bodygen.form.cuts import Revolved, Tool, slot_of
from bodygen.form.integrals import Array, SkinIntegrals, VolumeIntegrals
from bodygen.mesh.pieces import Pieces, exact_left, filled_below, integrals, plate_solid
from bodygen.recipe.model import Recipe
from bodygen.weights.item import Room
from bodygen.weights.measured import BoreRoom, LipRoom, Measured, SlotRoom


@dataclass(frozen=True, slots=True, eq=False)
class PlateShape:
    """The lip's plate as polygons (k, 2) in plate axes: from the slot's mouth towards the tip, and sideways [mm]."""

    outline: Array
    holes: tuple[Array, ...]
    thickness: float


@dataclass(frozen=True, slots=True, eq=False)
class Plate:
    """The plate in its slot: ``tongue`` inside the uncut body, ``exposed`` outside it."""

    tongue: manifold3d.Manifold
    exposed: manifold3d.Manifold


def plate_in_slot(tools: Sequence[Tool], pieces: Pieces, plate: PlateShape) -> Plate:
    """The plate as it sits in the body."""
    slot = slot_of(tools)
    assert slot is not None  # noqa: S101  a plate has a slot
    tongue, exposed = plate_solid(slot, plate.outline, plate.holes, plate.thickness).split(pieces.body)
    return Plate(tongue, exposed)


def measure(
    recipe: Recipe,
    body: VolumeIntegrals,
    skin: SkinIntegrals,
    tools: Sequence[Tool],
    pieces: Pieces,
    plate: Plate | None,
) -> Measured:
    """Everything the ledger asks of the geometry.

    Parameters
    ----------
    body, skin : VolumeIntegrals, SkinIntegrals
        Of the uncut body, exact.
    tools, pieces : the cuts and what each took away, in the same order
    plate : Plate or None
        The lip's plate as it sits in its slot.

    Raises
    ------
    DesignError
        A cut that takes no wood away.
    """
    bores: list[BoreRoom] = []
    slots: list[SlotRoom] = []
    lip: LipRoom | None = None
    rooms = [_taken(tools, pieces, place) for place in range(len(tools))]
    for tool, room, taken in zip(tools, pieces.rooms, rooms, strict=True):
        if isinstance(tool, Revolved):
            bores.append(_bore(recipe, tool, room, taken))
        elif tool.kind == "wire":
            slots.append(SlotRoom(tool.slot, taken))
        elif tool.kind == "slot" and plate is not None:
            lip = LipRoom(taken, integrals(plate.tongue), integrals(plate.exposed))
    return Measured(body, exact_left(body, rooms), skin, tuple(bores), tuple(slots), lip)


def _taken(tools: Sequence[Tool], pieces: Pieces, place: int) -> VolumeIntegrals:
    """What the cut at ``place`` takes; refuse one that takes nothing, and say why it does not."""
    room, tool = pieces.rooms[place], tools[place]
    if not room.is_empty():
        return integrals(room)
    wood = pieces.knives[place] ^ pieces.body
    shared = {i: (wood ^ pieces.knives[i]).volume() for i in range(place)}
    if wood.is_empty() or not shared:
        why, remedy = "it lies wholly in the air", "a place, a direction or a depth that reaches the wood"
    else:
        first = tools[max(shared, key=lambda i: shared[i])].name
        why = f'it lies wholly in "{first}", which is cut before it'
        remedy = f'move it, drill it deeper, or write its table before that of "{first}"'
    table, number = tool.part
    where = "lip" if table == "lip" else f"{table}[{number + 1}]"
    msg = f'"{tool.name}" takes no wood away: {why}'
    raise DesignError(msg, where, remedy)


def _bore(recipe: Recipe, tool: Revolved, room: manifold3d.Manifold, taken: VolumeIntegrals) -> BoreRoom:
    solid = metal_in(recipe, tool, room)
    metal = None if solid is None else integrals(solid)
    return BoreRoom(tool.bore, tool.mirrored, np.array(tool.origin), taken, metal)


def metal_in(recipe: Recipe, tool: Revolved, room: manifold3d.Manifold) -> manifold3d.Manifold | None:
    """The part of a bore's room that its ballast takes up, at the bore's full width; None without any."""
    bore = recipe.bores[tool.bore]
    if bore.fill is None:
        return None
    depth = bore.depth if bore.depth is not None else tool.point
    return filled_below(room, tool, bore.fill.level, depth, flat=bore.fill.finish == "flat")


def rooms_of(tools: Sequence[Tool]) -> tuple[Room | None, ...]:
    """The place in ``Measured`` of the room that each tool makes; None for a mouth, in which nothing lies."""
    counts = {"bore": count(), "slot": count()}
    return tuple(
        ("bore", next(counts["bore"]))
        if isinstance(tool, Revolved)
        else ("slot", next(counts["slot"]))
        if tool.kind == "wire"
        else ("lip", 0)
        if tool.kind == "slot"
        else None
        for tool in tools
    )
