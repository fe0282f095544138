"""What the ledger needs to know of the geometry: the volumes of wood, holes and metal, and the skin.

Knows no densities and no recipe keys; whoever can integrate over the body and its cuts fills these records in. Every
``VolumeIntegrals`` is in body axes, mm. The rooms are what each cut takes away, each lying inside the skin of the uncut
body and none counted twice: where two cuts meet, the earlier one in the order bores, wire slots, lip slot has the
shared part. A counterbore belongs to its bore. The mouth above a lip's slot is wood gone and no room: water fills it.
"""

from dataclasses import dataclass

from bodygen.form.blank import Blank
from bodygen.form.integrals import Array, SkinIntegrals, VolumeIntegrals


@dataclass(frozen=True, slots=True, eq=False)
class BoreRoom:
    """One drilled hole. ``index`` is the bore's place in ``recipe.bores``; ``mirrored`` the other flank's of a pair.

    ``mouth`` (3,) [mm] is where the axis meets the skin. ``room`` is the wood removed inside the skin. ``metal`` is the
    part of that room which lies below the fill's level, its top flush with the skin or flat as the recipe says, at the
    bore's full diameter (a slug's clearance is the ledger's business); None for a bore without fill.
    """

    index: int
    mirrored: bool
    mouth: Array
    room: VolumeIntegrals
    metal: VolumeIntegrals | None = None


@dataclass(frozen=True, slots=True, eq=False)
class SlotRoom:
    """One wire slot: its place in ``recipe.wire_slots`` and the wood removed inside the skin."""

    index: int
    room: VolumeIntegrals


@dataclass(frozen=True, slots=True, eq=False)
class LipRoom:
    """The lip: its slot's wood removed inside the skin, and the plate in two parts.

    ``tongue`` is the plate inside that slot, ``exposed`` the plate outside the skin; together they are the whole plate,
    its tie hole left out.
    """

    slot: VolumeIntegrals
    tongue: VolumeIntegrals
    exposed: VolumeIntegrals


@dataclass(frozen=True, slots=True, eq=False)
class Measured:
    """The geometry of one recipe: uncut body, wood left after every cut, the uncut body's whole skin, the rooms.

    ``bores`` are in recipe order, a mirror pair as two (the entered flank first); ``slots`` in recipe order. ``block``
    is what the body is carved from, None where nobody asks for it.
    """

    body: VolumeIntegrals
    wood_left: VolumeIntegrals
    skin: SkinIntegrals
    bores: tuple[BoreRoom, ...] = ()
    slots: tuple[SlotRoom, ...] = ()
    lip: LipRoom | None = None
    block: Blank | None = None
