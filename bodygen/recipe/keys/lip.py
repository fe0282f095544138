"""``[lip]``: keys of the plate, its slot and how it is cut."""

from bodygen.recipe.keys.key import Key, grown, length

LIP = {
    "sheet": Key("text", required=True),
    "nominal": Key("text"),
    "thickness": length("lip_thickness"),
    "angle": Key("angle", "lip_angle_deg", required=True),
    "from": Key("choice", choices=("belly", "nose")),
    "x": grown("place_along"),
    "height": grown("bore_offset"),
    "slot_depth": grown("slot_depth", required=True),
    "slot_width": grown("slot_width"),
    "fit": length("lip_fit"),
    "length": grown("lip_size"),
    "width": grown("lip_size"),
    "outline": Key("text"),
    "points": Key("other", grows="lengths"),
    "corner_radius": grown("lip_corner"),
    "tongue_width": grown("lip_size"),
    "mass": Key("mass", "lip_mass_g", grows="reading"),
    "mouth": Key(
        "table",
        table={"height": grown("slot_width", required=True), "depth": grown("slot_depth", required=True)},
    ),
    "tie_hole": Key(
        "table",
        table={"diameter": length("hole_diameter", required=True), "distance": grown("lip_size", required=True)},
    ),
    "cutting": Key(
        "table",
        table={
            "process": Key("choice", choices=("laser", "router", "hand")),
            "kerf": length("kerf"),
            "quantity": Key("whole", "quantity"),
            "sheet_size": Key("lengths", "sheet_side_mm", count=2),
            "gap": length("gap"),
            "offcut": Key("other"),
            "tabs": Key("whole", "lip_tabs"),
            "tab_width": length("lip_tab"),
        },
    ),
    "bend": Key(
        "table",
        table={"distance": grown("lip_size", required=True), "angle": Key("angle", "bend_deg", required=True)},
    ),
}
