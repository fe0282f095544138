"""Hooks, rings, eyes, wire and plain weights, from a catalogue or the maker's own scale; and the host cavity of each.

Knows what a size of the hardware table weighs, bores and kerfs by their places and volumes. Knows nothing of what
closes a cavity (``cavities.py``). Where in its cavity hardware lies is not known: it is taken to fill it evenly.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import pi, sqrt

import numpy as np

from bodygen import tables
from bodygen.errors import DesignError
from bodygen.findings import Finding
from bodygen.form.integrals import Array, VolumeIntegrals
from bodygen.recipe.model import Bent, BoreKind, Fitting, Recipe
from bodygen.recipe.readers.items import Size, metric_screw_eyes, sizes
from bodygen.units import INCH
from bodygen.weights.item import MM3_PER_CM3, CavityKey, Item
from bodygen.weights.measured import Measured
from bodygen.weights.spread import Cause, triangular, triangular_mean

HANGING_KINDS = frozenset({"hook", "ring"})
SECTIONS = {"hook": "treble_hook", "ring": "split_ring", "wire": "wire", "screw_eye": "screw_eye", "eye": "eye"}
# Bores that a kind of hardware is set into, besides wire slots
TAKEN_BY: dict[str, frozenset[BoreKind]] = {
    "wire": frozenset({"hanger", "tie", "through", "any"}),
    "screw_eye": frozenset({"hanger", "tie"}),
    "eye": frozenset({"eye"}),
}
SAME_MM = 0.01
"""Nearer than this a hole is as wide as what goes into it."""
MIDWAY_MM = 1e-6
"""Two cavities whose distances differ by less lie equally near: rounding must not choose between them."""
MOSTLY = 0.5
"""A wire of which a smaller share than this finds space in its hole is a finding; an eye stands out of its socket."""


@dataclass(frozen=True, slots=True, eq=False)
class Fitted:
    """An item with the kind it is of, as it is before it is set into a cavity.

    ``reach`` is how far its wire can reach from its own place [mm] (0: not a wire), ``ring`` the share of its volume
    that stands out of the wood as an eye [-], ``width`` what a hole must take [mm] (0: not known, or it is driven in).
    ``bent`` is the form of a wire that has one.
    """

    item: Item
    kind: str
    reach: float
    ring: float = 0.0
    width: float = 0.0
    bent: Bent | None = None


def fitted(recipe: Recipe) -> tuple[Fitted, ...]:
    """Every fitting as items [g, mm^3], a mirror pair as two, with the maker's own figures before the table's.

    The rows of ``hardware.toml`` name their sources.

    Raises
    ------
    DesignError
        A mass that neither the recipe nor the table knows.

    Examples
    --------
    >>> from bodygen.recipe.model import Stations
    >>> pin = Fitting("pin", "weight", (20.0, 5.0, 0.0), "ballast", mass=2.0, displaces_cm3=0.2, mirror=True)
    >>> pair = fitted(Recipe("bar", "mm", Stations("bar.csv", ()), fittings=(pin,)))
    >>> [(one.item.mass, one.item.displaces, one.item.at.tolist()) for one in pair]
    [(2.0, 200.0, [20.0, 5.0, 0.0]), (2.0, 200.0, [20.0, -5.0, 0.0])]
    """
    out: list[Fitted] = []
    for place, fitting in enumerate(recipe.fittings):
        one = _fitted(fitting, place)
        out.append(one)
        if fitting.mirror:
            other = one.item.at * (1.0, -1.0, 1.0)
            twin = replace(one.item, name=f"{fitting.name}, other side", at=other, displaces_at=other)
            out.append(replace(one, item=twin))
    return tuple(out)


def _fitted(fitting: Fitting, place: int) -> Fitted:
    size = _size(fitting)
    mean, differs = _patterns(fitting.kind)
    table = size.mass * mean if size is not None and size.mass is not None else None
    mass = fitting.mass if fitting.mass is not None else table
    if mass is None:
        where, what = f"fitting[{place + 1}].mass ({fitting.name})", f"{fitting.kind} {fitting.size or ''}"
        problem = f"{where}: the table knows no mass for {what}"
        msg = f"{problem.rstrip()}; weigh it and say mass = ..."
        raise DesignError(msg)
    displaces = MM3_PER_CM3 * _displaces_cm3(fitting, size, mass)
    at = np.array(fitting.at, dtype=float)
    spread = 0.0 if fitting.mass is not None else differs / mean * mass
    item = Item(
        fitting.name,
        fitting.stage,
        mass=mass * fitting.quantity,
        at=at,
        displaces=displaces * fitting.quantity,
        displaces_at=at,
        outside=displaces * fitting.quantity,
        hangs=fitting.kind in HANGING_KINDS,
        volume_follows=fitting.displaces_cm3 is None,
        spread=spread * fitting.quantity,
        cause=Cause("pattern", fitting.kind) if spread else None,
        basis=_basis(fitting),
        kind="fitting",
        owner=("fitting", place),
    )
    return Fitted(item, fitting.kind, _reach(fitting, size), _ring(fitting), _width(fitting), fitting.bent)


def _size(fitting: Fitting) -> Size | None:
    """One piece of the table's size, wire by its bent length; None where the recipe names no size of the table."""
    size = sizes(fitting.kind).get(fitting.size or "")
    if fitting.kind != "wire" or size is None:
        return size
    if fitting.length is None or size.mass is None or size.volume is None:
        return None
    metres = fitting.length / 1000
    return Size(size.mass * metres, size.volume * metres)


