"""``[[bore]]`` and ``[[wire_slot]]``: keys of what is drilled and sawn."""

from bodygen.recipe.keys.key import Key, choice, grown, length, table, text

_ROOM = "what becomes of the room that is left: open floods, sealed holds air, filled is full of glue or filler"

_FILL = {
    "metal": text(
        "what goes in; bismuth_tin_58_42 and tungsten_putty are lead-free", "bismuth_tin_58_42", names="metal"
    ),
    "placed": choice("how it goes in", "slug", "poured", "putty"),
    "level": Key("number", "fill_level", "the share of the depth that is filled", 0.9),
    "mass": Key(
        "mass",
        "fill_mass_g",
        "what yours weighs; wins",
        "2.4 g",
        grows="reading",
        left_out="worked out from metal, level and bore",
    ),
    "clearance": length("clearance", "between slug and bore, on the diameter", "0.1 mm"),
    "finish": choice("flush follows the skin, flat ends at the bore's own mouth", "flush", "flat"),
}

BORE = {
    "name": text("a name of its own", "belly hanger", left_out="its kind and a number"),
    "kind": choice(
        "what the hole is for; through goes right out of the wood",
        *("ballast", "hanger", "tie", "eye", "rattle", "through", "any"),
        left_out='"any"',
    ),
    "from": choice(
        "where the drill enters",
        *("belly", "back", "side", "nose", "tail", "point"),
        left_out='"side" for an eye; for all others it must be there',
    ),
    "x": grown(
        "place_along", "along the body, for belly, back and side", "1-1/8 in", left_out="it must be there for these"
    ),
    "offset": grown("bore_offset", "to the bait's right, for belly, back, nose and tail", "2 mm"),
    "height": grown("bore_offset", "above the parting line, for side, nose and tail", "0.09 in"),
    "side": choice("which flank, for the side", "right", "left"),
    "at": Key(
        "lengths",
        "place_mm",
        "the point on the skin where the drill enters: x, y and z, for a point",
        ["20 mm", 0, "-6 mm"],
        count=3,
        grows="lengths",
        left_out="it must be there for a point",
    ),
    "direction": Key(
        "numbers",
        about="three numbers that point into the wood, for a point",
        example=[0.2, 0, 1],
        count=3,
        left_out="it must be there for a point",
    ),
    "lean": Key(
        "angle", "lean_deg", "tips the drill: its inner end goes aft (for nose and tail: up) by this angle", "10 deg"
    ),
    "diameter": Key(
        "length",
        "bore_diameter_mm",
        "the bore's diameter",
        "6.3 mm",
        grows="drill",
        left_out="drill must be there in its place",
    ),
    "drill": Key(
        "other",
        about="in place of diameter: a drill by the name it is sold under",
        example="1/4",
        grows="drill",
        left_out="diameter must be there in its place",
        form="drill",
    ),
    "depth": grown(
        "bore_depth",
        "along the drill's axis, from the skin; none for through",
        "3/8 in",
        left_out="it must be there, but for through",
    ),
    "depth_to": choice(
        "what the depth is measured to: the shoulder, where the full diameter ends, or the drill's point",
        *("shoulder", "point"),
    ),
    "tip": choice("the drill's end", "twist", "flat", "ball"),
    "tip_angle": Key("angle", "tip_angle_deg", "the whole angle of a twist drill's point", "118 deg"),
    "mirror": Key(
        "flag",
        about="true bores the other flank as well",
        example=True,
        left_out="false; true for an eye that enters from the side",
    ),
    "counterbore": table(
        "a wider, flat-bottomed mouth",
        {
            "diameter": Key(
                "length",
                "bore_diameter_mm",
                "of the wider mouth",
                "8 mm",
                required=True,
                grows="drill",
            ),
            "depth": grown("bore_depth", "of the wider mouth, from the skin", "2 mm", required=True),
        },
    ),
    "may_meet": Key(
        "names", about="names of bores that this one runs into on purpose", example=["ballast"], left_out="none"
    ),
    "closed": choice(_ROOM, "open", "sealed", "filled", left_out="as is usual for the kind", example=2),
    "fill": table("what goes into a ballast bore; leave it out and ask bodygen ballast", _FILL),
}

WIRE_SLOT = {
    "name": text("a name of its own", "wire slot", left_out='"wire slot" and a number'),
    "along": choice("where it is sawn from", "belly", "back", required=True),
    "start": grown("place_along", "where it begins along the body", "0 mm", required=True),
    "end": grown("place_along", "where it ends along the body", "70 mm", required=True),
    "width": length("slot_width", "of the kerf", "1.2 mm", required=True),
    "depth": grown(
        "slot_depth", "below the skin, the same all along", "6 mm", left_out="floor must be there in its place"
    ),
    "floor": grown(
        "bore_offset",
        "in place of depth: down to this height above the parting line",
        "0 mm",
        left_out="depth must be there in its place",
    ),
    "closed": choice(_ROOM, "open", "sealed", "filled", example=2),
}
