"""``[shape]`` and ``[wood]``: keys of the body and what it is made of."""

from bodygen.recipe.keys.key import Key, grown, length

_END = {"bluntness": Key("number", "bluntness"), "size": Key("number", "end_size")}

SHAPE = {
    "length": grown("body_length"),
    "depth": grown("body_depth"),
    "thickness": grown("body_thickness"),
    "back": Key("other", grows="lengths"),
    "belly": Key("other", grows="lengths"),
    "plan": Key("other", grows="lengths"),
    "back_share": Key("number", "back_share"),
    "widest": Key("other", grows="lengths"),
    "squareness": Key("other", grows="x"),
    "nose": Key("table", table=_END),
    "tail": Key("table", table=_END),
    "flat_side": Key("table", table={"height": grown("line_height"), "edge_radius": grown("small_size")}),
    "stations": Key("text"),
    "mesh": Key("text"),
}

WOOD = {
    "species": Key("text"),
    "moisture_percent": Key("percent", "moisture_percent"),
    "density_g_cm3": Key("density", "wood_density_g_cm3"),
    "blank": Key(
        "table",
        table={
            "mass": Key("mass", "blank_mass_g", required=True),
            "length": length("blank_size", required=True),
            "width": length("blank_size", required=True),
            "height": length("blank_size", required=True),
        },
    ),
}
