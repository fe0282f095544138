"""``[[fitting]]``, ``[[coat]]`` and ``[[mask]]``: keys of what is hung on, brushed over and painted by itself."""

from bodygen.recipe.keys.key import STAGES, Key, grown, length

FITTING = {
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

COAT = {
    "name": Key("text"),
    "finish": Key("text"),
    "stage": Key("choice", choices=("sealed", "painted", "cleared")),
    "coats": Key("whole", "coats"),
    "film": length("film"),
    "density_g_cm3": Key("density", "film_density_g_cm3"),
    "gain": Key("mass", "coat_gain_g"),
}

MASK = {
    "kind": Key("choice", required=True, choices=("back", "flank", "belly", "bars", "gill", "eye")),
    "name": Key("text"),
    "start": grown("place_along"),
    "end": grown("place_along"),
    "low": Key("number", "share"),
    "high": Key("number", "share"),
    "count": Key("whole", "bars"),
    "width": grown("mask_width"),
    "slant": Key("angle", "slant_deg"),
    "x": grown("place_along"),
}
