"""A glance at a recipe that was changed a little says what the whole assessment says."""

from dataclasses import replace
from pathlib import Path

import pytest

from bodygen.pipeline import assess, glance
from bodygen.recipe.read import read_recipe

DEMOS = sorted((Path(__file__).parents[2] / "params").glob("*.toml"))
SAME = 1e-6


def deeper(recipe, mm):
    place = next(i for i, bore in enumerate(recipe.bores) if bore.kind == "ballast")
    bores = list(recipe.bores)
    bores[place] = replace(bores[place], depth=bores[place].depth + mm)
    return replace(recipe, bores=tuple(bores))


def lighter(recipe, share):
    return replace(recipe, wood=replace(recipe.wood, species=None, density_g_cm3=0.3 * share))


CHANGES = {
    "a bore half a millimetre deeper": lambda r: deeper(r, 0.5),
    "a bore less deep": lambda r: deeper(r, -0.3),
    "another density": lambda r: lighter(r, 0.97),
    "other water": lambda r: replace(r, water=replace(r.water, temperature=4.0)),
    "nothing": lambda r: r,
}


@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
def test_a_glance_and_an_assessment_agree_whatever_was_changed(path):
    recipe = read_recipe(path)
    before = assess(recipe)
    for what, change in CHANGES.items():
        changed = change(recipe)
        seen, whole = glance(changed, before), assess(changed)
        assert seen.total.mass == pytest.approx(whole.total.mass, rel=SAME), what
        assert seen.total.centre_of_mass == pytest.approx(whole.total.centre_of_mass, abs=SAME), what
        assert [s.mass for s in seen.stages] == pytest.approx([s.mass for s in whole.weighed.stages], rel=SAME), what
        there, here = whole.flotation.attitude, seen.flotation.attitude
        assert seen.flotation.state == whole.flotation.state, what
        assert seen.flotation.reserve_g == pytest.approx(whole.flotation.reserve_g, abs=SAME), what
        for name in ("pitch_deg", "roll_deg", "gm_mm", "gml_mm", "waterplane_cm2", "submerged_cm3"):
            assert getattr(here, name) == pytest.approx(getattr(there, name), abs=SAME), (what, name)


def test_glances_follow_each_other_as_a_bore_is_dragged():
    recipe = read_recipe(DEMOS[-1])
    seen = assess(recipe)
    for step in range(1, 9):
        seen = glance(deeper(recipe, 0.15 * step), seen)
    whole = assess(deeper(recipe, 0.15 * 8))
    assert seen.flotation.attitude.pitch_deg == pytest.approx(whole.flotation.attitude.pitch_deg, abs=SAME)
    assert seen.flotation.reserve_g == pytest.approx(whole.flotation.reserve_g, abs=SAME)
