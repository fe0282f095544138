"""One key of a recipe: its kind, its bounds, whether it may be left out, what a copy of another size does with it.

Bounds are names in ``tables/limits.toml``, each with its unit at the end.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from types import MappingProxyType
from typing import Literal

from bodygen import tables

Kind = Literal[
    "length",
    "mass",
    "angle",
    "temperature",
    "speed",
    "density",
    "percent",
    "number",
    "whole",
    "flag",
    "text",
    "choice",
    "lengths",
    "numbers",
    "names",
    "table",
    "tables",
    "other",  # read by the table's own reader
]
STAGES = ("squared", "blank", "drilled", "hangers", "ballast", "sealed", "painted", "cleared", "rigged")
BARE = ("squared", "blank")
"""Stages at which only wood lies on the scale, all of it: the block, or the shaped body before any hole."""
Grows = Literal["", "lengths", "x", "drill", "eye", "wire", "reading"]
FORMAT = 1


@dataclass(frozen=True, slots=True)
class Key:
    """One key of a recipe.

    ``bounds`` names a range in ``limits.toml``, ``unit`` is a bare number's unit where it is not the kind's usual one,
    ``count`` is how many ``lengths`` or ``numbers`` a list holds.

    ``grows`` says what a copy of another size takes along: ``"lengths"``, every length of the body and every place on
    it; ``"x"``, only places along the body, where they are written as lengths; ``"drill"``, the room for metal, air or
    an eye, by the nearest drill; ``"eye"``, by the nearest eye of the table; ``"wire"``, a wire's length and no hook's;
    ``"reading"`` was true of the old bait alone and is left out. All else stays, being shares or what is bought (sheet,
    kerfs, hooks, wire, coats).
    """

    kind: Kind
    bounds: str = ""
    required: bool = False
    choices: tuple[str, ...] = ()
    table: Mapping[str, "Key"] = field(default_factory=lambda: MappingProxyType({}))
    unit: str = ""
    count: int = 0
    grows: Grows = ""


@cache
def bounds(name: str) -> tuple[float, float]:
    """Least and most that a recipe may say, in the unit at the end of the name."""
    if name == "water_density_g_cm3":  # the water table's own
        sanity = tables.load("water")["sanity"]
        return sanity["refuse_below_kg_m3"] / 1000, sanity["refuse_above_kg_m3"] / 1000
    least, most = tables.load("limits")["range"][name]
    return float(least), float(most)


def length(name: str, *, required: bool = False) -> Key:
    """A length that stays when the bait grows."""
    return Key("length", f"{name}_mm", required=required)


def grown(name: str, *, required: bool = False) -> Key:
    """A length that grows with the bait."""
    return Key("length", f"{name}_mm", required=required, grows="lengths")
