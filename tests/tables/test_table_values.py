"""Each value lies where such a thing can lie, and the checks written beside the tables come out."""

from fractions import Fraction
from itertools import pairwise
from math import pi, radians, tan

import pytest

from bodygen import tables
from bodygen.recipe.readers.items import label, sizes

WOODS = tables.load("woods")
DRILLS = tables.load("drills")
OUTLINES = tables.load("outlines")


@pytest.mark.parametrize("name", WOODS["wood"])
def test_a_wood_is_lighter_than_its_own_cell_wall_and_heavier_than_air(name):
    row = WOODS["wood"][name]
    assert 0.05 < row["gb"] <= row["g12"] < 1.1
    assert row["density_12_kg_m3"] == round(1000 * row["g12"] * 1.12, 1)
    assert 0 < row["shrinkage_vol_pct"] < 25
    assert 0 < row["cov"] < 0.5


def test_ambiguous_wood_names_lead_to_woods_of_the_table():
    for name, candidates in WOODS["ambiguous"].items():
        if name != "source":
            assert set(candidates) <= set(WOODS["wood"])


@pytest.mark.parametrize("name", ["western_redcedar", "basswood", "balsa"])
def test_the_anchored_density_formula_gives_the_tables_own_checks(name):
    """rho = 1000 G_M (1 + M/100), G_M = g12 (1 - 0.6 S)/(1 - S (30 - M)/30): the Wood Handbook's way, from 12 %."""
    row, checks = WOODS["wood"][name], WOODS["checks"]
    shrinkage = row["shrinkage_vol_pct"] / 100
    for moisture, density in zip(checks["moisture_pct"], checks[f"{name}_kg_m3"], strict=True):
        specific = row["g12"] * (1 - 0.6 * shrinkage) / (1 - shrinkage * (30 - moisture) / 30)
        assert 1000 * specific * (1 + moisture / 100) == pytest.approx(density, abs=0.006)


def test_fresh_water_follows_tanaka_and_stays_near_iapws_95():
    """Tanaka et al. 2001 (Metrologia 38) eq. 1 against the values in the table and IAPWS-95 (0.0012 kg/m3 at 40 C)."""
    fresh, checks = tables.load("water")["fresh"], tables.load("water")["fresh_checks"]
    a1, a2, a3, a4, a5 = (fresh[f"a{n}"] for n in range(1, 6))
    rows = zip(checks["t_c"], checks["rho_kg_m3"], checks["iapws95_kg_m3"], strict=True)
    for t, density, iapws in rows:
        assert a5 * (1 - (t + a1) ** 2 * (t + a2) / (a3 * (t + a4))) == pytest.approx(density, abs=0.00006)
        assert density == pytest.approx(iapws, abs=0.0013)


def test_the_salt_grid_grows_with_salt_everywhere():
    grid = tables.load("water")["salt_grid"]
    assert len(grid["rho_kg_m3"]) == len(grid["sa_g_kg"])
    assert all(len(row) == len(grid["t_c"]) for row in grid["rho_kg_m3"])
    for fresher, saltier in pairwise(grid["rho_kg_m3"]):
        assert all(a < b for a, b in zip(fresher, saltier, strict=True))


def test_fractional_drills_are_exact_in_millimetres_and_one_64th_apart():
    sizes = DRILLS["fractional_inch"]
    for inch, mm in zip(sizes["inch"], sizes["mm"], strict=True):
        assert Fraction(inch) * Fraction(254, 10) == Fraction(str(mm))
    steps = {Fraction(b) - Fraction(a) for a, b in pairwise(sizes["inch"])}
    assert steps == {Fraction(1, 64)}


def test_number_drills_shrink_as_their_number_grows():
    """The millimetres are rounded to 4 places in the table."""
    number = DRILLS["number"]
    assert all(
        inch * 25.4 == pytest.approx(mm, abs=5.1e-5) for inch, mm in zip(number["inch"], number["mm"], strict=True)
    )
    assert number["mm"] == sorted(number["mm"], reverse=True)


