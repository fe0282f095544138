"""Random divers and demos: depth by hand, a larger lip, and the size past which the depth falls."""

import os
from dataclasses import asdict, replace
from math import degrees, radians
from pathlib import Path

import by_hand
import pytest
from amount import MORE
from divers import OPTIONS, random_diver

from bodygen.assessment import dive_inputs, estimate_of
from bodygen.dive.asked import conditions_asked
from bodygen.dive.checks import refusals
from bodygen.dive.estimate import fished
from bodygen.dive.what_if.lip import sized
from bodygen.dive.what_if.size import deepest_lip
from bodygen.pipeline import assess_quickly
from bodygen.recipe.read import read_recipe

PARAMS = Path(__file__).parents[2] / "params"
DIVERS = ("fell-reed-110", "reedbed-roach-65", "tarn-perch-70")
WANTED = int(os.environ.get("BODYGEN_RANDOM_DIVERS", "1"))
FIRST = int(os.environ.get("BODYGEN_RANDOM_SEED", "0"))
HOW = ("tow", "retrieve")


def told(recipe, how):
    """The assessment of a recipe, and the estimate of its dive."""
    a = assess_quickly(recipe)
    return a, estimate_of(a, conditions_asked(recipe, OPTIONS, how))


def by_other_words(a, e):
    """Pitch [deg], pull [N] and depth [m] of the same bait by the method's own words."""
    c = e.asked.conditions
    line = {
        "water": e.runs.inputs.water_kg_m3,
        "diameter": c.line_diameter_mm / 1000,
        "out": c.line_out_m,
        "speed": c.speed_m_s,
        "tip": c.tip_height_m,
    }
    pitch, pull, angle = by_hand.settled(asdict(e.runs.inputs), c.speed_m_s, radians(a.flotation.attitude.pitch_deg))
    depth = (by_hand.towed if c.how == "tow" else by_hand.drawn_home)(pull, angle, line)
    return degrees(pitch), pull, depth


def baits(folder, how):
    """Recipes of the demos, in a plain run drawn home alone, then of as many random divers as can be made."""
    if MORE or how == "retrieve":
        yield from ((name, read_recipe(PARAMS / f"{name}.toml")) for name in DIVERS)
    seed, found = FIRST, 0
    while found < WANTED:
        path = random_diver(seed, folder)
        if path is not None:
            found += 1
            yield f"diver {seed}", read_recipe(path)
        seed += 1


def grown(recipe, share):
    lip = recipe.lip
    return replace(recipe, lip=sized(lip, length=share * lip.length, width=share * lip.width))


def faults_of(name, recipe, how):
    """What does not hold of one bait: pitch to 0.02 deg, pull to 0.1 %, depth to 0.5 % of the other words'."""
    a, e = told(recipe, how)
    found = [f"{name} {how}: a depth and a refusal"] * ((e.depth is None) == (not e.refused))
    found += [f"{name}: a lip of nothing is not refused"] * (not _refuses_no_lip(a, e))
    if e.depth is None:
        return [
            *found,
            *([f"{name} {how}: sinks"] if a.flotation.state == "sinks" and "sinks" not in e.refused else []),
        ]
    pitch, pull, depth = by_other_words(a, e)
    off = degrees(e.runs.running.pitch) - pitch, e.runs.running.pull / pull - 1, e.modelled_m / depth - 1
    found += [f"{name} {how}: apart by {off}"] * (
        not (abs(off[0]) < 0.02 and abs(off[1]) < 1e-3 and abs(off[2]) < 5e-3)
    )
    c = e.asked.conditions
    thinner = fished(e, replace(c, line_diameter_mm=0.9 * c.line_diameter_mm)).depth
    longer = fished(e, replace(c, line_out_m=1.1 * c.line_out_m)).depth
    found += [
        f"{name} {how}: not deeper on {what}"
        for what, deep in (("thinner", thinner), ("more", longer))
        if deep is not None and deep <= e.modelled_m
    ]
    return [*found, *_turn(name, recipe, how)]


def _turn(name, recipe, how):
    """By hand the depth grows with the lip to the size that is named, and not past it."""
    deepest = deepest_lip(recipe, lambda changed: told(changed, how)[1])
    low, high = deepest.share / 1.1, deepest.share * 1.1
    rows = []
    for share in (low / 1.1, low, deepest.share, high):
        a, e = told(grown(recipe, share), how)
        rows.append(by_other_words(a, e)[2] if e.depth else None)
    before, near, there, past = rows
    found = []
    if before and near and not before < near < there * (1 + 1e-9):
        found.append(f"{name} {how}: up to {deepest.share:.3f} the depth does not grow: {rows}")
    if not deepest.beyond and not deepest.tried_all and past and not past < there:
        found.append(f"{name} {how}: past {deepest.share:.3f} the depth does not fall: {rows}")
    return found


def _refuses_no_lip(a, e):
    inputs = e.runs.inputs or dive_inputs(a)[0]
    nothing = replace(inputs, lip_length_mm=0.1, lip_width_mm=0.1, lip_area_mm2=0.01, lip_centroid_from_tip_mm=0.05)
    return "dive-lip-small" in {f.code for f in refusals(nothing, 1.1, a.flotation, e.runs.running)}


@pytest.mark.parametrize("how", HOW)
def test_depths_are_the_methods_own_and_a_larger_lip_runs_deeper_up_to_the_size_named(how, tmp_path):
    faults = [fault for name, recipe in baits(tmp_path, how) for fault in faults_of(name, recipe, how)]
    assert not faults, "\n".join(faults)
