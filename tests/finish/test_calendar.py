"""The calendar of coats: hours kept, days kept, nothing in the wrong order, the ledger's own weights on every date."""

from dataclasses import replace
from datetime import date, datetime, timedelta
from itertools import pairwise, product

import pytest

import bodygen
from bodygen import tables
from bodygen.finish.calendar import calendar
from bodygen.recipe.model import Coat, Finish, Mask, Paint, Recipe, Stations

FINISHES = tables.load("finishes")["finish"]
MOIST = "moisture_cure_urethane"


def bait(*coats, finish=Finish(), **more):  # noqa: B008  frozen data
    return Recipe("bar", "mm", Stations("bar.csv", ()), coats=coats, finish=finish, **more)


def by_day(recipe, start="2031-03-04"):
    return calendar(recipe, (), 3000.0, date.fromisoformat(start))


def coat(finish, stage="sealed", **more):
    return Coat(finish, None, stage, dries_as=finish, **more)


@pytest.fixture(scope="module")
def perch():
    return bodygen.assess(bodygen.read_recipe("params/tarn-perch-70.toml"))


@pytest.mark.parametrize(("under", "finish"), list(product(FINISHES, FINISHES)))
def test_every_pair_has_dates_or_a_reason_why_not(under, finish):
    made = by_day(bait(coat(under), coat(finish, "cleared")))
    if made.refused:
        assert not made.steps
        assert "must not go over" in made.refused
    else:
        first, second = made.steps
        assert first.at < second.at
        assert second.at - first.at >= timedelta(hours=second.after_h)
        assert made.water is None or second.at < made.water <= made.water_late


def test_a_calendar_by_hand():
    """Two coats of oil varnish, Tuesday and Thursday evenings from 19:00 to 22:00, worked out on paper.

    Touch 6, recoat 12 h, scuff after 24, sand 24, water 240 h, full 720 h (oil_varnish_times_page; common practice).
    """
    evenings = Finish("2031-12-30", days=("Tuesday", "Thursday"), opens=19.0, hours=3.0)  # a Tuesday
    made = by_day(bait(coat("oil_polyurethane", "cleared", coats=2), finish=evenings), "2031-12-30")
    first, second = made.steps
    assert first.at == datetime.fromisoformat("2031-12-30 19:00")
    assert second.at == datetime.fromisoformat("2032-01-01 19:00")
    assert "scuff" in second.first  # 48 h are more than 24
    assert made.water == datetime.fromisoformat("2032-01-11 19:00")
    assert made.full == datetime.fromisoformat("2032-01-31 19:00")


@pytest.mark.parametrize("start", ["2031-01-31", "2032-02-28", "2031-02-28", "2031-12-31"])
def test_dates_go_on_over_month_and_year_ends(start):
    """Epoxy over epoxy waits 8 h, scuffed after 24; water after 120 h: dates by the standard library's own sums."""
    made = by_day(bait(coat("two_part_epoxy_slow", "cleared", coats=2)), start)
    begin = datetime.fromisoformat(f"{start} 09:00")
    assert [step.at for step in made.steps] == [begin, begin + timedelta(hours=8)]
    assert made.water == begin + timedelta(hours=8 + 120)


def test_masks_eyes_lip_hooks_and_water_come_in_their_order(perch):
    steps = perch.calendar.steps
    names = [step.what for step in steps]
    painted = [name for name in names if name.startswith("perch pattern")]
    assert [name.rpartition("mask ")[2] for name in painted if "mask" in name] == [
        *("belly", "perch bars", "gill", "eye ring")
    ]
    order = [painted[-1], "eyes", "clear, 1 of 4", "glue the lip into its slot", names[-1]]
    assert [names.index(name) for name in order] == sorted(names.index(name) for name in order)
    assert "treble" in names[-1]
    assert all(earlier.at < later.at for earlier, later in pairwise(steps))
    assert perch.calendar.water > steps[-1].at


def test_masks_are_painted_in_their_order_where_no_paint_says_more():
    masks = (Mask("back", "dark back"), Mask("bars", "bars"))
    made = by_day(bait(coat("acrylic_paint", "painted"), masks=masks))
    assert [step.what.partition(": ")[2] for step in made.steps] == [
        *("ground", "through the mask dark back", "through the mask bars")
    ]


