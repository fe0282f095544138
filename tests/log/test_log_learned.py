"""What builds teach, against figures worked out by hand. All builds here are made up."""

from dataclasses import replace
from math import pi, sqrt

import numpy as np
import pytest

from bodygen.form.integrals import SkinIntegrals, VolumeIntegrals
from bodygen.log.learned import learned, ratios, shrunk
from bodygen.log.record import Build, Reading, WaterTest
from bodygen.recipe.model import Bore, Coat, Fill, Recipe, Stations, Wood
from bodygen.weights.calibrate import calibrate
from bodygen.weights.expected import Expectation, expectations
from bodygen.weights.item import total
from bodygen.weights.learned import Learned
from bodygen.weights.measured import BoreCavity, Measured

DAY = "2031-03-09"
WOOD, METAL, SEAL = "wood: basswood", "metal: lead_hand_poured", "coats: sealed"
EXPECTED = (
    Expectation("blank", WOOD, 30.0, 3.0),
    Expectation("drilled", WOOD, 10.0, 1.0),
    Expectation("hangers", "", 1.0, 0.0),
    Expectation("ballast", METAL, 8.0, 0.08),
    Expectation("ballast", "", 0.2, 0.0),
    Expectation("sealed", SEAL, 0.5, 0.15),
)


def build(number, weighed, recipe="perch", board="", expected=EXPECTED):
    readings = tuple(Reading(stage, mass, DAY) for stage, mass in weighed.items())
    return Build(number, recipe, "a", "0", DAY, board, expected, readings)


def values(of):
    return {row.lot: row.value for row in ratios(of)[0]}


def test_a_gain_less_its_other_parts_is_the_lot_s():
    """(19.1 - 11.2 - 0.2) / 8 of the lead, (19.7 - 19.1) / 0.5 of the seal, (11.2 - 1.0) / 10 of the board."""
    found = values(build(1, {"hangers": 11.2, "ballast": 19.1, "sealed": 19.7}))
    assert found == pytest.approx({WOOD: 1.02, METAL: 0.9625, SEAL: 1.2})


def test_the_squared_blank_speaks_for_the_board_before_the_drilled_body_does():
    assert values(build(1, {"blank": 33.0, "drilled": 10.2}))[WOOD] == pytest.approx(1.1)


def test_a_stage_that_was_not_weighed_leaves_the_next_gain_readable_if_one_lot_is_in_it():
    """Hangers not weighed: the gain from drilled to ballast is 1.0 g of them, 0.2 g of putty and the lead."""
    assert values(build(1, {"drilled": 10.0, "ballast": 19.0}))[METAL] == pytest.approx(7.8 / 8)


def test_lots_weighed_together_teach_nothing_and_that_is_said():
    rows, checks = ratios(build(4, {"drilled": 10.0, "sealed": 19.9}))
    assert [row.lot for row in rows] == [WOOD]
    assert checks == [f"build 4, sealed: {SEAL} and {METAL} were weighed together: left out"]


def test_a_gain_that_cannot_be_is_left_out_and_that_is_said():
    rows, checks = ratios(build(4, {"ballast": 19.0, "sealed": 18.0}))
    assert SEAL not in {row.lot for row in rows}
    assert checks[-1] == "build 4, sealed: -1.00 g went on where 0.00 g of other parts did: left out"


def floated(number, ratio, sd, weighed=(), **more):
    test = WaterTest(DAY, "floats", 15.0, 9.0, 3.6, wood_lot=WOOD, wood_ratio=ratio, wood_sd=sd, **more)
    return replace(
        build(number, dict(weighed)), water_tests=(WaterTest(DAY, "floats"), test, replace(test, wood_ratio=3.0))
    )


def test_a_tub_speaks_for_the_wood_of_a_build_that_was_not_weighed():
    """As a weigh-in of that ratio would, with the tub's noise; what was floated again may have been trimmed by then."""
    found = learned([floated(1, 1.1, 0.03), floated(2, 1.2, 0.03)], EXPECTED, "perch").of(WOOD)
    assert found == shrunk(WOOD, [1.1, 1.2], 0.1, 0.03)


def test_where_the_wood_was_weighed_the_tub_is_not_counted_besides():
    weighed = [build(n, {"drilled": 10.5 + n / 10}) for n in (1, 2)]
    both = [floated(n, 0.8, 0.03, {"drilled": 10.5 + n / 10}) for n in (1, 2)]
    assert learned(both, EXPECTED, "perch") == learned(weighed, EXPECTED, "perch")


