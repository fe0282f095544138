"""``[lip]``: keys of the plate, its slot and how it is cut."""

from bodygen.recipe.keys.key import Key, choice, grown, length, table, text

_CUTTING = {
    "process": choice("what cuts it", "laser", "router", "hand", example=2),
    "kerf": length(
        "kerf",
        "the full width of the cut; for a router the cutter's diameter, which lip.ngc is then written for",
        "0.2 mm",
    ),
    "quantity": Key("whole", "quantity", "how many to lay on a sheet", 6),
    "sheet_size": Key("lengths", "sheet_side_mm", "of the sheet: its two sides", ["300 mm", "200 mm"], count=2),
    "gap": length("gap", "how far apart they lie, and from the sheet's edge", "3 mm"),
    "offcut": Key(
        "other",
        about="in place of sheet_size: the corners of a left-over piece in turn; it is filled with as many of the "
        "quantity as it holds",
        example=[[0, 0], [120, 0], [90, 60], [0, 60]],
        left_out="a whole sheet",
        form="corners",
    ),
    "tabs": Key(
        "whole",
        "lip_tabs",
        "for laser and router: how many places on each lip are marked where it may stay joined to the sheet",
        2,
        left_out="no marks; lip.ngc sets as many as are usual",
        more="the marks lie on layer MARK_TABS, and the drawing's path stays one closed loop: set tabs or bridges on "
        "them in the machine's own program. In lip.ngc they stand on the marks",
    ),
    "tab_width": length(
        "lip_tab", "how wide each of these places is", "0.5 mm", left_out="as is usual for the process"
    ),
}

LIP = {
    "sheet": text("what the plate is cut from", "polycarbonate", required=True, names="sheet"),
    "nominal": text(
        "in place of thickness: the label that the sheet is sold under; the table knows how thick that really is",
        "1/16 in",
        left_out="thickness must be there",
    ),
    "thickness": length("lip_thickness", "of the sheet, as you measured it", "1.5 mm", left_out="as nominal has it"),
    "angle": Key(
        "angle",
        "lip_angle_deg",
        "from straight ahead downwards: 0 lies along the body, 90 hangs down",
        "40 deg",
        required=True,
    ),
    "from": choice("where the slot is let in", "belly", "nose"),
    "x": grown(
        "place_along",
        "where the middle of the slot meets the belly",
        "0.36 in",
        left_out="it must be there for a slot from the belly",
    ),
    "height": grown("bore_offset", "where the slot meets the nose, above the parting line", "-2 mm"),
    "slot_depth": grown("slot_depth", "of the slot along the plate, from the skin", "1/4 in", required=True),
    "slot_width": grown("slot_width", "of the slot across the body", "8 mm", left_out="right across"),
    "fit": length("lip_fit", "how much wider the slot is than the sheet is thick; below 0 is a press fit", "0.004 in"),
    "length": grown(
        "lip_size", "of the plate that shows", "5/8 in", left_out="what points draw; without these it must be there"
    ),
    "width": grown(
        "lip_size", "of the plate that shows", "5/8 in", left_out="what points draw; without these it must be there"
    ),
    "outline": text(
        "the plate's outline: a family's, or your own points",
        "shovel",
        left_out='"{outlines.default.lip}", or "points" where there are any',
        names="lip",
    ),
    "points": Key(
        "other",
        about="an outline of your own, from the slot's mouth to the tip: [distance from the mouth, half width]",
        example=[[0, 5], [8, 8], [15, 0]],
        grows="lengths",
        left_out="a family's outline",
        form="plate",
    ),
    "corner_radius": grown("lip_corner", "of the plate's corners", "1 mm"),
    "tongue_width": grown("lip_size", "of the part in the slot", "7 mm", left_out="what the slot takes"),
    "mass": Key(
        "mass",
        "lip_mass_g",
        "of one lip on the scale; wins",
        "0.6 g",
        grows="reading",
        left_out="worked out from sheet and outline",
    ),
    "mouth": table(
        "a mouth sawn above the slot, so that the slot lies in its floor",
        {
            "height": grown("slot_width", "of the mouth, above the slot", "3 mm", required=True),
            "depth": grown("slot_depth", "of the mouth, along the slot", "4 mm", required=True),
        },
    ),
    "tie_hole": table(
        "a hole for the line, on the plate's middle line",
        {
            "diameter": length("hole_diameter", "of the hole", "1.5 mm", required=True),
            "distance": grown("lip_size", "of the hole from the slot's mouth", "6 mm", required=True),
        },
    ),
    "cutting": table("how lips are cut, and how many", _CUTTING),
    "bend": table(
        "a plate bent right across: a line on layer MARK_BEND; mass and flotation take the plate as flat, a dive as "
        "the flat one from the slot through its middle",
        {
            "distance": grown("lip_size", "of the bend from the slot's mouth", "7/16 in", required=True),
            "angle": Key(
                "angle", "bend_deg", "by which the tip is turned down; below 0 it is up", "6 deg", required=True
            ),
        },
    ),
}
