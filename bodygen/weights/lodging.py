"""Hardware in its room: the hole that a wire, a screw eye or an eye is set into, and how much of it stands out.

Knows bores and kerfs by their places and volumes. Knows nothing of what closes a room (``rooms.py``). Where in its room
hardware lies is not known: it is taken to fill it evenly.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from bodygen.findings import Finding
from bodygen.form.integrals import VolumeIntegrals
from bodygen.recipe.model import BoreKind, Recipe
from bodygen.weights.fittings import Fitted, fitted
from bodygen.weights.item import Item, Room
from bodygen.weights.measured import Measured

# Bores that a kind of hardware is set into, besides wire slots
TAKEN_BY: dict[str, frozenset[BoreKind]] = {
    "wire": frozenset({"hanger", "tie", "through", "any"}),
    "screw_eye": frozenset({"hanger", "tie"}),
    "eye": frozenset({"eye"}),
}
SAME_MM = 0.01
"""Nearer than this a hole is as wide as what goes into it."""
MOSTLY = 0.5
"""A wire of which a smaller share than this finds room in its hole is worth a word; an eye stands out of its socket."""


def lodged(recipe: Recipe, measured: Measured) -> tuple[Item, ...]:
    """Every fitting as an item, in its room where it has one.

    What the room cannot hold pushes water aside outside: at the mouth, or at the fitting's own place where that lies
    further out. A screw eye's ring always stands outside; where the hole is too small for its shank, that presses
    itself into the wood and pushes no water aside there.

    Raises
    ------
    DesignError
        As ``fitted``.
    """
    fittings = fitted(recipe)
    rooms = [_room_of(one, recipe, measured) for one in fittings]
    wanted = _wanted(fittings, rooms)
    return tuple(
        one.item if room is None else _set_into(one, room, measured, wanted[room])
        for one, room in zip(fittings, rooms, strict=True)
    )


def lodging_findings(recipe: Recipe, measured: Measured) -> tuple[Finding, ...]:
    """Doubt hardware that is too wide for its hole, or that mostly finds no room in it."""
    fittings = fitted(recipe)
    rooms = [_room_of(one, recipe, measured) for one in fittings]
    wanted = _wanted(fittings, rooms)
    found: dict[str, Finding] = {}
    for one, room in zip(fittings, rooms, strict=True):
        if room is None or one.item.owner is None or not one.width:
            continue
        part, name, width = _hole(room, recipe, measured)
        share = _volume(room, measured).volume / wanted[room] if wanted[room] > 0 else 1.0
        where = f"fitting[{one.item.owner[1] + 1}]"
        about = (one.item.owner, part)
        if one.width > width + SAME_MM:
            remedy = f"{one.item.name} does not go into {name}: a wider hole, or thinner hardware"
            doubt = Finding("fitting-too-wide", "warning", where, remedy, one.width, width, "mm", about=about)
        elif share < MOSTLY and one.kind == "wire":
            remedy = (
                f"{name} has room for {100 * share:.0f} % of {one.item.name}; the rest is taken to stand in the water"
                " at its mouth: check its size, its length and where it is"
            )
            doubt = Finding("fitting-stands-out", "note", where, remedy, 100 * share, 100 * MOSTLY, "%", about=about)
        else:
            continue
        found.setdefault(where, doubt)
    return tuple(found.values())


def _wanted(fittings: Sequence[Fitted], rooms: Sequence[Room | None]) -> dict[Room, float]:
    """How much hardware is to go into each room [mm^3]."""
    wanted: dict[Room, float] = {}
    for one, room in zip(fittings, rooms, strict=True):
        if room is not None:
            wanted[room] = wanted.get(room, 0.0) + (1 - one.ring) * one.item.displaces
    return wanted


def _set_into(one: Fitted, key: Room, measured: Measured, wanted: float) -> Item:
    """One fitting in its room, which is to hold ``wanted`` [mm^3] of hardware in all."""
    item, buried = one.item, (1 - one.ring) * one.item.displaces
    room, out = _volume(key, measured), item.at
    if key[0] == "bore":
        mouth = measured.bores[key[1]].mouth
        out = item.at if float((item.at - mouth) @ (mouth - room.centroid)) > 0 else mouth
    within = buried * min(1.0, room.volume / wanted) if wanted > 0 else 0.0
    outside = item.displaces - (buried if one.kind == "screw_eye" else within)
    displaces = within + outside
    place = (within * room.centroid + outside * out) / displaces if displaces > 0 else item.at
    return replace(
        item,
        displaces=displaces,
        displaces_at=place,
        outside=outside,
        outside_at=out,
        volume_follows=False,  # a heavier wire than expected leaves the less room to the glue
        room=key,
    )


def _room_of(one: Fitted, recipe: Recipe, measured: Measured) -> Room | None:
    """Find the room that a wire or eye lies in: the nearest of its kind, if no farther off than the wire is long."""
    if one.kind not in TAKEN_BY or not one.reach > 0:
        return None
    at = one.item.at
    near: list[tuple[float, Room]] = []
    for place, room in enumerate(measured.bores):
        if recipe.bores[room.index].kind in TAKEN_BY[one.kind]:
            gap = min(float(np.linalg.norm(at - room.mouth)), float(np.linalg.norm(at - room.room.centroid)))
            near.append((gap, ("bore", place)))
    if one.kind == "wire":
        for place, slot in enumerate(measured.slots):
            wire_slot = recipe.wire_slots[slot.index]
            along = max(wire_slot.start - at[0], 0.0, at[0] - wire_slot.end)
            near.append((float(np.hypot(along, at[1])), ("slot", place)))
    gap, where = min(near, default=(np.inf, None))
    return where if gap <= one.reach else None


def _volume(room: Room, measured: Measured) -> VolumeIntegrals:
    return measured.bores[room[1]].room if room[0] == "bore" else measured.slots[room[1]].room


def _hole(room: Room, recipe: Recipe, measured: Measured) -> tuple[tuple[str, int], str, float]:
    """The recipe's entry of a room, its name, and how wide it is [mm]; an eye may lie in its counterbore."""
    if room[0] == "slot":
        place = measured.slots[room[1]].index
        return ("wire_slot", place), recipe.wire_slots[place].name, recipe.wire_slots[place].width
    place = measured.bores[room[1]].index
    bore = recipe.bores[place]
    wide = bore.counterbore.diameter if bore.counterbore is not None and bore.kind == "eye" else bore.diameter
    return ("bore", place), bore.name, wide
