"""An offered mend mends: its doubt is gone once it is put in, and no other has come that is as grave."""

import os
from collections import Counter

import pytest
from amount import MORE
from random_baits import random_bait

from bodygen import tables
from bodygen.errors import BodygenError
from bodygen.pipeline import assess
from bodygen.recipe.changes import changed_text
from bodygen.recipe.read import parse_recipe
from bodygen.serve.mends.mends import GRAVE, mends_of

BAIT = """
format = 1
name = "Small roach"
[shape]
length = "70 mm"
depth = "22 mm"
thickness = "18 mm"
[wood]
species = "basswood"
[[bore]]
name = "ballast"
kind = "ballast"
from = "belly"
x = "30 mm"
diameter = "6 mm"
depth = "9 mm"
fill = { metal = "bismuth_tin_58_42" }
[lip]
sheet = "polycarbonate"
thickness = "1.5 mm"
angle = "40 deg"
x = "9 mm"
slot_depth = "6 mm"
length = "15 mm"
width = "14 mm"
[lip.cutting]
process = "hand"
"""
RANDOM = int(os.environ.get("BODYGEN_RANDOM_MENDS", "4" if MORE else "0"))
LONG_ENOUGH = 600.0
"""Seconds: no search of these ends for want of time."""


def found(text, file="bait.toml"):
    assessment = assess(parse_recipe(text, file))
    return assessment, list(mends_of(assessment, text, file, LONG_ENOUGH, lambda: None))


def check(before, mend, text, file="bait.toml"):
    """Put a mend in, and hold what is doubted then against what was."""
    doubt = before.findings[mend.finding]
    after = assess(parse_recipe(changed_text(text, mend.changes), file)).findings
    grave = GRAVE[GRAVE.index(doubt.severity) :]
    then, now = (
        Counter((one.code, one.where, one.severity) for one in findings if one.severity in grave)
        for findings in (before.findings, after)
    )
    assert sum(one.code == doubt.code and one.where == doubt.where for one in after) < sum(
        one.code == doubt.code and one.where == doubt.where for one in before.findings
    ), mend
    assert not now - then, mend


def test_every_kind_of_doubt_has_a_way_to_mend_it_or_a_reason_why_no_value_can():
    told = tables.load("mends")
    mended = {code for code in told["mend"] if code != "source"}
    left = [code for group in told["without"].values() for code in group["codes"]]
    assert sorted([*mended, *left]) == sorted(tables.load("findings")["finding"])


@pytest.mark.parametrize(
    ("written", "instead", "code", "key", "nearer"),
    [
        # by the half millimetre of a depth stop; half a millimetre deeper would be too deep still
        ('depth = "9 mm"', 'depth = "16 mm"', "ballast-near-back", "bore[1].depth", 0.5),
        # into a slot of 10 mm: any wider, and it does not go in
        (
            'width = "14 mm"',
            'width = "14 mm"\nslot_width = "10 mm"\ntongue_width = "11.2 mm"',
            "lip-tongue-too-wide",
            "lip.tongue_width",
            0.5,
        ),
        # by name: polycarbonate chars under a laser, and a router's kerf nobody has measured
        ('process = "hand"', 'process = "laser"\nkerf = "0.1 mm"', "lip-sheet-laser", "lip.cutting.process", None),
    ],
)
def test_a_slip_in_one_value_is_mended_by_the_nearest_value(written, instead, code, key, nearer):
    text = BAIT.replace(written, instead, 1)
    before = assess(parse_recipe(text, "bait.toml"))
    offered = mends_of(before, text, "bait.toml", LONG_ENOUGH, lambda: None)
    mend = next(mend for mend in offered if before.findings[mend.finding].code == code)
    check(before, mend, text)
    assert list(mend.changes) == [key]
    value = mend.changes[key]
    assert mend.words.endswith(f"to {value}")
    if nearer is not None:
        number, unit = value.split()
        back = changed_text(text, {key: f"{float(number) + nearer:g} {unit}"})
        assert code in {one.code for one in assess(parse_recipe(back, "bait.toml")).findings}


@pytest.mark.parametrize("seed", range(RANDOM))
def test_of_random_baits_every_mend_that_is_offered_takes_its_doubt_away(seed, tmp_path):
    bait = random_bait(seed)
    recipe = bait.saved(tmp_path)
    text = recipe.read_text(encoding="utf-8")
    try:
        before, mends = found(text, recipe.as_posix())
    except BodygenError:
        pytest.skip("no sound bait")
    elsewhere = tables.load("mends")["without"]["elsewhere"]["codes"]
    assert not {one.code for one in before.findings} & set(elsewhere)
    for mend in mends:
        check(before, mend, text, recipe.as_posix())
