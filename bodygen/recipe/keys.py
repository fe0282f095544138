"""Every key a recipe may hold: what kind of thing it is, between which bounds, and whether it may be left out.

Knows names and kinds. Knows nothing of reading them (``page.py``) nor of which keys go together (each table's reader).
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


def _length(name: str, *, required: bool = False) -> Key:
    return Key("length", f"{name}_mm", required=required)


def _grown(name: str, *, required: bool = False) -> Key:
    """A length that grows with the bait."""
    return Key("length", f"{name}_mm", required=required, grows="lengths")


_END = {"bluntness": Key("number", "bluntness"), "size": Key("number", "end_size")}

_SHAPE = {
    "length": _grown("body_length"),
    "depth": _grown("body_depth"),
    "thickness": _grown("body_thickness"),
    "back": Key("other", grows="lengths"),
    "belly": Key("other", grows="lengths"),
    "plan": Key("other", grows="lengths"),
    "back_share": Key("number", "back_share"),
    "widest": Key("other", grows="lengths"),
    "squareness": Key("other", grows="x"),
    "nose": Key("table", table=_END),
    "tail": Key("table", table=_END),
    "flat_side": Key("table", table={"height": _grown("line_height"), "edge_radius": _grown("small_size")}),
    "stations": Key("text"),
    "mesh": Key("text"),
}

_WOOD = {
    "species": Key("text"),
    "moisture_percent": Key("percent", "moisture_percent"),
    "density_g_cm3": Key("density", "wood_density_g_cm3"),
    "blank": Key(
        "table",
        table={
            "mass": Key("mass", "blank_mass_g", required=True),
            "length": _length("blank_size", required=True),
            "width": _length("blank_size", required=True),
            "height": _length("blank_size", required=True),
        },
    ),
}

_FILL = {
    "metal": Key("text"),
    "placed": Key("choice", choices=("slug", "poured", "putty")),
    "level": Key("number", "fill_level"),
    "mass": Key("mass", "fill_mass_g", grows="reading"),
    "clearance": _length("clearance"),
    "finish": Key("choice", choices=("flush", "flat")),
}
_CLOSED = Key("choice", choices=("open", "sealed", "filled"))

_BORE = {
    "name": Key("text"),
    "kind": Key("choice", choices=("ballast", "hanger", "tie", "eye", "rattle", "through", "any")),
    "from": Key("choice", choices=("belly", "back", "side", "nose", "tail", "point")),
    "x": _grown("place_along"),
    "offset": _grown("bore_offset"),
    "height": _grown("bore_offset"),
    "side": Key("choice", choices=("right", "left")),
    "at": Key("lengths", "place_mm", count=3, grows="lengths"),
    "direction": Key("numbers", count=3),
    "lean": Key("angle", "lean_deg"),
    "diameter": Key("length", "bore_diameter_mm", grows="drill"),
    "drill": Key("other", grows="drill"),
    "depth": _grown("bore_depth"),
    "depth_to": Key("choice", choices=("shoulder", "point")),
    "tip": Key("choice", choices=("twist", "flat", "ball")),
    "tip_angle": Key("angle", "tip_angle_deg"),
    "mirror": Key("flag"),
    "counterbore": Key(
        "table",
        table={
            "diameter": Key("length", "bore_diameter_mm", required=True, grows="drill"),
            "depth": _grown("bore_depth", required=True),
        },
    ),
    "may_meet": Key("names"),
    "closed": _CLOSED,
    "fill": Key("table", table=_FILL),
}

_WIRE_SLOT = {
    "name": Key("text"),
    "along": Key("choice", required=True, choices=("belly", "back")),
    "start": _grown("place_along", required=True),
    "end": _grown("place_along", required=True),
    "width": _length("slot_width", required=True),
    "depth": _grown("slot_depth"),
    "floor": _grown("bore_offset"),
    "closed": _CLOSED,
}

_LIP = {
    "sheet": Key("text", required=True),
    "nominal": Key("text"),
    "thickness": _length("lip_thickness"),
    "angle": Key("angle", "lip_angle_deg", required=True),
    "from": Key("choice", choices=("belly", "nose")),
    "x": _grown("place_along"),
    "height": _grown("bore_offset"),
    "slot_depth": _grown("slot_depth", required=True),
    "slot_width": _grown("slot_width"),
    "fit": _length("lip_fit"),
    "length": _grown("lip_size"),
    "width": _grown("lip_size"),
    "outline": Key("text"),
    "points": Key("other", grows="lengths"),
    "corner_radius": _grown("lip_corner"),
    "tongue_width": _grown("lip_size"),
    "mass": Key("mass", "lip_mass_g", grows="reading"),
    "mouth": Key(
        "table",
        table={"height": _grown("slot_width", required=True), "depth": _grown("slot_depth", required=True)},
    ),
    "tie_hole": Key(
        "table",
        table={"diameter": _length("hole_diameter", required=True), "distance": _grown("lip_size", required=True)},
    ),
    "cutting": Key(
        "table",
        table={
            "process": Key("choice", choices=("laser", "router", "hand")),
            "kerf": _length("kerf"),
            "quantity": Key("whole", "quantity"),
            "sheet_size": Key("lengths", "sheet_side_mm", count=2),
            "gap": _length("gap"),
            "offcut": Key("other"),
            "tabs": Key("whole", "lip_tabs"),
            "tab_width": _length("lip_tab"),
        },
    ),
    "bend": Key(
        "table",
        table={"distance": _grown("lip_size", required=True), "angle": Key("angle", "bend_deg", required=True)},
    ),
}

_FITTING = {
    "name": Key("text"),
    "kind": Key("choice", choices=("weight", "hook", "ring", "eye", "screw_eye", "wire")),
    "at": Key("lengths", "place_mm", count=3, grows="lengths"),
    "on": Key("text"),
    "stage": Key("choice", choices=STAGES[1:]),
    "size": Key("text", grows="eye"),
    "length": Key("length", "wire_length_mm", grows="wire"),
    "mass": Key("mass", "fitting_mass_g"),
    "displaces_cm3": Key("number", "fitting_volume_cm3"),
    "quantity": Key("whole", "quantity"),
    "mirror": Key("flag"),
}

_COAT = {
    "name": Key("text"),
    "finish": Key("text"),
    "stage": Key("choice", choices=("sealed", "painted", "cleared")),
    "coats": Key("whole", "coats"),
    "film": _length("film"),
    "density_g_cm3": Key("density", "film_density_g_cm3"),
    "gain": Key("mass", "coat_gain_g"),
}

_MASK = {
    "kind": Key("choice", required=True, choices=("back", "flank", "belly", "bars", "gill", "eye")),
    "name": Key("text"),
    "start": _grown("place_along"),
    "end": _grown("place_along"),
    "low": Key("number", "share"),
    "high": Key("number", "share"),
    "count": Key("whole", "bars"),
    "width": _grown("mask_width"),
    "slant": Key("angle", "slant_deg"),
    "x": _grown("place_along"),
}

_GOAL = {
    "float": Key("choice", choices=("floats", "suspends", "sinks")),
    "reserve": Key("mass", "reserve_g"),
    "suspends_at": Key("temperature", "water_temperature_c"),
    "sinks_at": Key("speed", "sinking_speed_m_s"),
    "rises_at": Key("speed", "sinking_speed_m_s"),
    "pitch": Key("angle", "pitch_deg"),
    "waterline": Key(
        "table", table={"x": _grown("place_along", required=True), "height": _grown("bore_offset", required=True)}
    ),
    "bores": Key("choice", choices=("given", "one", "two")),
    "metal": Key("text"),
    "drills": Key("names"),
}

_SHOP = {
    "printer_bed": Key("lengths", "printer_bed_mm", count=3),
    "fit": Key("choice", choices=("press", "slide", "loose")),
    "follower_allowance": _length("follower_allowance"),
    "shrink_percent": Key("percent", "shrink_percent"),
    "stock_thickness": _length("stock_thickness"),
    "roughing": Key("text"),
    "finishing": Key("text"),
    "profile_cutter": Key("text"),
    "scallop": _length("scallop"),
    "spindle_speeds": Key("other", "spindle_rpm"),
    "fastest_feed": Key("speed", "feed_mm_min", unit="mm/min"),
    "fastest_plunge": Key("speed", "feed_mm_min", unit="mm/min"),
    "clamp_height": _length("clamp_height"),
    "bush": _length("router_bit"),
    "cutter": _length("router_bit"),
}

RECIPE: dict[str, Key] = {
    "format": Key("whole", required=True),
    "name": Key("text"),
    "units": Key("choice", choices=("mm", "in")),
    "shape": Key("table", required=True, table=_SHAPE),
    "wood": Key("table", table=_WOOD),
    "bore": Key("tables", table=_BORE),
    "wire_slot": Key("tables", table=_WIRE_SLOT),
    "lip": Key("table", table=_LIP),
    "fitting": Key("tables", table=_FITTING),
    "coat": Key("tables", table=_COAT),
    "mask": Key("tables", table=_MASK),
    "water": Key(
        "table",
        table={
            "temperature": Key("temperature", "water_temperature_c"),
            "salinity": Key("number", "salinity_g_kg"),
            "density_g_cm3": Key("density", "water_density_g_cm3"),
        },
    ),
    "line": Key(
        "table",
        table={
            "diameter": _length("fishing_line_diameter"),
            "length_m": Key("length", "fishing_line_length_m", unit="m"),
        },
    ),
    "retrieve": Key(
        "table",
        table={
            "speed_m_s": Key("speed", "retrieve_speed_m_s"),
            "tip_height_m": Key("length", "tip_height_m", unit="m"),
        },
    ),
    "limits": Key(
        "table",
        table={
            key: _length("wood_left")
            for key in (
                *("bore_to_skin", "bore_to_bore", "ballast_to_back", "bore_to_slot", "chin"),
                *("hanger_to_skin", "hanger_to_slot", "eye_to_slot"),
            )
        },
    ),
    "shop": Key("table", table=_SHOP),
    "goal": Key("table", table=_GOAL),
    "weighed": Key("table", table={stage: Key("mass", "weighed_mass_g", grows="reading") for stage in STAGES}),
}
