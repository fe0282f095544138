"""Goals: from the recipe, from the command line, and what cannot be had together."""

from math import radians

import pytest

from bodygen.ballast.goal import asked
from bodygen.errors import InputError
from bodygen.recipe.model import Goal, Recipe, Stations, Waterline
from bodygen.recipe.read import read_recipe


def recipe(goal=None):
    return Recipe("bar", "in", Stations("bar.csv", ()), goal=goal)


def refusal(options, **rest):
    with pytest.raises(InputError) as caught:
        asked(recipe(), options, **rest)
    return str(caught.value)


def test_a_wish_is_read_in_its_own_unit():
    assert asked(recipe(), {"reserve": "0.1 oz"}).reserve == pytest.approx(2.834952)
    assert asked(recipe(), {"pitch": "5 deg"}).pitch == pytest.approx(radians(5))
    assert asked(recipe(), {"suspends": "50 degF"}).suspends_at == pytest.approx(10)
    assert asked(recipe(), {}, waterline=("1 in", "0.1 in")).waterline == Waterline(25.4, 2.54)


def test_a_wish_takes_the_place_of_the_recipes_wishes_and_leaves_its_means():
    own = Goal(state="floats", reserve=3.0, pitch=0.1, metal="tin", bores="one")
    assert asked(recipe(own), {"suspends": "12 degC"}) == Goal(suspends_at=12.0, metal="tin", bores="one")
    assert asked(recipe(own), {"metal": "bismuth"}) == Goal("floats", 3.0, pitch=0.1, metal="bismuth", bores="one")


def test_the_recipes_own_goal_will_do():
    assert asked(recipe(Goal(reserve=2.0)), {}) == Goal(reserve=2.0)


def test_nothing_asked_is_an_error_with_an_example():
    assert refusal({}).startswith("command line: nothing is asked for.\n    one of --reserve")


def test_a_mistake_names_the_option():
    assert refusal({"sinks": "3 g"}).splitlines()[0] == ('command line: --sinks = "3 g": a mass where a speed belongs.')


def test_two_lifts_cannot_both_be_had():
    assert "goal.reserve says how much lift already" in refusal({"reserve": "2 g", "sinks": "0.1 m/s"})


def test_three_wishes_are_one_too_many():
    text = refusal({"reserve": "2 g", "pitch": "3 deg"}, waterline=("1 in", "0"))
    assert "lift and pitch say where the water stands already" in text


def test_a_metal_that_nobody_knows_is_refused_with_the_nearest():
    assert 'Did you mean "bismuth"?' in refusal({"reserve": "2 g", "metal": "bismut"})


def test_a_recipes_goal_is_read_and_its_mistakes_are_told(tmp_path, params):
    text = (params / "tarn-perch-70.toml").read_text()
    path = tmp_path / "perch.toml"
    path.write_text(text)
    goal = read_recipe(path).goal
    assert goal == Goal("floats", 2.6, pitch=radians(6), bores="one", drills=(4.7625, 6.35, 7.9375))
    path.write_text(text.replace('reserve = "2.6 g"', 'reserve = "-1 g"').replace('"5/16"]', '"5/17"]'))
    with pytest.raises(InputError) as caught:
        read_recipe(path)
    assert 'goal.reserve = "-1 g": does not go with float = "floats".' in str(caught.value)
    assert "no such drill is sold" in str(caught.value)
