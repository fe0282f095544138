"""Askings made from bodies whose answer is known: the bait is weighed, its ballast spoilt, and the float asked back.

``BODYGEN_RANDOM_ASKINGS=200`` asks so many; without it a handful. The seed is the example.
"""

import os
from math import radians

import pytest
from recipe_strategies import random_recipe_text, seeded

from bodygen import pipeline
from bodygen.assessment import answer_of
from bodygen.ballast.layout import given_bores
from bodygen.ballast.solve import solve
from bodygen.errors import BodygenError
from bodygen.recipe.model import Goal
from bodygen.recipe.read import read_recipe
from bodygen.recipe.rewrite import rewrite

WANTED = int(os.environ.get("BODYGEN_RANDOM_ASKINGS", "0")) or 2
WAYS = ("reserve", "reserve and pitch", "one bore to be found", "two bores")
SAME_G, SAME_DEG = 0.01, 0.05


def ask(recipe):
    return answer_of(pipeline._assess(recipe, (), (), "", others=False))


@pytest.mark.parametrize("seed", range(WANTED))
def test_an_asking_whose_answer_is_known_is_met_and_weighs_as_offered(seed, tmp_path):
    """Within half a step of depth and place; put into the file, within 0.01 g and 0.05 deg of what was offered."""
    way = WAYS[seed % len(WAYS)]
    answer, spoilt = _known(seeded(seed + 77_000), way, tmp_path)
    float_ = answer.flotation
    pitch = None if way == "reserve" else radians(float_.attitude.pitch_deg)
    bores = {"one bore to be found": "one", "two bores": "two"}.get(way, "given")
    goal = Goal(reserve=float_.reserve_g, pitch=pitch, bores=bores)
    path = tmp_path / "spoilt.toml"
    path.write_text(rewrite(tmp_path / "bait.toml", spoilt), encoding="utf-8")
    recipe = read_recipe(path)
    solution = solve(recipe, goal, ask)
    told = f"{way}: {[f.remedy for f in solution.findings]}"
    assert solution.offers, told
    assert solution.offers[0].met, told
    for number, offer in enumerate(solution.offers):
        changed = tmp_path / f"offer-{number}.toml"
        changed.write_text(rewrite(path, offer.changes), encoding="utf-8")
        after = ask(read_recipe(changed)).flotation
        assert after.reserve_g == pytest.approx(offer.reserve_g, abs=SAME_G)
        assert after.attitude.pitch_deg == pytest.approx(offer.pitch_deg, abs=SAME_DEG)
        assert offer.reserve_g == pytest.approx(goal.reserve, abs=offer.within_g)
        if pitch is not None:
            assert offer.pitch_deg == pytest.approx(float_.attitude.pitch_deg, abs=offer.within_deg)


def _known(rng, way, folder):
    """A bait that floats by ballast of its own, its answer, and the changes that spoil that ballast.

    For a bore to be found its place is spoilt too. What breaks a rule, has a ballast bore without ballast, lies on its
    side or stands is drawn anew: the known answer must be one that a maker would have built.
    """
    for _ in range(200):
        path = folder / "bait.toml"
        path.write_text(random_recipe_text(rng), encoding="utf-8")
        recipe = read_recipe(path)
        places = given_bores(recipe, 1.0)
        wanted = 2 if way in ("two bores", "reserve and pitch") else 1
        if len(places) != wanted or any(recipe.bores[i].fill is None for i in places):
            continue
        spoilt = {}
        for i in places:
            bore = recipe.bores[i]
            spoilt[f"bore[{i + 1}].depth"] = f"{max(bore.depth * rng.uniform(0.75, 0.95), 0.6 * bore.diameter):.3f} mm"
            if way == "one bore to be found":
                spoilt[f"bore[{i + 1}].x"] = f"{bore.x * rng.uniform(0.9, 1.08):.3f} mm"
        try:
            answer = ask(recipe)
            other = folder / "other.toml"
            other.write_text(rewrite(path, spoilt), encoding="utf-8")
            ask(read_recipe(other))
        except BodygenError:
            continue
        flotation = answer.flotation
        broken = any(f.severity == "error" for f in answer.findings)
        at = flotation.attitude
        lies = at.roll_deg is not None and abs(at.roll_deg) < 30 and abs(at.pitch_deg) < 30
        if broken or flotation.state != "floats" or not lies:
            continue
        return answer, spoilt
    return pytest.fail("200 drawn baits in a row are no known answer")
