"""The order of work: where each weigh-in stands, what is named at its step, and what is read beside the scale."""

from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

import bodygen
from bodygen.report.card.front import _short
from bodygen.report.card.steps import WATER, work_steps
from bodygen.report.card.words import cut_rows

PARAMS = Path(__file__).parents[3] / "params"


@cache
def recipe_of(name):
    return bodygen.read_recipe(PARAMS / f"{name}.toml")


def steps_of(recipe):
    a = bodygen.assess(recipe)
    return work_steps(a, cut_rows(a))


@cache
def steps_of_demo(name):
    return steps_of(recipe_of(name))


@pytest.fixture(scope="module")
def odd():
    """A roach without a calendar whose eyes go on before any paint, under a clear coat of two layers of an odd name."""
    r = recipe_of("reedbed-roach-65")
    clear = replace(r.coats[-1], name="clear: 1 of the old tin")
    last = replace(clear, name="clear 2")
    foil = replace(next(one for one in r.fittings if one.kind == "ring"), name="foil", stage="painted")
    return steps_of(
        replace(r, coats=(r.coats[0], clear, last), paints=(), masks=(), fittings=(*r.fittings, foil), finish=None)
    )


def test_what_goes_on_at_a_stage_without_a_coat_is_a_step_before_all_later_coats(odd):
    """Put between two coats, or behind the lip, it would weigh more than the card says."""
    at = next(place for place, step in enumerate(odd) if step.stage == "painted")
    assert "foil" in odd[at].what
    assert odd[at - 1].stage == "sealed"
    assert [step.coat for step in odd[at + 1 : at + 3]] == ["clear: 1 of the old tin", "clear 2"]
    assert next(place for place, step in enumerate(odd) if "lip into its slot" in step.what) > at


def test_a_coat_keeps_its_whole_name_in_the_order_on_the_wall(odd):
    assert "clear: 1 of the old tin" in [_short(step) for step in odd]
    assert "" not in [_short(step) for step in odd]


def test_the_last_weigh_in_is_at_the_lip_where_nothing_else_is_hung_on():
    r = recipe_of("reedbed-roach-65")
    kept = tuple(fitting for fitting in r.fittings if fitting.stage != "rigged")
    steps = steps_of(replace(r, fittings=kept, finish=None))
    assert next(step.what for step in steps if step.stage == "rigged") == "glue the lip into its slot"


def test_what_weighs_with_the_metal_is_named_where_the_scale_is_read():
    """Left out, it would be made up for in metal."""
    metal = next(step for step in steps_of_demo("beck-dace-80") if step.stage == "ballast")
    assert metal.says == ("stop when the scale reads 7.21 g, rattle balls in it",)


def test_bent_wire_is_named_once_where_it_is_cut():
    hung = next(step for step in steps_of_demo("fell-reed-110") if step.stage == "hangers")
    assert [text.partition(":")[0] for text in hung.says] == ["through-wire"]


@pytest.mark.parametrize("name", ["tarn-perch-70", "beck-dace-80"])
def test_tub_and_first_cast_say_what_should_be_read_there(name):
    told = bodygen.properties(bodygen.assess(recipe_of(name)))
    reads = dict(read for step in steps_of_demo(name) if step.day == WATER for read in step.reads)
    spread, lies = told["ballast"]["spread"], told["float"]
    assert reads[f"reserve {lies['reserve_g']:+.2f} g"] == f"{spread['p10']:+.2f} to {spread['p90']:+.2f} g"
    assert f"nose {abs(lies['pitch_deg']):.1f} deg {'up' if lies['pitch_deg'] >= 0 else 'down'}" in reads
    assert (f"rolled {lies['roll_deg']:.1f} deg" in reads) == (abs(lies["roll_deg"]) >= 1)
    depth = (told.get("dive") or {}).get("depth_m")
    assert any(read.startswith("depth ") for read in reads) == (depth is not None)
    if depth is not None:
        assert f"({depth['low']:.1f} m) to" in next(near for read, near in reads.items() if read.startswith("depth "))
