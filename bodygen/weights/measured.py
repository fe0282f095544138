"""What the ledger needs to know of the geometry: the volumes of wood, holes and metal, and the skin, off the meshes.

Knows which piece is which, no densities. Every ``VolumeIntegrals`` is in body axes, mm. The cavities are what each cut
takes away, each lying inside the skin of the uncut body and none counted twice: where two cuts meet, the earlier one in
the order bores, wire slots, lip slot has the shared part. A counterbore belongs to its bore. The mouth above a lip's
slot is wood gone and no cavity: water fills it.
"""

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from itertools import count

import manifold3d
import numpy as np

from bodygen.errors import DesignError
from bodygen.form.blank import Blank
from bodygen.form.cuts import Revolved, Tool, slot_of
from bodygen.form.integrals import Array, SkinIntegrals, VolumeIntegrals
from bodygen.mesh.cut import to_mesh
from bodygen.mesh.pieces import Pieces, exact_left, filled_below, integrals, plate_reach, plate_solid
from bodygen.mesh.skin import Mesh
from bodygen.recipe.model import Recipe
from bodygen.weights.item import CavityKey

CRUMB_MM3 = 1e-9
"""Rounding of a cut that takes nothing [mm^3]."""


@dataclass(frozen=True, slots=True, eq=False)
class BoreCavity:
    """One drilled hole. ``index`` is the bore's place in ``recipe.bores``; ``mirrored`` the other flank's of a pair.

    ``mouth`` (3,) [mm] is where the axis meets the skin. ``cavity`` is the wood removed inside the skin. ``metal`` is
    the part of it which lies below the fill's level, its top flush with the skin or flat as the recipe says, at the
    bore's full diameter (a slug's clearance is the ledger's business); None for a bore without fill.
    """

    index: int
    mirrored: bool
    mouth: Array
    cavity: VolumeIntegrals
    metal: VolumeIntegrals | None = None


@dataclass(frozen=True, slots=True, eq=False)
class SlotCavity:
    """One wire slot: its place in ``recipe.wire_slots`` and the wood removed inside the skin."""

    index: int
    cavity: VolumeIntegrals


@dataclass(frozen=True, slots=True, eq=False)
class LipCavity:
    """The lip: its slot's wood removed inside the skin, and the plate in two parts.

    ``tongue`` is the plate inside that slot, ``exposed`` the plate outside the skin; together they are the whole plate,
    its tie hole left out.
    """

    slot: VolumeIntegrals
    tongue: VolumeIntegrals
    exposed: VolumeIntegrals


@dataclass(frozen=True, slots=True, eq=False)
class Measured:
    """The geometry of one recipe: uncut body, wood left after every cut, the uncut body's whole skin, the cavities.

    ``bores`` are in recipe order, a mirror pair as two (the entered flank first); ``slots`` in recipe order. ``block``
    is what the body is carved from, None where nobody asks for it.
    """

    body: VolumeIntegrals
    wood_left: VolumeIntegrals
    skin: SkinIntegrals
    bores: tuple[BoreCavity, ...] = ()
    slots: tuple[SlotCavity, ...] = ()
    lip: LipCavity | None = None
    block: Blank | None = None


@dataclass(frozen=True, slots=True, eq=False)
class PlateShape:
    """The lip's plate as polygons (k, 2) in plate axes: from the slot's mouth towards the tip, and sideways [mm]."""

    outline: Array
    holes: tuple[Array, ...]
    thickness: float


@dataclass(frozen=True, slots=True, eq=False)
class Plate:
    """The plate in its slot: ``whole``, and what is ``exposed`` outside the body, also as a ``mesh`` [mm].

    ``key``: what they follow from.
    """

    whole: manifold3d.Manifold
    exposed: manifold3d.Manifold
    mesh: Mesh
    key: Hashable

    def integrals(self) -> tuple[VolumeIntegrals, VolumeIntegrals]:
        """Of the tongue, which is what is not exposed, and of what is [mm^3 to mm^5].

        Raises
        ------
        DesignError
            There is no tongue, or nothing but a tongue.
        """
        exposed = integrals(self.exposed)
        if self.whole.volume() - exposed.volume <= CRUMB_MM3:
            msg = "a plate that is not in the wood has no tongue"
            raise DesignError(msg)
        return exact_left(integrals(self.whole), [exposed]), exposed


