"""One key of a recipe: what it is, its kind and bounds, what stands for it, what a copy of another size does with it.

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
Form = Literal["", "outline", "widest", "squareness", "drill", "plate", "corners", "speeds", "date", "clock", "colour"]
Names = Literal["", "wood", "metal", "sheet", "finish", "lip", "flat", "ball", "drying", "viscosity"]
FORMAT = 1


@dataclass(frozen=True, slots=True)
class Key:
    """One key of a recipe.

    ``bounds`` names a range in ``limits.toml``, ``unit`` is a bare number's unit where it is not the kind's usual one,
    ``count`` is how many ``lengths`` or ``numbers`` a list holds, ``form`` what a key of the kind "other" looks like.

    ``about`` is the one sentence that says what it is, ``more`` what else a maker should know, and ``example`` a value
    as one may write it. ``left_out`` says what stands for it where the model has no figure of its own; a
    ``{table.path}`` there is a figure of ``tables/``. ``names`` says of what a text must be a name (``about.py``).

    ``grows`` says what a copy of another size takes along: ``"lengths"``, every length of the body and every place on
    it; ``"x"``, only places along the body, where they are written as lengths; ``"drill"``, the room for metal, air or
    an eye, by the nearest drill; ``"eye"``, by the nearest eye of the table; ``"wire"``, a wire's length and no hook's;
    ``"reading"`` was true of the old bait alone and is left out. All else stays, being shares or what is bought (sheet,
    kerfs, hooks, wire, coats).
    """

    kind: Kind
    bounds: str = ""
    about: str = ""
    example: object = None
    required: bool = False
    choices: tuple[str, ...] = ()
    table: Mapping[str, "Key"] = field(default_factory=lambda: MappingProxyType({}))
    unit: str = ""
    count: int = 0
    grows: Grows = ""
    left_out: str = ""
    more: str = ""
    names: Names = ""
    form: Form = ""


@cache
def bounds(name: str) -> tuple[float, float]:
    """Least and most that a recipe may say, in the unit at the end of the name."""
    if name == "water_density_g_cm3":  # the water table's own
        sanity = tables.load("water")["sanity"]
        return sanity["refuse_below_kg_m3"] / 1000, sanity["refuse_above_kg_m3"] / 1000
    least, most = tables.load("limits")["range"][name]
    return float(least), float(most)


def length(name: str, about: str, example: object, *, required: bool = False, left_out: str = "") -> Key:
    """A length that stays when the bait grows."""
    return Key("length", f"{name}_mm", about, example, required=required, left_out=left_out)


def grown(name: str, about: str, example: object, *, required: bool = False, left_out: str = "") -> Key:
    """A length that grows with the bait."""
    return Key("length", f"{name}_mm", about, example, required=required, grows="lengths", left_out=left_out)


def text(
    about: str, example: str, *, required: bool = False, left_out: str = "", more: str = "", names: Names = ""
) -> Key:
    """A text; with ``names``, a name of these."""
    return Key("text", "", about, example, required=required, left_out=left_out, more=more, names=names)


def choice(about: str, *choices: str, required: bool = False, left_out: str = "", example: int = 0) -> Key:
    """One of these words; the example is the first or the one told."""
    chosen = choices[example]
    return Key("choice", about=about, example=chosen, choices=choices, required=required, left_out=left_out)


def table(about: str, keys: Mapping[str, Key], *, required: bool = False) -> Key:
    """A table of keys."""
    return Key("table", about=about, table=keys, required=required)


def tables_of(about: str, keys: Mapping[str, Key]) -> Key:
    """An array of tables: one for each thing of a kind."""
    return Key("tables", about=about, table=keys)
