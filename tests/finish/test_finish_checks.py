"""Doubts about coats, one design on either side of each limit."""

import pytest

from bodygen import tables
from bodygen.finish.checks import dipped, finish_findings
from bodygen.recipe.model import Coat, Finish, Recipe, Stations


def coat(finish, stage="sealed", **more):
    return Coat(finish, None, stage, dries_as=finish, **more)


def findings(*coats, **air):
    recipe = Recipe("bar", "mm", Stations("bar.csv", ()), coats=coats, finish=Finish(**air) if air else None)
    return {finding.code: finding for finding in finish_findings(recipe)}


def test_solvent_over_uncured_epoxy_is_told_with_its_hours():
    """common practice: lacquer only over cured, scuffed epoxy; 120 h is the table's likely hour for water."""
    epoxy = coat("two_part_epoxy_slow")
    found = findings(epoxy, coat("lacquer", "cleared", after_h=24))["coat-too-soon"]
    assert (found.value, found.limit, found.unit) == (24, 120.0, "h")
    assert found.where == "coat[2].after_h"
    assert "coat-too-soon" not in findings(epoxy, coat("lacquer", "cleared", after_h=120))
    assert "coat-too-soon" not in findings(epoxy, coat("lacquer", "cleared"))


def test_varnish_too_early_on_epoxy_names_the_blush_and_who_wrote_of_it():
    found = findings(coat("two_part_epoxy_slow"), coat("oil_polyurethane", "cleared", after_h=24))["coat-too-soon"]
    assert "blush" in found.remedy
    assert found.source == "epoxy_recoat_page"


def test_a_colder_bench_makes_the_same_wait_too_short():
    pair = coat("two_part_epoxy_slow"), coat("two_part_epoxy_slow", "cleared", after_h=9)
    assert "coat-too-soon" not in findings(*pair, temperature=20.0)
    assert findings(*pair, temperature=16.0)["coat-too-soon"].limit == pytest.approx(8 * 2**0.4)


def test_a_coat_that_spoils_the_one_below_is_told():
    assert "wrinkle" in findings(coat("oil_polyurethane"), coat("lacquer", "cleared"))["coat-over"].remedy
    assert "bare wood" in findings(coat("uv_resin"))["coat-over"].remedy
    assert "small repairs" in findings(coat("lacquer"), coat("cyanoacrylate", "cleared"))["coat-over"].remedy
    assert "coat-over" not in findings(coat("lacquer"), coat("oil_polyurethane", "cleared"))


@pytest.mark.parametrize("finish", tables.load("finishes")["temperature"]["floor_c"])
def test_a_bench_too_cold_is_told(finish):
    floor = tables.load("finishes")["temperature"]["floor_c"][finish]
    assert findings(coat(finish), temperature=floor - 0.1)["coat-cold"].limit == floor
    assert "coat-cold" not in findings(coat(finish), temperature=floor)


@pytest.mark.parametrize(
    ("finish", "damp", "right"),
    [("lacquer", 71, 70), ("shellac", 71, 70), ("moisture_cure_urethane", 81, 80), ("moisture_cure_urethane", 29, 30)],
)
def test_air_too_damp_or_too_dry_is_told(finish, damp, right):
    assert findings(coat(finish), humidity=damp)["coat-damp"].limit == right
    assert "coat-damp" not in findings(coat(finish), humidity=right)


def test_paint_without_a_clear_coat_is_told():
    pattern = coat("acrylic_paint", "painted")
    assert findings(coat("lacquer"), pattern)["coat-uncovered"].where == "coat[2]"
    assert "coat-uncovered" not in findings(coat("lacquer"), pattern, coat("waterborne_polyurethane", "cleared"))


def test_a_coat_of_no_known_class_is_told_where_a_calendar_is_asked_for():
    putty = Coat("putty", "filler_putty", "sealed")
    assert findings(putty, start="2031-03-04")["coat-class"].where == "coat[1]"
    assert "coat-class" not in findings(putty)


def test_a_dip_that_leaves_another_film_is_told_with_the_speed_that_would_do():
    dip = {"stage": "cleared", "viscosity": "thin_varnish"}
    row = tables.load("coatings")["coat"]["oil_polyurethane_dip"]
    thick = Coat("dip", "oil_polyurethane_dip", draw_speed=0.02, **dip)
    found = findings(thick)["dip-film"]
    assert found.value > found.limit == pytest.approx(1000 * row["dry_mm"][2])
    speed = float(found.remedy.partition("draw it out at ")[2].split()[0]) / 1000
    told = Coat("dip", "oil_polyurethane_dip", draw_speed=speed, **dip)
    assert dipped(told).dry == pytest.approx(row["dry_mm"][1], rel=0.05)  # the speed is told in two digits
    assert "dip-film" not in findings(told)
    assert "dip-film" not in findings(
        Coat("dip", "oil_polyurethane_dip", film=dipped(thick).dry, draw_speed=0.02, **dip)
    )
