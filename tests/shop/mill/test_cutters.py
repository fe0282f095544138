"""Feeds and speeds for the router that the recipe's ``[shop]`` describes; worked by hand beside each."""

import pytest

from bodygen.recipe.model import Shop
from bodygen.shop.mill.cutters import cutter_named, default_machine, feeds_of, machine_of, material_named
from bodygen.tables import load

WOOD = material_named("wood")


def test_a_shop_that_says_nothing_has_the_usual_machine():
    assert machine_of(Shop()) == default_machine()


@pytest.mark.parametrize(("dial", "speed"), [((10000.0, 14000.0, 22000.0), 14000), ((9000.0,), 9000), ((), 16000)])
def test_the_dials_nearest_speed_is_taken_and_the_feed_goes_with_it(dial, speed):
    """A 1/8 in cutter in wood would turn at the usual 16000: 14000 is 1.14 times slower, 22000 1.38 times faster."""
    found, checks = feeds_of(cutter_named("flat_3"), WOOD, machine_of(Shop(spindle_speeds=dial)))
    assert found.speed == speed
    assert found.feed == pytest.approx(speed * 2 * 0.014 * 3.175)
    assert not checks


def test_the_machines_fastest_feed_bounds_the_feed_and_slows_the_spindle():
    """6 mm in wood: a chip of 0.084 mm at two flutes and 1500 mm/min is 8929 turns a minute."""
    found, checks = feeds_of(cutter_named("flat_6"), WOOD, machine_of(Shop(fastest_feed=1500.0)))
    assert (found.speed, found.feed) == (8929, pytest.approx(1500.0))
    assert not checks


def test_a_chip_too_thin_for_the_only_speed_is_doubted_where_the_feed_is_bound():
    """At 20000 turns and 400 mm/min a 6 mm cutter takes 0.010 mm; the table's least is 0.036 mm."""
    shop = Shop(spindle_speeds=(20000.0,), fastest_feed=400.0)
    found, checks = feeds_of(cutter_named("flat_6"), WOOD, machine_of(shop))
    assert [f.where for f in checks] == ["shop.fastest_feed"]
    assert (checks[0].value, checks[0].limit) == (pytest.approx(0.01), pytest.approx(0.036))
    assert "flat end mill 6 mm in wood rubs and burns" in checks[0].remedy
    assert found.plunge == pytest.approx(0.35 * 400.0)


def test_the_fastest_plunge_bounds_the_plunge_alone():
    found, _ = feeds_of(cutter_named("flat_3"), WOOD, machine_of(Shop(fastest_plunge=200.0)))
    assert (found.plunge, found.feed) == (200.0, pytest.approx(1422.4))


@pytest.mark.parametrize("key", load("cutters")["cutter"])
@pytest.mark.parametrize("material", load("cutters")["material"])
def test_every_cutter_has_a_sound_chip_in_every_material_on_the_usual_machine(key, material):
    assert not feeds_of(cutter_named(key), material_named(material), default_machine())[1]


def test_every_cutter_has_a_place_of_its_own_in_the_tool_list():
    numbers = [row["number"] for row in load("cutters")["cutter"].values()]
    assert len(set(numbers)) == len(numbers)