@pytest.mark.parametrize("check", DRILLS["point"]["checks"], ids=lambda check: check["d_in"])
def test_a_118_degree_point_has_the_cone_of_elementary_geometry(check):
    height = check["d_mm"] / 2 / tan(radians(59))
    assert height == pytest.approx(check["h_mm"], abs=6e-5)
    assert pi * check["d_mm"] ** 2 * height / 12 == pytest.approx(check["cone_mm3"], abs=6e-4)


@pytest.mark.parametrize("name", tables.load("metals")["metal"])
def test_a_metal_lies_within_its_own_bounds(name):
    row = tables.load("metals")["metal"][name]
    assert row.get("density_low", row["density_kg_m3"]) <= row["density_kg_m3"] <= row.get("density_high", 20000)
    assert 2000 < row["density_kg_m3"] < 20000


@pytest.mark.parametrize("name", tables.load("coatings")["coat"])
def test_a_coat_weighs_what_its_film_and_density_say(name):
    row = tables.load("coatings")["coat"][name]
    low, usual, high = row["dry_mm"]
    assert 0 <= low < usual < high < 1
    assert row["mass_g_per_100cm2"] == pytest.approx(10 * usual * row["dry_density_kg_m3"] / 1000, abs=0.006)


def test_cautions_named_in_any_table_exist():
    known = set(tables.load("cautions")["caution"])
    for name in ("woods", "metals", "coatings", "sheet"):
        for section in tables.load(name).values():
            for row in section.values() if isinstance(section, dict) else ():
                if isinstance(row, dict):
                    assert set(row.get("cautions", ())) <= known


def test_every_range_runs_upwards():
    ranges = {key: value for key, value in tables.load("limits")["range"].items() if key != "source"}
    assert all(least < most for least, most in ranges.values())


def test_the_woods_left_by_a_drill_and_by_the_limits_agree():
    """Two tables say it: the drills' practice and the limits that are watched."""
    practice, left = DRILLS["practice"], tables.load("limits")["wood_left"]
    assert practice["wood_left_to_skin_mm"] == left["bore_to_skin_mm"]
    assert practice["wood_left_to_skin_balsa_mm"] == left["bore_to_skin_balsa_mm"]


@pytest.mark.parametrize("name", OUTLINES["outline"])
def test_an_outline_family_is_the_formula_in_its_heading(name):
    row = OUTLINES["outline"][name]
    m = row["greatest_at"]
    for x, height in row["points"]:
        nose = x < m
        u = (m - x) / m if nose else (x - m) / (1 - m)
        power, blunt = row["nose_power" if nose else "tail_power"], row["nose_bluntness" if nose else "tail_bluntness"]
        assert height == pytest.approx((1 - u**power) ** (1 - blunt / 2), abs=6e-5)
    xs = [x for x, _ in row["points"]]
    assert xs == sorted(set(xs))
    assert xs[0] == 0
    assert xs[-1] == 1
    assert max(height for _, height in row["points"]) == 1
    assert row["invented"]


@pytest.mark.parametrize("name", OUTLINES["lip"])
def test_a_lip_outline_runs_from_the_mouth_to_the_middle_of_its_tip(name):
    points = OUTLINES["lip"][name]["points"]
    assert points[0][0] == 0
    assert points[0][1] > 0
    assert points[-1] == [1, 0]
    assert [x for x, _ in points] == sorted(x for x, _ in points)
    assert max(half for _, half in points) == 1


def test_the_default_outlines_exist():
    default = OUTLINES["default"]
    assert {default[key] for key in ("back", "belly", "plan")} <= set(OUTLINES["outline"])
    assert default["lip"] in OUTLINES["lip"]


