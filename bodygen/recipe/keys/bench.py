"""``[goal]``, ``[shop]``, ``[water]`` and the other tables that stand once: keys of wishes, the water and the bench."""

from bodygen.recipe.keys.key import STAGES, Key, grown, length

GOAL = {
    "float": Key("choice", choices=("floats", "suspends", "sinks")),
    "reserve": Key("mass", "reserve_g"),
    "suspends_at": Key("temperature", "water_temperature_c"),
    "sinks_at": Key("speed", "sinking_speed_m_s"),
    "rises_at": Key("speed", "sinking_speed_m_s"),
    "pitch": Key("angle", "pitch_deg"),
    "waterline": Key(
        "table", table={"x": grown("place_along", required=True), "height": grown("bore_offset", required=True)}
    ),
    "bores": Key("choice", choices=("given", "one", "two")),
    "metal": Key("text"),
    "drills": Key("names"),
}

SHOP = {
    "printer_bed": Key("lengths", "printer_bed_mm", count=3),
    "fit": Key("choice", choices=("press", "slide", "loose")),
    "follower_allowance": length("follower_allowance"),
    "shrink_percent": Key("percent", "shrink_percent"),
    "stock_thickness": length("stock_thickness"),
    "roughing": Key("text"),
    "finishing": Key("text"),
    "profile_cutter": Key("text"),
    "scallop": length("scallop"),
    "spindle_speeds": Key("other", "spindle_rpm"),
    "fastest_feed": Key("speed", "feed_mm_min", unit="mm/min"),
    "fastest_plunge": Key("speed", "feed_mm_min", unit="mm/min"),
    "clamp_height": length("clamp_height"),
    "bush": length("router_bit"),
    "cutter": length("router_bit"),
}
WATER = {
    "temperature": Key("temperature", "water_temperature_c"),
    "salinity": Key("number", "salinity_g_kg"),
    "density_g_cm3": Key("density", "water_density_g_cm3"),
}

LINE = {
    "diameter": length("fishing_line_diameter"),
    "length_m": Key("length", "fishing_line_length_m", unit="m"),
}

RETRIEVE = {
    "speed_m_s": Key("speed", "retrieve_speed_m_s"),
    "tip_height_m": Key("length", "tip_height_m", unit="m"),
}

LIMITS = {
    key: length("wood_left")
    for key in (
        *("bore_to_skin", "bore_to_bore", "ballast_to_back", "bore_to_slot", "chin"),
        *("hanger_to_skin", "hanger_to_slot", "eye_to_slot"),
    )
}

WEIGHED = {stage: Key("mass", "weighed_mass_g", grows="reading") for stage in STAGES}
