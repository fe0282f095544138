"""However absurd a value that is tried as a mend, a hand that asks meanwhile waits for one short piece of work."""

import re
import time
from itertools import pairwise

import pytest
from amount import only_with_more
from shaped import PARAMS

from bodygen import tables
from bodygen.pipeline import assess
from bodygen.recipe.read import parse_recipe
from bodygen.serve.answer.fields import groups_of
from bodygen.serve.mends.mends import LOOKS, MendTrial

LONGEST = 0.3
"""Seconds of processor time between two pauses."""


def worked(trial, changes):
    """The longest piece of work between two pauses [s], in the look that sees all."""
    times = []

    def pause():
        times.append(time.process_time())

    MendTrial(trial.text, trial.file, {}, pause).findings(changes, LOOKS[-1])
    pause()
    return max(after - before for before, after in pairwise(times))


def touched():
    """Keys that some mend changes, without numbers: ``bore.depth``."""
    for code, lines in tables.load("mends")["mend"].items():
        for line in lines if code != "source" else ():
            path = line.partition(" = ")[0].split()[-1]
            yield re.sub("^(ballast|tie)[.]", "bore.", path)


def absurd(field):
    """What a key takes at its two bounds, or every word."""
    bounds = [one for one in (field["low"], field["high"]) if one is not None]
    return [f"{one:.6g} {field['unit'] or ''}".strip() for one in bounds] or list(field["choices"] or ())


@pytest.mark.parametrize(
    ("demo", "key", "value"),
    [
        ("fell-reed-110", "lip.slot_depth", "110 mm"),
        ("fell-reed-110", "lip.corner_radius", "50 mm"),
        ("reedbed-roach-65", "lip.length", "130 mm"),
        ("reedbed-roach-65", "lip.width", "2 mm"),
        ("tarn-perch-70", "lip.corner_radius", "1.9685 in"),
        ("tarn-perch-70", "lip.width", "6.25 in"),
    ],
)
def test_what_took_longest_of_all_absurd_values_is_parted_into_short_pieces(demo, key, value):
    """They took 1 to 3.4 s: corners too round for the plate were tried too finely, hooks against slivers of a lip."""
    path = PARAMS / f"{demo}.toml"
    trial = MendTrial(path.read_text(encoding="utf-8"), path.as_posix(), {}, lambda: None)
    assess(parse_recipe(trial.text, trial.file))  # as it was before a mend is looked for
    assert worked(trial, {key: value}) < LONGEST


@only_with_more
@pytest.mark.parametrize("demo", sorted(path.stem for path in PARAMS.glob("*.toml")))
def test_no_absurd_value_of_any_key_that_a_mend_touches_takes_long_without_a_pause(demo):
    path = PARAMS / f"{demo}.toml"
    text = path.read_text(encoding="utf-8")
    before = assess(parse_recipe(text, path.as_posix()))
    trial = MendTrial(text, path.as_posix(), {}, lambda: None)
    keys = set(touched())
    fields = [
        field
        for group in groups_of(text, before.recipe.units, (), before.shaped.sizes[0])
        for field in group["fields"]
        if re.sub(r"\[\d+\]", "", field["key"]) in keys
    ]
    took = {(f["key"], value): worked(trial, {f["key"]: value}) for f in fields for value in absurd(f)}
    assert len(took) > 50
    assert {one: seconds for one, seconds in took.items() if seconds >= LONGEST} == {}