def _displaces_cm3(fitting: Fitting, size: Size | None, mass: float) -> float:
    """Volume of a piece [cm^3]: as given; of the table's size, grown with a weighed mass; of the kind's usual metal."""
    if fitting.displaces_cm3 is not None:
        return fitting.displaces_cm3
    if size is not None and size.mass is not None and size.volume is not None:
        return size.volume * mass / size.mass
    if fitting.kind == "weight":
        return 0.0  # the general form says everything itself
    hardware = tables.load("hardware")
    found = hardware[SECTIONS[fitting.kind]]
    density = found.get("density_kg_m3", found.get("resin_kg_m3", hardware["wire"]["density_kg_m3"]))
    return mass / (float(density) / 1000)


def _patterns(kind: str) -> tuple[float, float]:
    """How the patterns of a hook's size compare with the table's: mean and one standard deviation of the share [-]."""
    section = tables.load("hardware")[SECTIONS[kind]] if kind in SECTIONS else {}
    if "pattern_factor" not in section:
        return 1.0, 0.0
    low, high = section["pattern_factor"]
    return triangular_mean(low, 1.0, high), triangular(low, 1.0, high)


def _reach(fitting: Fitting, size: Size | None) -> float:
    """Length of a piece's wire [mm], an eye's diameter; 0 where the recipe tells neither."""
    if fitting.kind == "wire":
        return fitting.length or 0.0
    if fitting.size is None or size is None or size.volume is None:
        return 0.0
    if fitting.kind == "screw_eye":
        wire = float(fitting.size.split()[0]) * (1.0 if fitting.size.endswith("mm") else float(INCH))
        return size.volume * MM3_PER_CM3 / (pi / 4 * wire**2)
    return float(fitting.size.split()[0]) if fitting.kind == "eye" else 0.0


def _ring(fitting: Fitting) -> float:
    """Share of a piece's wire outside the wood: a bent wire's eyes, a screw eye's ring, what its shank leaves [-]."""
    if fitting.bent is not None:
        return fitting.outside
    if fitting.kind != "screw_eye" or fitting.size is None:
        return 0.0
    for row in tables.load("hardware")["screw_eye"]["sizes"]:
        if fitting.size == f"{row['wire_in']:g} x {row['shank_in']:g} in":
            return 1 - float(row["shank_in"]) / float(row["wire_length_in"])
    metric = metric_screw_eyes().get(fitting.size)
    if metric is None:
        return 0.0
    turn = pi * (metric["ring_inside_mm"] + metric["wire_mm"])
    return turn / (turn + metric["shank_mm"])


def _width(fitting: Fitting) -> float:
    """What must go into a cavity [mm]: a wire's or an eye's diameter, two wires; a screw eye cuts its own way."""
    metre = sizes("wire").get(fitting.size or "") if fitting.kind == "wire" else None
    if metre is not None and metre.volume is not None:
        legs = 2 if fitting.bent is not None and fitting.bent.form != "through_wire" else 1
        return legs * sqrt(4 / pi * metre.volume)  # cm^3 a metre are mm^2
    return float(fitting.size.split()[0]) if fitting.kind == "eye" and fitting.size is not None else 0.0


def _basis(fitting: Fitting) -> str:
    if fitting.mass is not None:
        return "mass as given in the recipe"
    long = f", {fitting.length:.1f} mm" if fitting.kind == "wire" and fitting.length is not None else ""
    section = tables.load("hardware")[SECTIONS[fitting.kind]]
    return f"{fitting.kind.replace('_', ' ')} {fitting.size}{long}: {section['source']}"


def lodged(recipe: Recipe, measured: Measured) -> tuple[Item, ...]:
    """Every fitting as an item [g, mm^3], in its cavity where it has one.

    What the cavity cannot hold pushes water aside outside: at the mouth, or at the fitting's own place where that lies
    further out. A screw eye's ring always stands outside; where the hole is too small for its shank, that presses
    itself into the wood and pushes no water aside there.

    Derived here: what shares a cavity has the same share of its volume inside.

    Raises
    ------
    DesignError
        As ``fitted``.
    """
    fittings = fitted(recipe)
    cavities = [_host_cavity(one, recipe, measured) for one in fittings]
    wanted = _wanted(fittings, cavities)
    return tuple(
        one.item if cavity is None else _set_into(one, cavity, measured, wanted[cavity])
        for one, cavity in zip(fittings, cavities, strict=True)
    )