def test_layers_say_their_colours_by_name():
    paints = (Paint("#6b8e23", "#6b8e23"), Paint("#010203", "eyes", region="back"))
    made = by_day(bait(coat("acrylic_paint", "painted"), paints=paints))
    assert [step.what for step in made.steps] == [
        "acrylic_paint: olivedrab, all over",
        "acrylic_paint: eyes (#010203), on the back",
    ]


def test_the_bench_is_never_asked_for_when_it_is_closed(perch):
    for step in perch.calendar.steps:
        assert step.at.strftime("%a") in {"Tue", "Thu", "Sat"}
        assert 18.5 <= step.at.hour + step.at.minute / 60 < 21.5


def test_weights_on_the_dates_are_the_ledgers_own(perch):
    stands = {step.what: step.stands for step in perch.calendar.steps}
    stages = {stage.name: stage.mass for stage in perch.weighed.stages}
    last = [name for name in stands if name.startswith("clear")][-1]
    for name, stage in (("seal, 2 of 2", "sealed"), ("eyes", "painted"), (last, "cleared")):
        assert stands[name].mass_g == pytest.approx(stages[stage], rel=1e-12)
    assert perch.calendar.steps[-1].stands.mass_g == pytest.approx(perch.total.mass, rel=1e-12)
    assert perch.calendar.steps[-1].stands.displaced_cm3 == pytest.approx(perch.total.displaced / 1000, rel=1e-12)
    films = [s.film_mm for s in stands.values() if s is not None]
    assert films == sorted(films)
    clear = stands[last].film_mm - stands["eyes"].film_mm
    assert clear == pytest.approx(4 * 0.0254, rel=1e-12)  # four coats of a mil, as the recipe says


@pytest.mark.parametrize("glue", [None, "two_part_epoxy_slow", "two_part_epoxy_fast"])
def test_hooks_wait_for_the_glue_that_the_lip_is_set_in(perch, glue):
    """A bench that never closes, at 20 degC: the table's own hours until it can be handled, to the quarter."""
    open_day = Finish("2031-03-04", hours=24.0, lip_glue=glue)
    made = calendar(replace(perch.recipe, finish=open_day), perch.weighed.items, 3000.0)
    (lip,) = (step.at for step in made.steps if step.what == "glue the lip into its slot")
    waited = (made.steps[-1].at - lip) / timedelta(hours=1)
    sets = FINISHES[glue or tables.load("finishes")["bench"]["glue"]]["sand_h"][1]
    assert waited == pytest.approx(sets, abs=0.25)


def test_a_wait_that_is_too_short_is_kept_and_said():
    day_and_night = Finish(hours=24.0)
    made = by_day(bait(coat("two_part_epoxy_slow"), coat("lacquer", "cleared", after_h=12), finish=day_and_night))
    assert made.steps[1].at - made.steps[0].at == timedelta(hours=12)
    assert made.steps[1].early


def test_an_acrylic_left_uncovered_gets_no_day_in_the_water():
    made = by_day(bait(coat("lacquer"), coat("acrylic_paint", "painted")))
    assert made.water is None
    assert made.full is not None


def test_cold_takes_longer_and_cautions_stand_at_their_step():
    warm, cold = (
        by_day(bait(coat(MOIST, "cleared", coats=3), finish=Finish(temperature=degrees))) for degrees in (20.0, 11.0)
    )
    assert cold.water > warm.water
    assert all("isocyanate" in step.cautions for step in warm.steps)


def test_without_a_day_or_a_coat_there_is_no_calendar():
    assert calendar(bait(coat("lacquer")), (), 3000.0) is None
    assert by_day(bait()) is None


def test_a_coat_of_no_known_class_is_named():
    refused = by_day(bait(Coat("putty", "filler_putty", "sealed"))).refused
    assert refused == "nobody says how coat[1] dries: say dries_as"


def test_the_clock_is_not_asked(perch):
    again = bodygen.assess(replace(perch.recipe))
    assert again.calendar == perch.calendar
