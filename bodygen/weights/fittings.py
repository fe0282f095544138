"""Hooks, rings, eyes, wire and plain weights: from a catalogue's size, or from the maker's own scale.

Knows ``hardware.toml``. Knows nothing of bores: ``ledger.py`` finds the room that a wire lies in.
"""

import re
from dataclasses import dataclass, replace
from math import pi

import numpy as np

from bodygen import tables, units
from bodygen.errors import DesignError
from bodygen.recipe.model import Fitting, Recipe
from bodygen.weights.item import MM3_PER_CM3, Item
from bodygen.weights.spread import triangular

HANGING_KINDS = frozenset({"hook", "ring"})


@dataclass(frozen=True, slots=True, eq=False)
class Fitted:
    """An item with the kind it is of and how far its wire can reach from its own place [mm] (0: not a wire)."""

    item: Item
    kind: str
    reach: float


@dataclass(frozen=True, slots=True)
class _Piece:
    """One piece off the shelf: mass [g] (None: the table doesn't know it), metal [mm^3], reach [mm], spread [g]."""

    mass: float | None
    displaces: float | None
    density: float | None  # g/cm^3, to work out the displacement of a piece the maker weighed himself
    basis: str
    reach: float = 0.0
    spread: float = 0.0
    spread_of: str = ""


def fitted(recipe: Recipe) -> tuple[Fitted, ...]:
    """Every fitting of the recipe as items, a mirror pair as two, with the maker's own figures before the table's.

    Raises
    ------
    DesignError
        A mass that neither the recipe nor the table knows, or a size that the table lacks.
    """
    out: list[Fitted] = []
    for number, fitting in enumerate(recipe.fittings, 1):
        one = _item(fitting, number, recipe.units)
        out.append(one)
        if fitting.mirror:
            other = one.item.at * (1.0, -1.0, 1.0)
            twin = replace(one.item, name=f"{fitting.name}, other side", at=other, displaces_at=other)
            out.append(replace(one, item=twin))
    return tuple(out)


def _item(fitting: Fitting, number: int, ruler: str) -> Fitted:
    piece = _piece(fitting, number, ruler)
    weighed = fitting.mass is not None
    mass = fitting.mass if fitting.mass is not None else piece.mass
    if mass is None:
        msg = (
            f"fitting[{number}].mass ({fitting.name}): no mass; the table does not know the weight of a {fitting.kind}"
            f" {fitting.size or ''} (weigh it and say mass = ...)."
        )
        raise DesignError(msg)
    if fitting.displaces_cm3 is not None:
        displaces = fitting.displaces_cm3 * MM3_PER_CM3
    elif weighed and piece.density is not None:
        displaces = mass / piece.density * MM3_PER_CM3
    else:
        displaces = piece.displaces or 0.0
    at = np.array(fitting.at, dtype=float)
    item = Item(
        fitting.name,
        fitting.stage,
        mass=mass * fitting.quantity,
        at=at,
        displaces=displaces * fitting.quantity,
        displaces_at=at,
        outside=displaces > 0,
        hangs=fitting.kind in HANGING_KINDS,
        volume_follows=fitting.displaces_cm3 is None,
        spread=0.0 if weighed else piece.spread * fitting.quantity,
        spread_of="" if weighed else piece.spread_of,
        basis="mass as given in the recipe" if weighed else piece.basis,
    )
    return Fitted(item, fitting.kind, piece.reach)


def _piece(fitting: Fitting, number: int, ruler: str) -> _Piece:
    """Look one piece up in the table; an empty answer where the recipe has to say it all."""
    where = f"fitting[{number}]"
    match fitting.kind:
        case "hook":
            return _by_label("treble_hook", fitting, where)
        case "ring":
            return _by_label("split_ring", fitting, where)
        case "wire":
            return _wire(fitting, where, ruler)
        case "screw_eye":
            return _screw_eye(fitting, where, ruler)
        case "eye":
            return _eye(fitting, where, ruler)
        case _:
            return _Piece(None, 0.0, None, "")


