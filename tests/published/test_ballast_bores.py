"""Bores of metal against worked examples and the elementary formulas of cylinder and cone.

Lead's density is 11.34 g/cm^3 (CRC Handbook of Chemistry and Physics, from memory); an inch is 25.4 mm (NIST HB 44).
"""

from math import pi, radians, tan

import pytest

from bodygen.ballast.bore import bore_mass, bore_volume, depth_for_mass
from bodygen.tables import load
from bodygen.units import length

LEAD = 11.34


def test_three_eighths_by_half_an_inch_holds_0905_cm3_and_10_3_g_of_solid_lead():
    """pi / 4 x 0.9525^2 x 1.27 cm^3, by hand."""
    volume = bore_volume(length("3/8 in"), length("1/2 in")) / 1000
    assert volume == pytest.approx(pi / 4 * 0.9525**2 * 1.27, rel=1e-12)
    assert volume == pytest.approx(0.905, abs=5e-4)
    assert bore_mass(length("3/8 in"), length("1/2 in"), "lead") == pytest.approx(10.3, abs=0.05)


def test_fourteen_grams_in_one_bore_of_three_eighths_needs_about_068_in():
    """14 / 11.34 cm^3 over pi / 4 x 0.9525^2 cm^2, in inches."""
    by_hand = 14 / LEAD / (pi / 4 * 0.9525**2) / 2.54
    assert depth_for_mass(14, length("3/8 in"), "lead") / 25.4 == pytest.approx(by_hand, rel=1e-12)
    assert by_hand == pytest.approx(0.68, abs=0.005)


def test_five_sixteenths_by_half_an_inch_holds_7_1_g_and_ten_grams_need_070_in():
    """The insight that should come before the drill: 0.628 cm^3."""
    d, h = length("5/16 in"), length("1/2 in")
    assert bore_volume(d, h) / 1000 == pytest.approx(0.628, abs=5e-4)
    assert bore_mass(d, h, "lead") == pytest.approx(7.1, abs=0.05)
    assert depth_for_mass(10, d, "lead") / 25.4 == pytest.approx(0.70, abs=0.005)
    assert 2 * bore_mass(d, h, "lead") > 10 > bore_mass(d, h, "lead")  # or a second one


@pytest.mark.parametrize(
    ("depth_to", "key"), [("point", "lead_depth_to_point_g"), ("shoulder", "lead_depth_to_shoulder_g")]
)
def test_a_118_degree_point_makes_6_2_or_7_6_g_of_the_same_half_inch(depth_to, key):
    """Cone of half angle 59 degrees, (pi d^2 / 12) (d / 2) / tan 59; the worked bore of metals.toml."""
    d, h = length("5/16 in"), length("1/2 in")
    cone_height = d / 2 / tan(radians(59))
    straight = h if depth_to == "shoulder" else h - cone_height
    by_hand = pi * d**2 / 4 * (straight + cone_height / 3) / 1000 * LEAD
    mass = bore_mass(d, h, "lead", "twist", depth_to)
    assert mass == pytest.approx(by_hand, rel=1e-12)
    assert mass == pytest.approx(load("metals")["check_bore"][key], abs=5e-4)


def test_hand_poured_lead_fills_the_same_bore_with_less():
    table = load("metals")["check_bore"]
    poured = bore_mass(table["diameter_mm"], table["depth_mm"], "lead_hand_poured", "twist", "point")
    assert poured == pytest.approx(table["hand_poured_depth_to_point_g"], abs=5e-4)