def plate_in_slot(tools: Sequence[Tool], pieces: Pieces, plate: PlateShape) -> Plate:
    """The plate [mm] as it sits in the body."""
    slot = slot_of(tools)
    assert slot is not None  # noqa: S101  a plate has a slot
    polygons = plate.outline.tobytes(), tuple(hole.tobytes() for hole in plate.holes)
    key = "plate", slot, polygons, plate.thickness

    def split() -> Plate:
        reach = plate_reach(slot, plate.outline, plate.thickness)
        body = pieces.stock.around(reach.span, reach)
        whole = plate_solid(slot, plate.outline, plate.holes, plate.thickness)
        exposed = whole - body  # made after the body, whatever was cut before: see mesh/pieces.py
        return Plate(whole, exposed, to_mesh(exposed), key)

    return pieces.stock.kept.of(key, split)


def measure(
    recipe: Recipe,
    body: VolumeIntegrals,
    skin: SkinIntegrals,
    tools: Sequence[Tool],
    pieces: Pieces,
    plate: Plate | None,
) -> Measured:
    """Everything the ledger asks of the geometry [mm^2 to mm^5].

    Derived here: the wood left is the exact body less what the cuts took, so the facets' error stays with the cuts
    alone.

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
    bores: list[BoreCavity] = []
    slots: list[SlotCavity] = []
    lip: LipCavity | None = None
    cavities = [_taken(tools, pieces, place) for place in range(len(tools))]
    for place, (tool, taken) in enumerate(zip(tools, cavities, strict=True)):
        if isinstance(tool, Revolved):
            metal = metal_in(recipe, tool, place, pieces)
            of_metal = None if metal is None else metal[1]
            bores.append(BoreCavity(tool.bore, tool.mirrored, np.array(tool.origin), taken, of_metal))
        elif tool.kind == "wire":
            slots.append(SlotCavity(tool.slot, taken))
        elif tool.kind == "slot" and plate is not None:
            lip = LipCavity(taken, *pieces.stock.kept.of(("plate's parts", plate.key), plate.integrals))
    return Measured(body, exact_left(body, cavities), skin, tuple(bores), tuple(slots), lip)


def _taken(tools: Sequence[Tool], pieces: Pieces, place: int) -> VolumeIntegrals:
    """What the cut at ``place`` takes; refuse one that takes nothing, and say why it does not."""
    cavity, tool = pieces.cavities[place], tools[place]
    if cavity.volume() > CRUMB_MM3:
        return pieces.integrals(place)
    if isinstance(tool, Revolved) and tool.mirrored:
        # a pair that meets in one hole, and comes out: told as that; its second half is nothing, at its own place
        middle = np.array(tool.origin) + tool.point / 2 * np.array(tool.axis)
        return VolumeIntegrals(CRUMB_MM3, middle, np.zeros((3, 3)))
    wood = pieces.cutting_solids[place] ^ pieces.body
    shared = {i: (wood ^ pieces.cutting_solids[i]).volume() for i in range(place)}
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


def metal_in(
    recipe: Recipe, tool: Revolved, place: int, pieces: Pieces
) -> tuple[manifold3d.Manifold, VolumeIntegrals] | None:
    """The part of a bore's cavity that its ballast takes up [mm^3], at the bore's full width; None without any."""
    bore = recipe.bores[tool.bore]
    fill = bore.fill
    if fill is None or pieces.cavities[place].volume() <= CRUMB_MM3:
        return None
    depth = bore.depth if bore.depth is not None else tool.point

    def filled() -> tuple[manifold3d.Manifold, VolumeIntegrals]:
        solid = filled_below(pieces.cavities[place], tool, fill.level, depth, flat=fill.finish == "flat")
        return solid, integrals(solid)

    return pieces.stock.kept.of(("metal", pieces.keys[place], fill.level, fill.finish, depth), filled)


def cavities_of(tools: Sequence[Tool]) -> tuple[CavityKey | None, ...]:
    """The place [-] in ``Measured`` of the cavity that each tool makes; None for a mouth, in which nothing lies.

    Examples
    --------
    >>> from bodygen.form.cuts import Prism
    >>> saws = (Prism(kind, kind, (0, 0, 0), (1, 0, 0), (0, 0, 1), (), 1.0, 5.0) for kind in ("wire", "slot", "mouth"))
    >>> cavities_of(list(saws))
    (('slot', 0), ('lip', 0), None)
    """
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
