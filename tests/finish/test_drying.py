"""Hours of a finish at a temperature and humidity, against the sheets and rules that were read."""

import pytest

from bodygen import tables
from bodygen.finish.drying import Air, class_named, drying, vapour_hpa

TABLE = tables.load("finishes")
FINISHES = TABLE["finish"]
USUAL = Air(20.0, 50.0)


@pytest.mark.parametrize("name", FINISHES)
def test_hours_grow_from_touch_to_full_and_their_ranges_run_upwards(name):
    row = FINISHES[name]
    for key, value in row.items():
        if key.endswith("_h") and isinstance(value, list):
            assert value == sorted(value), key
    for air in (USUAL, Air(12.0, 75.0), Air(30.0, 40.0)):
        found = drying(name, air)
        assert found.touch <= found.dry
        assert found.recoat_min <= found.sand
        assert found.water is None or found.touch < found.water
        assert found.sand <= found.full
        assert found.recoat_max is None or found.recoat_min < found.recoat_max


@pytest.mark.parametrize("degrees", [20.0, 21.5, 23.0])
def test_the_tables_own_air_gives_the_tables_likely_hours(degrees):
    found, row = drying("oil_polyurethane", Air(degrees, 50.0)), FINISHES["oil_polyurethane"]
    assert (found.touch, found.recoat_max, found.full) == (row["touch_h"][1], row["recoat_max_h"][1], row["full_h"][1])


@pytest.mark.parametrize(("degrees", "days"), [(10.0, 8), (20.0, 4), (33.0, 2)])
def test_a_solvent_epoxy_cures_as_its_own_chart_says(degrees, days):
    """epoxy_cure_chart: full cure 8, 4, 2 days at 10, 20, 30 C; the table's own hours hold up to 23 C, so 33 C here."""
    assert drying("penetrating_epoxy", Air(degrees, 50.0)).full == pytest.approx(24 * days)


def test_two_part_urethane_is_as_slow_when_cold_as_its_data_sheet_says():
    """sheet_2k_urethane: touch 12, 8, 4, 2 h at 5, 10, 23, 35 C. The sheet's own factor is 1.8 per 10 C for our 2."""
    sheet = FINISHES["two_part_urethane"]["sheet_by_temperature"]
    for degrees, hours in zip(sheet["t_c"], sheet["touch_h"], strict=True):
        assert drying("two_part_urethane", Air(degrees, 50.0)).touch == pytest.approx(hours, rel=0.15)


@pytest.mark.parametrize(("degrees", "grams"), [(20.0, 17.28), (10.0, 9.4), (30.0, 30.4)])
def test_saturated_air_holds_the_water_that_handbooks_say(degrees, grams):
    """17.28 g/m3 at 20 C as read (hard_plastics_glossary), 9.4 and 30.4 from memory; ideal gases, so 1 %."""
    held = vapour_hpa(Air(degrees, 100.0)) * 100 * 18.015 / (8.314 * (273.15 + degrees))
    assert held == pytest.approx(grams, rel=0.01)


def test_moisture_cure_waits_for_water_or_for_warmth_never_for_both_at_once():
    name, usual = "moisture_cure_urethane", drying("moisture_cure_urethane", USUAL).touch
    assert drying(name, Air(20.0, 25.0)).touch == pytest.approx(2 * usual)  # half of the water
    cold = drying(name, Air(10.0, 50.0)).touch / usual
    assert cold == pytest.approx(max(2.0, 23.327 / 12.26), rel=0.01)  # Ps at 20 and 10 C [hPa], handbook figures
    assert drying(name, Air(20.0, 80.0)).touch == usual  # damper than usual hastens nothing that the table knows


@pytest.mark.parametrize("air", [Air(15.0, 50.0), Air(20.0, 65.0)])
def test_what_evaporates_takes_its_slowest_hours_in_cold_or_damp_air(air):
    assert drying("waterborne_polyurethane", air).recoat_min == FINISHES["waterborne_polyurethane"]["recoat_min_h"][2]
    assert drying("lacquer", USUAL).recoat_min == FINISHES["lacquer"]["recoat_min_h"][1]


def test_thick_coats_wait_longer_where_they_dry_from_the_surface():
    assert drying("oil_polyurethane", USUAL, 2.0).touch == 2 * drying("oil_polyurethane", USUAL).touch
    assert drying("oil_polyurethane", USUAL, 0.5) == drying("oil_polyurethane", USUAL)
    assert drying("two_part_epoxy_slow", USUAL, 2.0) == drying("two_part_epoxy_slow", USUAL)


def test_finishes_find_their_class_and_no_class_names_a_finish_that_is_not_there():
    known = tables.load("coatings")["coat"]
    assert {coat for row in FINISHES.values() for coat in row["coat"]} <= set(known)
    assert {name for name in known if class_named(name, None) is None} == {"filler_putty"}
    assert class_named(None, None) is None
