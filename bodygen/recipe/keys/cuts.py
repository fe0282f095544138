"""``[[bore]]`` and ``[[wire_slot]]``: keys of what is drilled and sawn."""

from bodygen.recipe.keys.key import Key, grown, length

_FILL = {
    "metal": Key("text"),
    "placed": Key("choice", choices=("slug", "poured", "putty")),
    "level": Key("number", "fill_level"),
    "mass": Key("mass", "fill_mass_g", grows="reading"),
    "clearance": length("clearance"),
    "finish": Key("choice", choices=("flush", "flat")),
}
_CLOSED = Key("choice", choices=("open", "sealed", "filled"))

BORE = {
    "name": Key("text"),
    "kind": Key("choice", choices=("ballast", "hanger", "tie", "eye", "rattle", "through", "any")),
    "from": Key("choice", choices=("belly", "back", "side", "nose", "tail", "point")),
    "x": grown("place_along"),
    "offset": grown("bore_offset"),
    "height": grown("bore_offset"),
    "side": Key("choice", choices=("right", "left")),
    "at": Key("lengths", "place_mm", count=3, grows="lengths"),
    "direction": Key("numbers", count=3),
    "lean": Key("angle", "lean_deg"),
    "diameter": Key("length", "bore_diameter_mm", grows="drill"),
    "drill": Key("other", grows="drill"),
    "depth": grown("bore_depth"),
    "depth_to": Key("choice", choices=("shoulder", "point")),
    "tip": Key("choice", choices=("twist", "flat", "ball")),
    "tip_angle": Key("angle", "tip_angle_deg"),
    "mirror": Key("flag"),
    "counterbore": Key(
        "table",
        table={
            "diameter": Key("length", "bore_diameter_mm", required=True, grows="drill"),
            "depth": grown("bore_depth", required=True),
        },
    ),
    "may_meet": Key("names"),
    "closed": _CLOSED,
    "fill": Key("table", table=_FILL),
}

WIRE_SLOT = {
    "name": Key("text"),
    "along": Key("choice", required=True, choices=("belly", "back")),
    "start": grown("place_along", required=True),
    "end": grown("place_along", required=True),
    "width": length("slot_width", required=True),
    "depth": grown("slot_depth"),
    "floor": grown("bore_offset"),
    "closed": _CLOSED,
}
