"""``[[fitting]]``, ``[[coat]]`` and ``[[mask]]``: keys of what is hung on, brushed over and painted by itself."""

from bodygen.recipe.keys.key import STAGES, Key, choice, grown, length, table, text
from bodygen.recipe.keys.wire import BENT

_BY_THE_TABLE = "what the table knows of this size"

FITTING = {
    "name": text("a name of its own", "belly treble", left_out="its kind and a number"),
    "kind": choice(
        "what it is; a weight says everything itself, the others know their sizes",
        *("weight", "hook", "ring", "eye", "screw_eye", "wire"),
        left_out='"weight"',
        example=1,
    ),
    "at": Key(
        "lengths",
        "place_mm",
        "where its weight acts: x, y and z; for what hangs, the hanger eye that it hangs from",
        ["1.2 in", 0, "-0.3 in"],
        count=3,
        grows="lengths",
        left_out="on must be there in its place",
    ),
    "on": text(
        "in place of at: the name of a hanger, tie, eye or other bore that it goes on; it moves with the bore",
        "belly hanger",
        left_out="at must be there in its place",
        more="in whatever order they are written, the eye (screw eye or wire) is at the bore's mouth, the rings hang "
        "on the eye, the hooks on the rings. Their weight acts at the outer end of the eye's inside (4 mm from the "
        "skin where no screw eye says): a loose chain pulls there, however long it is",
    ),
    "stage": choice("when it goes on", *STAGES[1:], left_out='"rigged"', example=-1),
    "size": Key(
        "text",
        about="the size as it is sold; the table knows what it weighs",
        example="#8",
        grows="eye",
        left_out="mass must be there",
        more='trebles "#14" to "3/0", rings "#3" to "#7", wire "0.041 in" or "1 mm", screw eyes "0.041 x 1/2 in" or '
        '"1 x 12 mm", eyes "5 mm glass" or "5 mm resin"',
    ),
    "length": Key(
        "length",
        "wire_length_mm",
        "of a wire along its bends, where it has no form; of a hook from the outside of the hook eye to the outside of "
        "its bend",
        "5/8 in",
        grows="wire",
        left_out="of a wire without a mass it must be there; of a hook, " + _BY_THE_TABLE,
    ),
    "hook_length": length(
        "hook_length",
        "of a hook alone, another name for its length: from the outside of its eye to the outside of its bend",
        "16.2 mm",
        left_out=_BY_THE_TABLE,
    ),
    "gape": length(
        "gape",
        "of a hook, measured: clear, from a point straight across to the shank; wins over the table",
        "6 mm",
        left_out=_BY_THE_TABLE,
    ),
    "mass": Key("mass", "fitting_mass_g", "of one; wins over the table", "4 g", left_out=_BY_THE_TABLE),
    "displaces_cm3": Key(
        "number",
        "fitting_volume_cm3",
        "the water that it pushes aside, in cm3; 0 for what is inside the body",
        0.2,
        left_out="what the table knows of this size; 0 for a weight",
    ),
    "bent": table("a wire's form: its length, its weight and its place follow from it", BENT),
    "quantity": Key("whole", "quantity", "how many", 2),
    "mirror": Key("flag", about="true: the same again on the other flank", example=True),
}

COAT = {
    "name": text("a name of its own", "seal", left_out="the finish, or the stage"),
    "finish": text("what it is", "two_part_epoxy", left_out="gain must be there", names="finish"),
    "stage": choice(
        "what it serves as",
        *("sealed", "painted", "cleared"),
        left_out="as the finish is used; where that serves for more than one, it must be there",
    ),
    "coats": Key("whole", "coats", "how many", 2),
    "film": length("film", "how thick one dries", "0.04 mm", left_out="what is usual for the finish"),
    "density_g_cm3": Key(
        "density", "film_density_g_cm3", "of the dry film", 1.15, left_out="what is usual for the finish"
    ),
    "dries_as": text(
        "which kind of product it is, for how it dries and what may lie on it",
        "two_part_epoxy_fast",
        left_out="the usual kind of the finish",
        names="drying",
    ),
    "after_h": Key(
        "number",
        "coat_after_h",
        "the hours that you mean to leave the coat below before it",
        24,
        left_out="as long as the coat below needs",
    ),
    "viscosity": text(
        "of a dip, by what it runs like: the film it leaves is worked out and held against film, which is weighed",
        "thin_varnish",
        left_out="not told",
        names="viscosity",
    ),
    "draw_speed": Key(
        "speed",
        "draw_speed_m_s",
        "how fast it is drawn out of a dip",
        "5 mm/s",
        left_out="{finishes.dip.usual_draw_mm_s} mm/s",
    ),
    "gain": Key(
        "mass",
        "coat_gain_g",
        "what all of them added on the scale; wins",
        "1.1 g",
        left_out="worked out from film, coats and skin",
    ),
}

MASK = {
    "kind": choice("which region", "back", "flank", "belly", "bars", "gill", "eye", required=True),
    "name": text("a name of its own", "dark back", left_out="its kind, and a number from the second on"),
    "start": grown(
        "place_along",
        "where it begins along the body",
        "12 mm",
        left_out="for bars {masks.bars.start_share} of the length; else the nose",
    ),
    "end": grown(
        "place_along",
        "where it ends along the body",
        "58 mm",
        left_out="for bars {masks.bars.end_share} of the length; else the tail",
    ),
    "low": Key(
        "number",
        "share",
        "its lower edge as a share of the depth there: 0 is the belly, 1 the back",
        0.35,
        left_out="as is usual for the kind",
    ),
    "high": Key(
        "number",
        "share",
        "its upper edge as a share of the depth there: 0 is the belly, 1 the back",
        1.0,
        left_out="as is usual for the kind",
    ),
    "count": Key("whole", "bars", "how many bars", 7, left_out="{masks.bars.count}"),
    "width": grown(
        "mask_width",
        "of each bar, of the gill's band, or of the ring around an eye",
        "3 mm",
        left_out="for bars {masks.bars.width_share} of the length, for a gill {masks.gill.width_mm}, around an eye "
        "{masks.eye.width_mm}",
    ),
    "slant": Key(
        "angle", "slant_deg", "how far a bar leans, its upper end aft", "15 deg", left_out="{masks.bars.slant_deg}"
    ),
    "x": grown("place_along", "where the gill stands", "16 mm", left_out="{masks.gill.x_share} of the length"),
}