def lodging_findings(recipe: Recipe, measured: Measured) -> tuple[Finding, ...]:
    """Doubt hardware that is too wide for its hole [mm], or that mostly finds no space in it."""
    fittings = fitted(recipe)
    cavities = [_host_cavity(one, recipe, measured) for one in fittings]
    wanted = _wanted(fittings, cavities)
    found: dict[str, Finding] = {}
    for one, cavity in zip(fittings, cavities, strict=True):
        if cavity is None or one.item.owner is None or not one.width:
            continue
        part, name, width = _hole(cavity, recipe, measured)
        share = _volume(cavity, measured).volume / wanted[cavity] if wanted[cavity] > 0 else 1.0
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


def _wanted(fittings: Sequence[Fitted], cavities: Sequence[CavityKey | None]) -> dict[CavityKey, float]:
    """How much hardware is to go into each cavity [mm^3]."""
    wanted: dict[CavityKey, float] = {}
    for one, cavity in zip(fittings, cavities, strict=True):
        if cavity is not None:
            wanted[cavity] = wanted.get(cavity, 0.0) + (1 - one.ring) * one.item.displaces
    return wanted


def _set_into(one: Fitted, key: CavityKey, measured: Measured, wanted: float) -> Item:
    """One fitting in its cavity, which is to hold ``wanted`` [mm^3] of hardware in all."""
    item, buried = one.item, (1 - one.ring) * one.item.displaces
    cavity, out = _volume(key, measured), item.at
    if key[0] == "bore":
        mouth = measured.bores[key[1]].mouth
        out = item.at if float((item.at - mouth) @ (mouth - cavity.centroid)) > 0 else mouth
    within = buried * min(1.0, cavity.volume / wanted) if wanted > 0 else 0.0
    outside = item.displaces - (buried if one.kind == "screw_eye" else within)
    displaces = within + outside
    place = (within * cavity.centroid + outside * out) / displaces if displaces > 0 else item.at
    return replace(
        item,
        displaces=displaces,
        displaces_at=place,
        outside=outside,
        outside_at=out,
        volume_follows=False,  # a heavier wire than expected leaves the less space to the glue
        cavity=key,
    )


def _host_cavity(one: Fitted, recipe: Recipe, measured: Measured) -> CavityKey | None:
    """Find the host cavity of a wire or eye: the nearest of its kind, if no farther off than the wire is long.

    Midway between two, as of one in the mid-plane of a pair, it is the first: for a pair the flank that is entered.
    """
    if one.kind not in TAKEN_BY or not one.reach > 0:
        return None
    at = one.item.at
    if one.bent is not None:
        return _bent_for(one.bent, recipe.fittings[one.item.owner[1] if one.item.owner else 0].on, at, recipe, measured)
    near: list[tuple[float, CavityKey]] = []
    for place, cavity in enumerate(measured.bores):
        if recipe.bores[cavity.index].kind in TAKEN_BY[one.kind]:
            gap = min(float(np.linalg.norm(at - cavity.mouth)), float(np.linalg.norm(at - cavity.cavity.centroid)))
            near.append((gap, ("bore", place)))
    if one.kind == "wire":
        for place, slot in enumerate(measured.slots):
            wire_slot = recipe.wire_slots[slot.index]
            along = max(wire_slot.start - at[0], 0.0, at[0] - wire_slot.end)
            near.append((float(np.hypot(along, at[1])), ("slot", place)))
    least = min((gap for gap, _ in near), default=np.inf)
    return next((where for gap, where in near if gap <= min(least + MIDWAY_MM, one.reach)), None)


def _bent_for(bent: Bent, on: str | None, at: Array, recipe: Recipe, measured: Measured) -> CavityKey | None:
    """The kerf or bore that a wire was bent for; of a pair of bores, the nearer."""
    if bent.kerf is not None:
        slots = enumerate(measured.slots)
        return next((("slot", place) for place, s in slots if recipe.wire_slots[s.index].name == bent.kerf), None)
    bores = [(place, b.mouth) for place, b in enumerate(measured.bores) if recipe.bores[b.index].name == on]
    return ("bore", min(bores, key=lambda b: float(np.linalg.norm(at - b[1])))[0]) if bores else None


def _volume(cavity: CavityKey, measured: Measured) -> VolumeIntegrals:
    return measured.bores[cavity[1]].cavity if cavity[0] == "bore" else measured.slots[cavity[1]].cavity


def _hole(cavity: CavityKey, recipe: Recipe, measured: Measured) -> tuple[tuple[str, int], str, float]:
    """The recipe's entry of a cavity, its name, and how wide it is [mm]; an eye may lie in its counterbore."""
    if cavity[0] == "slot":
        place = measured.slots[cavity[1]].index
        return ("wire_slot", place), recipe.wire_slots[place].name, recipe.wire_slots[place].width
    place = measured.bores[cavity[1]].index
    bore = recipe.bores[place]
    wide = bore.counterbore.diameter if bore.counterbore is not None and bore.kind == "eye" else bore.diameter
    return ("bore", place), bore.name, wide
