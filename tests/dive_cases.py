"""The worked cases of ``attitude_cases.toml`` as inputs: a lip without an outline is a rectangle."""

import tomllib
from dataclasses import fields
from pathlib import Path

from bodygen.dive.inputs import DiveInputs

CASES = {
    case["id"]: case
    for case in tomllib.loads((Path(__file__).parent / "dive" / "attitude_cases.toml").read_text(encoding="utf-8"))[
        "case"
    ]
}


def cases(model):
    """The cases of a model."""
    return [case for case in CASES.values() if case["given"]["model"] == model]


def inputs(given):
    """A case's bait."""
    named = {field.name for field in fields(DiveInputs)}
    length, width = given["lip_length_mm"], given["lip_width_mm"]
    rectangle = {"lip_area_mm2": length * width, "lip_centroid_from_tip_mm": length / 2}
    return DiveInputs(**rectangle | {key: value for key, value in given.items() if key in named})
