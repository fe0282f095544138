"""``[goal]``, ``[shop]``, ``[water]`` and the other tables that stand once: keys of wishes, the water and the bench."""

from bodygen.recipe.keys.key import STAGES, Key, choice, grown, length, table, text

_NOT_ASKED = "not asked for"
_ANY = "any"

GOAL = {
    "float": choice("what it is meant to do", "floats", "suspends", "sinks", left_out=_NOT_ASKED),
    "reserve": Key(
        "mass",
        "reserve_g",
        "the lift that is left when it is pushed wholly under, as a mass",
        "2 g",
        left_out=_NOT_ASKED,
    ),
    "suspends_at": Key(
        "temperature",
        "water_temperature_c",
        "in place of reserve: neither rises nor sinks in water of this temperature",
        "12 degC",
        left_out=_NOT_ASKED,
    ),
    "sinks_at": Key(
        "speed", "sinking_speed_m_s", "in place of reserve: how fast it sinks", "0.1 m/s", left_out=_NOT_ASKED
    ),
    "rises_at": Key(
        "speed", "sinking_speed_m_s", "in place of reserve: how fast it rises", "0.1 m/s", left_out=_NOT_ASKED
    ),
    "pitch": Key("angle", "pitch_deg", "how it lies at rest, nose up positive", "6 deg", left_out=_NOT_ASKED),
    "waterline": table(
        "in place of pitch or of the lift: the water stands at one height, there along the body",
        {
            "x": grown("place_along", "along the body", "35 mm", required=True),
            "height": grown("bore_offset", "of the water above the parting line", "4 mm", required=True),
        },
    ),
    "bores": choice(
        "which bores may hold the metal: the recipe's own, one in a place to be found, or two, one in front and one "
        "behind",
        *("given", "one", "two"),
        left_out="the recipe's own where there are as many as wishes, else one",
    ),
    "metal": text("only this one", "tungsten_putty", left_out=_ANY, names="metal"),
    "drills": Key("names", about="only these, as they are sold", example=["6 mm", "1/4"], left_out=_ANY),
}

WATER = {
    "temperature": Key("temperature", "water_temperature_c", "of the water", "11 degC"),
    "salinity": Key("number", "salinity_g_kg", "grams of salt in a kilogram of water, about 35 in the sea", 35),
    "density_g_cm3": Key(
        "density",
        "water_density_g_cm3",
        "by a hydrometer; wins",
        1.0005,
        left_out="worked out from temperature and salinity",
    ),
}

LINE = {
    "diameter": length("fishing_line_diameter", "of the line", "0.3 mm", left_out="unknown"),
    "length_m": Key(
        "length", "fishing_line_length_m", "how much line is out, or the cast", 25, unit="m", left_out="unknown"
    ),
    "strength": Key(
        "mass",
        "line_strength_g",
        "the pull that it breaks at, as its label says: hangers are set beside it",
        "10 lb",
        left_out="unknown",
    ),
}

RETRIEVE = {
    "speed_m_s": Key("speed", "retrieve_speed_m_s", "how fast it is drawn", "3 km/h", left_out="unknown"),
    "tip_height_m": Key(
        "length",
        "tip_height_m",
        "of the rod's tip above the water; below 0 it is held under",
        0.5,
        unit="m",
        left_out="unknown",
    ),
}


def _wood_left(between: str, example: str, left_out: str) -> Key:
    return length("wood_left", f"least wood between {between}", example, left_out=left_out)


LIMITS = {
    "bore_to_skin": _wood_left(
        "a bore and the skin beside it",
        "1/8 in",
        "{limits.wood_left.bore_to_skin_mm}, in balsa {limits.wood_left.bore_to_skin_balsa_mm}",
    ),
    "bore_to_bore": _wood_left("two bores", "1/8 in", "{limits.wood_left.bore_to_bore_mm}"),
    "ballast_to_back": _wood_left(
        "a ballast bore's end and the back", "1/4 in", "{limits.wood_left.ballast_to_back_mm}"
    ),
    "bore_to_slot": _wood_left("a bore and the lip's slot", "3/16 in", "{limits.wood_left.bore_to_slot_mm}"),
    "chin": length(
        "wood_left",
        "least wood in front of and below the lip's slot",
        "3/16 in",
        left_out="{limits.wood_left.chin_mm}",
    ),
    "hanger_to_skin": _wood_left(
        "the inner part of a hanger or tie and the skin",
        "1.5 mm",
        "{limits.wood_left.hanger_to_skin_diameters} x the hole's diameter",
    ),
    "hanger_to_slot": _wood_left(
        "a hanger or tie and the lip's slot", "3/32 in", "{limits.wood_left.hanger_to_slot_mm}"
    ),
    "eye_to_slot": _wood_left("an eye and the lip's slot", "3/32 in", "{limits.wood_left.eye_to_slot_mm}"),
}

