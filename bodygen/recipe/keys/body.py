"""``[shape]`` and ``[wood]``: keys of the body and what it is made of."""

from bodygen.recipe.keys.key import Key, grown, length, table, text

_AS_DRAWN = "as the line has it"
_END = {
    "bluntness": Key(
        "number", "bluntness", "0 is a point, 1 rounds like an ellipse, more is blunter", 1.0, left_out=_AS_DRAWN
    ),
    "size": Key(
        "number",
        "end_size",
        "the share of the greatest size that is left as a flat, sawn-off end",
        0.15,
        left_out=_AS_DRAWN,
    ),
}

SHAPE = {
    "length": grown("body_length", "nose to tail", "2-3/4 in", left_out="it must be there for a drawn body"),
    "depth": grown(
        "body_depth", "greatest, back to belly", "7/8 in", left_out="what back and belly draw, as points in lengths"
    ),
    "thickness": grown(
        "body_thickness", "greatest, side to side", "5/8 in", left_out="what plan draws, as points in lengths"
    ),
    "back": Key(
        "other",
        about="the line of the back, as height above the parting line",
        example="acorn",
        grows="lengths",
        left_out='"{outlines.default.back}"',
        form="outline",
    ),
    "belly": Key(
        "other",
        about="the line of the belly, as height below the parting line",
        example={"fractions": [[0, 0], [0.4, 1], [1, 0]]},
        grows="lengths",
        left_out='"{outlines.default.belly}"',
        form="outline",
    ),
    "plan": Key(
        "other",
        about="the line seen from above, as half the thickness",
        example="leaf",
        grows="lengths",
        left_out='"{outlines.default.plan}"',
        form="outline",
    ),
    "back_share": Key("number", "back_share", "how much of the depth lies above the parting line", 0.52),
    "widest": Key(
        "other",
        about="how high the widest line runs, above the parting line or below it",
        example={"points": [[0, 0], [28, 2.5], [70, 0]]},
        grows="lengths",
        left_out="midway between back and belly",
        form="widest",
    ),
    "squareness": Key(
        "other",
        about="the section: 2 is an ellipse, more is fuller, less is keeled",
        example=2.2,
        grows="x",
        left_out="2",
        form="squareness",
    ),
    "nose": table("the front end of the body", _END),
    "tail": table("the hind end of the body", _END),
    "flat_side": table(
        "flanks sawn flat; either key follows from the other",
        {
            "height": grown(
                "line_height", "of the flat at the deepest section", "8 mm", left_out="what the radius leaves"
            ),
            "edge_radius": grown(
                "edge_radius",
                "of the edges above and below the flat",
                "4 mm",
                left_out="an edge that runs round to the middle of the back",
            ),
        },
    ),
    "stations": text(
        "in place of the keys above: the body as measured sections, a CSV file with the header "
        "x_mm,top_mm,bottom_mm,half_width_mm and, if you like, squareness (or squareness_back,squareness_belly) and "
        "widest_mm, the height at which the section is widest (midway where it is left out)",
        "beck-dace-80.csv",
        left_out="the body is drawn, or a mesh",
        more="at least 5 rows, x growing from 0; the surface goes through each of up to 200 rows, and within 0.02 mm "
        "of each of more, up to 5000",
    ),
    "mesh": text(
        "in place of the keys above: the body as it is, an STL, OBJ, 3MF or PLY file",
        "old-favourite.stl",
        left_out="the body is drawn, or by stations",
        more="watertight, x along the length, in units; a 3MF says its own unit",
    ),
}

WOOD = {
    "species": text(
        "the wood by one of its names; linden is basswood, lime is the European one",
        "basswood",
        left_out="the density must be known some other way",
        names="wood",
    ),
    "moisture_percent": Key("percent", "moisture_percent", "water in the wood, of its dry weight", 9),
    "density_g_cm3": Key(
        "density",
        "wood_density_g_cm3",
        "of your board; wins over the species",
        0.41,
        left_out="worked out from blank or species",
    ),
    "blank": table(
        "the squared blank on the scale and its size: the best there is",
        {
            "mass": Key("mass", "blank_mass_g", "of the squared blank on the scale", "30 g", required=True),
            "length": length("blank_size", "of the squared blank, along the bait", "90 mm", required=True),
            "width": length("blank_size", "of the squared blank, across the bait", "25 mm", required=True),
            "height": length("blank_size", "of the squared blank, belly to back", "30 mm", required=True),
        },
    ),
}
