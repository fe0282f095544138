"""Hooks, rings, eyes, wire and plain weights: from a catalogue's size, or from the maker's own scale.

Knows what a size of the hardware table weighs. Knows nothing of bores: ``ledger.py`` finds the room a wire lies in.
"""

from dataclasses import dataclass, replace
from math import pi, sqrt

import numpy as np

from bodygen import tables
from bodygen.errors import DesignError
from bodygen.recipe.model import Fitting, Recipe
from bodygen.recipe.readers.items import Size, metric_screw_eyes, sizes
from bodygen.units import INCH
from bodygen.weights.item import MM3_PER_CM3, Item
from bodygen.weights.spread import Cause, triangular, triangular_mean

HANGING_KINDS = frozenset({"hook", "ring"})
SECTIONS = {"hook": "treble_hook", "ring": "split_ring", "wire": "wire", "screw_eye": "screw_eye", "eye": "eye"}


@dataclass(frozen=True, slots=True, eq=False)
class Fitted:
    """An item with the kind it is of, as it is before it is set into a room.

    ``reach`` is how far its wire can reach from its own place [mm] (0: not a wire), ``ring`` the share of its volume
    that stands out of the wood as an eye [-], ``width`` what a hole must take [mm] (0: not known, or it is driven in).
    """

    item: Item
    kind: str
    reach: float
    ring: float = 0.0
    width: float = 0.0


def fitted(recipe: Recipe) -> tuple[Fitted, ...]:
    """Every fitting of the recipe as items, a mirror pair as two, with the maker's own figures before the table's.

    Raises
    ------
    DesignError
        A mass that neither the recipe nor the table knows.
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
    return Fitted(item, fitting.kind, _reach(fitting, size), _ring(fitting), _width(fitting))


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
    """Share of a screw eye's wire that is its ring: what the shank leaves of the wire's length [-]."""
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
    """What must go into a room [mm]: a wire's or an eye's diameter; a screw eye cuts its own way."""
    metre = sizes("wire").get(fitting.size or "") if fitting.kind == "wire" else None
    if metre is not None and metre.volume is not None:
        return sqrt(4 / pi * metre.volume)  # cm^3 a metre are mm^2
    return float(fitting.size.split()[0]) if fitting.kind == "eye" and fitting.size is not None else 0.0


def _basis(fitting: Fitting) -> str:
    if fitting.mass is not None:
        return "mass as given in the recipe"
    long = f", {fitting.length:.1f} mm" if fitting.kind == "wire" and fitting.length is not None else ""
    section = tables.load("hardware")[SECTIONS[fitting.kind]]
    return f"{fitting.kind.replace('_', ' ')} {fitting.size}{long}: {section['source']}"