def _by_label(section: str, fitting: Fitting, where: str) -> _Piece:
    """Hooks and rings, whose size is a label (``#4``, ``1/0``) and no length."""
    table = tables.load("hardware")[section]
    density = float(table["density_kg_m3"]) / 1000
    if fitting.size is None:
        return _Piece(None, None, density, "")
    rows = {_label(row["size"]): row for row in table["sizes"]}
    row = rows.get(_label(fitting.size))
    if row is None and fitting.mass is None:
        sizes = ", ".join(row["size"] for row in table["sizes"])
        msg = f'{where}.size = "{fitting.size}": no such {fitting.kind} in the table ({sizes}); say its mass.'
        raise DesignError(msg)
    if row is None or not row["mass_known"]:
        return _Piece(None, None, density, "")
    mass = float(row["mass_g"])
    basis = f"{fitting.kind} {row['size']}: {table['source']}"
    if "pattern_factor" not in table:
        return _Piece(mass, row["displaced_cm3"] * MM3_PER_CM3, density, basis)
    low, high = table["pattern_factor"]
    spread = triangular(low, 1.0, high) * mass
    return _Piece(mass, row["displaced_cm3"] * MM3_PER_CM3, density, basis, 0.0, spread, "pattern of the hooks")


def _wire(fitting: Fitting, where: str, ruler: str) -> _Piece:
    """Wire of a diameter and a bent length: pi/4 d^2 L of stainless steel."""
    density = float(tables.load("hardware")["wire"]["density_kg_m3"]) / 1000
    if fitting.size is None or fitting.length is None:
        return _Piece(None, None, density, "", reach=fitting.length or 0.0)
    diameter = _length(fitting.size, where, ruler)
    metal = pi / 4 * diameter**2 * fitting.length
    basis = f"{fitting.length:.1f} mm of {diameter:.3f} mm wire at {density:g} g/cm^3"
    return _Piece(metal * density / MM3_PER_CM3, metal, density, basis, reach=fitting.length)


def _screw_eye(fitting: Fitting, where: str, ruler: str) -> _Piece:
    """Size is wire x shank (``0.051 x 3/4 in``), or the wire alone where the table has one shank for it."""
    hardware = tables.load("hardware")
    density = float(hardware["wire"]["density_kg_m3"]) / 1000
    if fitting.size is None:
        return _Piece(None, None, density, "", reach=fitting.length or 0.0)
    parts = [part.strip() for part in re.split(r"\s*[x×]\s*", fitting.size)]
    unit = re.search(r"[a-zA-Z\"″]+\.?$", parts[-1])
    size = [_length(p if unit is None or p[-1] in unit[0] else f"{p} {unit[0]}", where, ruler) for p in parts]
    inch = float(units.INCH)
    rows = [
        row
        for row in hardware["screw_eye"]["sizes"]
        if all(
            abs(row[key] * inch - mm) < 0.02
            for key, mm in zip(("wire_in", "shank_in"), size, strict=False)  # the shank may be left out
        )
    ]
    if len(rows) != 1:
        if fitting.mass is not None:
            return _Piece(None, None, density, "", reach=sum(size))
        sizes = ", ".join(f"{row['wire_in']} x {row['shank_in']} in" for row in hardware["screw_eye"]["sizes"])
        problem = "fits several screw eyes" if rows else "no such screw eye in the table"
        msg = f'{where}.size = "{fitting.size}": {problem} ({sizes}); say one of these or its mass.'
        raise DesignError(msg)
    row = rows[0]
    basis = f"screw eye {row['wire_in']} x {row['shank_in']} in: {hardware['screw_eye']['source']}"
    return _Piece(row["mass_g"], row["displaced_cm3"] * MM3_PER_CM3, density, basis, reach=row["wire_length_in"] * inch)


def _eye(fitting: Fitting, where: str, ruler: str) -> _Piece:
    """Dome of resin to stick on, or half a ball where the size says ``glass`` (``glass 6 mm``)."""
    table = tables.load("hardware")["eye"]
    glass = fitting.size is not None and "glass" in fitting.size.lower()
    density = float(table["glass_kg_m3" if glass else "resin_kg_m3"]) / 1000
    if fitting.size is None:
        return _Piece(None, None, density, "")
    diameter = _length(re.sub(r"(?i)\b(glass|resin)\b", "", fitting.size).strip(), where, ruler)
    radius = diameter / 2
    height = diameter * table["sizes"][0]["dome_height_mm"] / table["sizes"][0]["d_mm"]
    volume = 2 / 3 * pi * radius**3 if glass else pi * height * (3 * radius**2 + height**2) / 6
    what = "half a ball of glass" if glass else "resin dome"
    basis = f"{what}, {diameter:g} mm: {table['source']}"
    return _Piece(volume * density / MM3_PER_CM3, volume, density, basis, reach=diameter)


def _length(text: str, where: str, ruler: str) -> float:
    try:
        return units.length(text, ruler)
    except units.UnitError as error:
        msg = f'{where}.size = "{text}": {error}'
        raise DesignError(msg) from error


def _label(size: str) -> str:
    """``#4``, ``4`` and ``No. 4`` are one size."""
    return re.sub(r"(?i)^\s*(#|no\.?|size)?\s*", "", size).strip()
