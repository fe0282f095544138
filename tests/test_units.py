"""Rulers and scales: exact reading, refusals as whole texts, and what is shown."""

from contextlib import suppress
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bodygen import tables, units

LENGTH_ACCEPTED = 'a length such as "2-3/4 in", "3/8\\"", "9.5 mm" or "1.2 cm"; a bare number is in mm'


@pytest.mark.parametrize(
    ("written", "millimetres"),
    [
        ("2-3/4 in", 69.85),
        ("2 3/4 in", 69.85),
        ('2 3/4"', 69.85),
        ("2¾ in", 69.85),
        ("2-3/4 inches", 69.85),
        ("3/8 in", 9.525),
        ('3/8"', 9.525),
        ("3/8″", 9.525),
        ("-1/4 in", -6.35),
        ("−1-1/4 in", -31.75),
        (".5 in", 12.7),
        ("9.5 mm", 9.5),
        ("9.5mm", 9.5),
        ("1.2 cm", 12.0),
        ("0.5 m", 500.0),
        ("1.5 mil", 0.0381),
        ("25 um", 0.025),
        ("2 ft", 609.6),
        ("1e2 mm", 100.0),
        ("7", 7.0),
        (7, 7.0),
        (0.1, 0.1),
        (Decimal("0.1"), 0.1),
        (Fraction(1, 3), 1 / 3),
    ],
)
def test_a_length_reads_as_the_nearest_float_to_its_exact_value(written, millimetres):
    assert units.length(written) == millimetres


def test_a_bare_number_takes_the_rulers_unit():
    assert units.length(Decimal("2.75"), "in") == 69.85
    assert units.length("2-3/4", "in") == 69.85


@given(st.integers(-64 * 400, 64 * 400))
def test_every_64th_of_an_inch_survives_showing_and_reading(count):
    text = units.length_text(float(count * units.INCH / 64), "in").split(" (")[0]
    assert units.fraction(text, "length", "mm") == count * units.INCH / 64


@given(st.decimals(-1000, 1000, places=6))
def test_a_decimal_number_is_read_without_rounding(number):
    assert units.fraction(number, "length", "mm") == Fraction(number)
    assert units.fraction(f"{number} mm", "length", "mm") == Fraction(number)


@given(st.text(max_size=50))
def test_any_text_is_a_length_or_a_refusal(text):
    with suppress(units.UnitError):
        assert isinstance(units.length(text), float)


@pytest.mark.parametrize(
    ("written", "problem"),
    [
        ("3 g", "a mass where a length belongs."),
        ("40 deg", "an angle where a length belongs."),
        ("40 %", "a percentage where a length belongs."),
        ("nan", "not a finite number."),
        ("-inf mm", "not a finite number."),
        (float("nan"), "not a finite number."),
        (Decimal("Infinity"), "not a finite number."),
        ("", "empty."),
        ("   ", "empty."),
        ("mm", "not a length."),
        ("12 3 mm", "not a length."),
        ("1.2.3 mm", "not a length."),
        ("1/0 in", "a fraction with 0 below the line."),
        ("1,5 mm", "a comma in a number; write a decimal point."),
        ("3 inche", '"inche" is no unit for a length. Did you mean "inches"?'),
        ("3 furlong", '"furlong" is no unit for a length.'),
        (True, "not a length."),
        ([1], "not a length."),
        (None, "not a length."),
        ("1e99999 mm", '"e99999 mm" is no unit for a length.'),
        (Decimal("1e999999"), "too far from any bench."),
        (10**60, "too far from any bench."),
    ],
)
def test_what_is_no_length_is_refused_with_its_reason(written, problem):
    with pytest.raises(units.UnitError) as refusal:
        units.length(written)
    assert refusal.value.problem == problem
    assert refusal.value.accepted == LENGTH_ACCEPTED


def test_units_agree_with_the_exact_definitions_of_nist_handbook_44():
    """NIST Handbook 44 appendix C, as kept with its source in sources.toml: inch, mil, pound, ounce, grain."""
    exact = tables.load("sources")["nist_hb44"]["values"]
    assert units.length("1 in") == exact["inch_mm"]
    assert units.length("1 mil") == exact["mil_mm"]
    assert units.mass("1 lb") == exact["pound_g"]
    assert units.mass("1 oz") == exact["ounce_avoirdupois_g"]
    assert units.mass("1 gr") == exact["grain_g"]


def test_a_pound_for_each_cubic_foot_is_nist_sp_811s():
    """NIST SP 811 appendix B.8: 16.01846 kg/m3."""
    assert 1000 * units.density("1 lb/ft3") == pytest.approx(
        tables.load("sources")["nist_sp811"]["values"]["lb_ft3_kg_m3"], rel=1e-15
    )


def test_other_quantities_read():
    assert units.mass("150 gr") == pytest.approx(9.7198365, rel=1e-15)
    assert units.mass("2 kg") == 2000
    assert units.mass("20 mg") == 0.02
    assert units.angle("180 deg") == units.angle("3.141592653589793 rad")
    assert units.angle(90) == pytest.approx(1.5707963267948966, rel=1e-15)
    assert units.temperature("32 degF") == 0
    assert units.temperature("212 °F") == 100
    assert units.temperature("11 °C") == 11
    assert units.temperature(-1) == -1
    assert units.speed("36 km/h") == 10
    assert units.speed("1 mph") == 0.44704
    assert units.speed("10 ft/s") == 3.048
    assert units.speed("50 cm/s") == units.speed("500 mm/s") == 0.5
    assert units.speed("10 in/s") == 0.254
    assert units.density("410 kg/m3") == 0.41
    assert units.percent("40 %") == 40
    assert units.percent(12) == 12


@pytest.mark.parametrize(
    ("millimetres", "shown"),
    [
        (69.85, "2-3/4 in (2.750)"),
        (25.8, "1-1/64 in (1.016)"),
        (-6.35, "-1/4 in (-0.250)"),
        (25.4, "1 in (1.000)"),
        (0.0, "0 in (0.000)"),
        (-0.01, "0 in (-0.000)"),
        (25.4 * 63.9999 / 64, "1 in (1.000)"),
    ],
)
def test_inches_show_as_the_nearest_64th_with_the_decimal_beside_it(millimetres, shown):
    assert units.length_text(millimetres, "in") == shown


def test_millimetres_grams_degrees_show_plainly():
    assert units.length_text(69.85, "mm") == "69.85 mm"
    assert units.length_text(-0.0, "mm") == "0.00 mm"
    assert units.mass_text(14.0, "mm") == "14.00 g"
    assert units.mass_text(14.0, "in") == "14.00 g (0.494 oz)"
    assert units.angle_text(0.7853981633974483) == "45.0 deg"
    assert units.temperature_text(15.0, "mm") == "15.0 degC"
    assert units.temperature_text(15.0, "in") == "59.0 degF (15.0 degC)"