SHOP = {
    "printer_bed": Key(
        "lengths",
        "printer_bed_mm",
        "room of your printer along x, y and up; a print is turned to fit, a longer jig split and dowelled",
        ["220 mm", "220 mm", "250 mm"],
        count=3,
        left_out="{jigs.bed.size_mm}",
    ),
    "fit": choice("how the cradles sit on the body", "press", "slide", "loose", left_out='"slide"', example=1),
    "follower_allowance": length(
        "follower_allowance",
        "makes a second master this much larger all round, for a copy carver whose follower is so much larger than its "
        "cutter, or for wood left to sand",
        "0.5 mm",
        left_out="no second master",
    ),
    "shrink_percent": Key(
        "percent",
        "shrink_percent",
        "what is cast in the mould shrinks by so much",
        0.5,
        left_out="{mould.mould.shrink_percent}",
    ),
    "stock_thickness": length(
        "stock_thickness", "of the board that a half is carved from", "12 mm", left_out="the least that will do"
    ),
    "roughing": text(
        "the flat cutter that carves first, by its size as it is sold",
        "flat 1/8 in",
        left_out='"flat 1/8 in"',
        names="flat",
    ),
    "finishing": text(
        "the ball cutter that carves last, by its size as it is sold",
        "ball 3 mm",
        left_out='"ball 1/8 in"',
        names="ball",
    ),
    "profile_cutter": text(
        "the flat cutter round router templates, and round lips whose cutting.process is not router",
        "flat 1/16 in",
        left_out='"flat 1/8 in"',
        names="flat",
    ),
    "scallop": length(
        "scallop", "how high the ridges may be that finishing leaves", "0.05 mm", left_out="{cutters.carve.scallop_mm}"
    ),
    "spindle_speeds": Key(
        "other",
        "spindle_rpm",
        "the speeds in turns a minute that your router's dial has, as a list, or the only one",
        [10000, 16000],
        left_out="any from {cutters.machine.slowest_rpm} to {cutters.machine.usual_rpm}",
        form="speeds",
    ),
    "fastest_feed": Key(
        "speed",
        "feed_mm_min",
        "what the machine may do at most, sideways",
        "1.2 m/min",
        unit="mm/min",
        left_out="{cutters.machine.fastest_feed_mm_min}",
    ),
    "fastest_plunge": Key(
        "speed",
        "feed_mm_min",
        "what the machine may do at most, straight down",
        "48 in/min",
        unit="mm/min",
        left_out="{cutters.machine.plunge_share} of the feed",
    ),
    "clamp_height": length(
        "clamp_height",
        "how far clamps stand above the work; rapids stay above them",
        "15 mm",
        left_out="{cutters.machine.clamp_height_mm}",
    ),
    "bush": length(
        "router_bit",
        "outside diameter of the guide bush or bearing that runs along a router template",
        "12 mm",
        left_out="as wide as the cutter, a bearing",
    ),
    "cutter": length(
        "router_bit",
        "diameter of the cutter in that bush or under that bearing",
        "6 mm",
        left_out="{gauges.router.cutter_mm}, or the bush where that is smaller",
    ),
}

_WEIGHED = {
    "squared": "the squared block, as the template has it or as wood.blank says",
    "blank": "the shaped body before any hole",
    "drilled": "shaped, with its holes",
    "hangers": "with hangers, eyes or wire in their holes",
    "ballast": "with its metal",
    "sealed": "sealed",
    "painted": "painted",
    "cleared": "under its clear coats",
    "rigged": "with hooks and rings, ready to fish",
}
_READINGS = dict(
    zip(STAGES, ("18.6 g", "5.4 g", "5.1 g", "5.5 g", "7.9 g", "8.1 g", "8.6 g", "9.4 g", "10.8 g"), strict=True)
)
WEIGHED = {
    stage: Key("mass", "weighed_mass_g", _WEIGHED[stage], _READINGS[stage], grows="reading", left_out="not weighed")
    for stage in STAGES
}
