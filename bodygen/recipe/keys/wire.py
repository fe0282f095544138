"""``[fitting.bent]``: keys of the form that a wire is bent to."""

from bodygen.recipe.keys.key import Key, choice, grown, length, table, text

_TRIAL = {
    "pin": length("wire_trial_pin", "diameter of the pin that it was bent round", "2 mm", required=True),
    "bent_to": Key("angle", "wire_trial_deg", "how far it was bent round the pin", "90 deg", required=True),
    "stays": Key("angle", "wire_trial_deg", "how far it is still bent when let go", "85 deg", required=True),
}

BENT = {
    "form": choice(
        "belly_hanger and line_tie: an eye on two straight legs in one bore; twisted_hanger: its legs are twisted; "
        "through_wire: one wire along a kerf to an eye at the tail",
        *("belly_hanger", "line_tie", "twisted_hanger", "through_wire"),
        required=True,
    ),
    "loop": length(
        "wire_loop", "inside diameter of its eyes: what the ring needs", "4 mm", left_out="{wire.form.loop_mm}"
    ),
    "radius": length(
        "wire_radius",
        "inside radius of all bends but the eyes",
        "1.6 mm",
        left_out="{wire.bend.advised_radius_d} times the wire's diameter",
    ),
    "leg": grown(
        "bore_depth", "how deep a hanger's legs go in, from the skin", "12 mm", left_out="to the shoulder of its bore"
    ),
    "turns": Key(
        "number",
        "wire_turns",
        "whole turns of a twisted hanger's legs",
        4,
        left_out="one for each {wire.twist.usual_pitch_d} diameters of leg",
    ),
    "kerf": text(
        "the name of the wire slot that a through-wire lies in", "through-wire kerf", left_out="the only wire slot"
    ),
    "height": grown(
        "bore_offset", "of a through-wire's middle above the parting line", "-1 mm", left_out="against the kerf's floor"
    ),
    "start": grown(
        "place_along",
        "where a through-wire's front end is bent over in the kerf, in place of an eye at the nose",
        "12 mm",
        left_out="an eye at the nose",
    ),
    "eye_at": grown(
        "place_along", "where a through-wire comes out of the kerf's mouth as an eye", "36 mm", left_out="nowhere"
    ),
    "tail": length(
        "wire_tail",
        "of a through-wire's eyes: the end that lies beside the wire",
        "12 mm",
        left_out="{wire.form.tail_d} times the wire's diameter",
    ),
    "trial_bend": table(
        "one bend that you made of this wire and measured: what it springs back, in place of the computed figure",
        _TRIAL,
    ),
}