def test_a_water_test_that_told_nothing_of_the_wood_teaches_no_factor():
    dry = [build(n, {"ballast": 19.0}) for n in (1, 2)]
    wet = [replace(one, water_tests=(WaterTest(DAY, "floats", 15.0, 9.0, 3.6),)) for one in dry]
    assert learned(wet, EXPECTED, "perch") == learned(dry, EXPECTED, "perch")


def test_one_build_teaches_nothing():
    assert learned([build(1, {"drilled": 11.0})], EXPECTED, "perch").factors == ()


def test_the_factor_is_the_conjugate_normal_one():
    """By hand: tau 0.02, ratios 0.95 and 0.97, no scale noise.

    s^2 = 0.0002; sigma^2 = (2 * 0.0004 + 0.0002) / 3 = 1/3000; w = 0.0004 / (0.0004 + 1/6000) = 12/17; factor
    1 - 0.04 * 12/17; next build sqrt(1/3000 + 12/17 / 6000). Rule: Gelman et al. 2013, 2.5 and 2.6 (from memory).
    """
    factor = shrunk(METAL, [0.95, 0.97], 0.02, 0.0)
    assert factor.trust == pytest.approx(12 / 17)
    assert factor.value == pytest.approx(1 - 0.04 * 12 / 17)
    assert factor.sd == pytest.approx(sqrt(1 / 3000 + 12 / 17 / 6000))


def test_the_posterior_mean_agrees_with_the_product_of_densities_on_a_grid():
    """The same posterior by brute force: prior times likelihood at 40,001 values of the bench's own ratio."""
    data, tau = [0.93, 0.98, 0.95, 0.99], 0.03
    factor = shrunk(METAL, data, tau, 0.004)
    variance = (2 * (tau**2 + 0.004**2) + 3 * np.var(data, ddof=1)) / 5
    mu = np.linspace(0.7, 1.3, 40001)
    weight = np.exp(-((mu - 1) ** 2) / (2 * tau**2) - sum((x - mu) ** 2 for x in data) / (2 * variance))
    assert factor.value == pytest.approx(float((weight * mu).sum() / weight.sum()), abs=1e-9)


def test_many_builds_are_believed_and_few_less():
    trusts = [shrunk(METAL, [0.96, 0.97] * n, 0.02, 0.0).trust for n in (1, 2, 5, 50)]
    assert trusts == sorted(trusts)
    assert trusts[-1] > 0.99


def test_a_coarse_scale_is_believed_less():
    assert shrunk(SEAL, [1.2, 1.3], 0.3, 0.4).trust < shrunk(SEAL, [1.2, 1.3], 0.3, 0.02).trust


def test_pours_are_learned_from_the_recipe_s_own_builds_and_wood_from_every_bait_of_the_species():
    log = [build(1, {"drilled": 11.0, "ballast": 19.9}), build(2, {"drilled": 11.4}, recipe="roach")]
    found = learned(log, EXPECTED, "perch")
    assert [f.lot for f in found.factors] == [WOOD]
    assert found.factors[0].mean == pytest.approx(1.12)


def test_ten_baits_of_one_board_are_one_board():
    log = [build(i, {"drilled": 12.0}, board="plank 1") for i in range(10)] + [
        build(11, {"drilled": 10.0}, board="plank 2")
    ]
    (factor,) = learned(log, EXPECTED, "perch").factors
    assert factor.mean == pytest.approx(1.1)
    assert factor.builds == 11


def test_a_board_that_was_used_before_speaks_for_itself():
    log = [build(i, {"drilled": 12.0}, board="plank 1") for i in (1, 2)] + [build(3, {"drilled": 9.0}, board="plank 2")]
    (factor,) = learned(log, EXPECTED, "perch", board="plank 1").factors
    assert factor.mean == pytest.approx(1.2)
    assert factor.where == "plank 1"
    assert "2 builds of board plank 1" in factor.ground


def test_builds_of_an_earlier_recipe_are_held_against_what_was_expected_then():
    """A deeper bore since: what the first build's lead was off by stays its own."""
    earlier = tuple(Expectation(e.stage, e.lot, e.mass / (2 if e.lot == METAL else 1), e.sd) for e in EXPECTED)
    log = [build(1, {"hangers": 11.0, "ballast": 15.0}, expected=earlier), build(2, {"hangers": 11.0, "ballast": 18.8})]
    factor = learned(log, EXPECTED, "perch").of(METAL)
    assert factor.mean == pytest.approx((3.8 / 4 + 7.6 / 8) / 2)