def test_letter_drills_grow_from_a_to_z_and_e_is_a_quarter_inch():
    """ASME B94.11M gives E as 1/4 in; the row is from memory, so its order and ends are held: 0.234 and 0.413 in."""
    letter = DRILLS["letter"]
    assert "".join(letter["letter"]) == "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
    assert letter["inch"] == sorted(letter["inch"])
    assert (letter["inch"][0], letter["inch"][4], letter["inch"][-1]) == (0.234, 0.25, 0.413)
    assert [inch * 25.4 for inch in letter["inch"]] == pytest.approx(letter["mm"], abs=5.1e-5)


def test_number_drills_go_from_1_to_80_and_meet_the_letters():
    """#1 is one step under A; #7, #29 are the tap drills of 1/4-20 and 8-32, #20 for comparison (all recalled)."""
    number = dict(zip(DRILLS["number"]["number"], DRILLS["number"]["inch"], strict=True))
    assert list(number) == list(range(1, 81))
    assert (number[1], number[7], number[20], number[29]) == (0.228, 0.201, 0.161, 0.136)


def test_metric_wire_weighs_its_own_cylinder():
    """A metre of 1 mm stainless wire at 7.9 g/cm^3 is pi/4 * 7.9 = 6.205 g; "0.6 mm" is not taken for 0.024 in."""
    assert sizes("wire")["1 mm"].mass == pytest.approx(6.2046, abs=1e-4)
    assert label("wire", "0.6 mm", "mm") == "0.6 mm"
    assert label("wire", "0.024", "in") == "0.024 in"
    assert label("screw_eye", "1 x 12 mm", "mm") == "1 x 12 mm"


def test_hooks_and_rings_grow_with_their_number():
    for kind, least, most in (("hook", "#14", "3/0"), ("ring", "#3", "#7")):
        weighed = {size: row.mass for size, row in sizes(kind).items() if row.mass is not None}
        assert (next(iter(weighed)), list(weighed)[-1]) == (least, most)
        assert list(weighed.values()) == sorted(weighed.values())


def test_a_split_ring_weighs_its_two_round_turns():
    """Two turns of round wire, w = (outside - inside) / 2 thick, about a circle of outside - w: 2 pi D pi w^2 / 4.

    Within 0.5 %: the inside is rounded to 0.01 mm, w being 0.6 mm and more, and counts twice; #2 was not weighed.
    """
    for row in tables.load("hardware")["split_ring"]["sizes"]:
        wire = (row["outside_mm"] - row["inside_mm"]) / 2
        assert 0.095 < wire / row["outside_mm"] < 0.11
        if "displaced_cm3" in row:
            volume = 2 * pi * (row["outside_mm"] - wire) * pi / 4 * wire**2
            assert volume == pytest.approx(1000 * row["displaced_cm3"], rel=0.005)


def test_a_treble_weighs_three_shanks_and_bends_of_its_wire():
    """Round-bend model of a treble, by gape g (a public gape table to #1, carried on above), length L and wire d:

    3 (0.55 g + pi (g + d) / 2 + L - 3.8 d - g / 2 - d - 1.5 d) + 2.8 pi d - 0.5 d of wire, 5 % for braze and plating.
    Within 2.5 %: the wire is rounded to 0.01 mm of 0.7 (1.5 %, twice that in mass), the mass to 0.01 g.
    """
    table = tables.load("hardware")["treble_hook"]
    gapes = [3.6, 4.4, 5.0, 6.0, 7.0, 8.0, 9.0, 10.0, 11.5, 13.0, 14.7]
    for row, g in zip(table["sizes"], gapes, strict=True):
        d, long = row["wire_mm"], row["length_mm"]
        wire = 3 * (0.55 * g + pi * (g + d) / 2 + long - 3.8 * d - g / 2 - 2.5 * d) + 2.8 * pi * d - 0.5 * d
        mass = 1.05 * table["density_kg_m3"] * 1e-6 * pi / 4 * d**2 * wire
        assert mass == pytest.approx(row["mass_g"], rel=0.025)