# --- and the next ledger starts from it ---


def solid(volume, x, z):
    """Some volume round a point of the mid-plane; its inertia is made up, which a mass never asks for."""
    return VolumeIntegrals(volume, np.array([x, 0.0, z]), np.eye(3))


@pytest.fixture
def measured():
    """A bar 80 x 20 x 30 mm with a bore 8 mm wide, 10 deep, 8 of it filled."""
    mouth = np.array([30.0, 0.0, -15.0])
    cavity = BoreCavity(0, False, mouth, solid(160 * pi, 30.0, -10.0), solid(128 * pi, 30.0, -9.0))
    skin = SkinIntegrals(9200.0, np.array([40.0, 0.0, 0.0]), np.diag([1.4e6, 6.0e6, 5.5e6]))
    return Measured(solid(48000.0, 40.0, 0.0), solid(48000 - 160 * pi, 40.0, 0.0), skin, (cavity,))


@pytest.fixture
def recipe():
    fill = Fill("lead", "poured")
    bore = Bore("ballast", "ballast", "belly", 8.0, 10.0, x=30.0, tip="flat", fill=fill)
    coats = (
        Coat("seal", "penetrating_epoxy_sealer", "sealed"),
        Coat("clear", "two_part_epoxy", "cleared", coats=2, film=0.15),
        Coat("paint", "acrylic_pattern_whole", "painted", gain=0.4),
    )
    return Recipe("perch", "mm", Stations("b.csv", ()), Wood("basswood"), bores=(bore,), coats=coats)


def test_expectations_add_up_to_what_the_scale_should_read(recipe, measured):
    rows = expectations(recipe, measured)
    stages = {stage.name: stage.mass for stage in calibrate(recipe, measured).stages}
    assert sum(e.mass for e in rows if e.stage == "blank") == pytest.approx(stages["blank"])
    assert sum(e.mass for e in rows if e.stage != "blank") == pytest.approx(stages["cleared"])
    assert {e.lot for e in rows} == {"", WOOD, METAL, SEAL, "coats: cleared"}  # the paint was weighed
    assert all(e.sd > 0 for e in rows if e.lot)


def test_builds_that_came_out_heavy_move_the_next_ledger(recipe, measured):
    """Ten builds 4 % light in lead, 50 % heavy in seal and clear, 8 % heavy in wood: the next one is expected so."""
    now = expectations(recipe, measured)
    off = {WOOD: 1.08, METAL: 0.96, SEAL: 1.5, "coats: cleared": 1.5}
    weighed, on = {}, 0.0
    for stage in ("drilled", "ballast", "sealed", "painted", "cleared"):
        on += sum(e.mass * off.get(e.lot, 1.0) for e in now if e.stage == stage)
        weighed[stage] = on
    log = [build(i, weighed, expected=now) for i in range(10)]
    known = learned(log, now, "perch")
    assert {f.lot: f.mean for f in known.factors} == pytest.approx(off)
    before, after = calibrate(recipe, measured), calibrate(recipe, measured, learned=known)
    for old, new in zip(before.items, after.items, strict=True):
        lot = WOOD if old.name == "wood" else old.lot
        factor = known.of(lot)
        assert new.mass == pytest.approx(old.mass * (factor.value if factor else 1.0)), old.name
        assert new.displaces == pytest.approx(old.displaces * (factor.value if factor and old.volume_follows else 1.0))
    assert total(after.items).mass == pytest.approx(weighed["cleared"], rel=0.01)
    assert {f.where for f in after.findings if f.code == "learned"} == set(off)
    assert all("learned from 10 builds" in f.remedy for f in after.findings if f.code == "learned")
    assert after.density.cov < before.density.cov


def test_a_given_density_is_not_corrected(recipe, measured):
    known = Learned((shrunk(WOOD, [1.2, 1.2], 0.1, 0.0),))
    given = replace(recipe, wood=Wood("basswood", density_g_cm3=0.4))
    assert calibrate(given, measured, learned=known).density.g_cm3 == 0.4
    assert not [f for f in calibrate(given, measured, learned=known).findings if f.code == "learned"]


def test_nothing_learned_changes_nothing(recipe, measured):
    plain, empty = calibrate(recipe, measured), calibrate(recipe, measured, learned=Learned())
    assert [i.mass for i in plain.items] == [i.mass for i in empty.items]
    assert plain.findings == empty.findings
