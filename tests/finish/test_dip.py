"""Films of a dip, against a textbook's figures, the power law, and the films that makers find."""

import pytest

from bodygen import tables
from bodygen.finish.dip import Liquid, drains_in, liquid, speed_for, wet_film


@pytest.mark.parametrize(("viscosity", "speed", "cm"), [(0.3, 0.004, 0.0173), (2.0, 0.03, 0.180)])
def test_films_are_those_of_a_textbook_problem(viscosity, speed, cm):
    """dip_textbook_problem: 900 kg/m3, 0.030 N/m, 0.3 to 2 Pa s, 0.4 to 3 cm/s give 0.02 to 0.2 cm, as stated there.

    Its ends recomputed by hand with gravity in: 0.0173 and 0.180 cm, to the figures shown.
    """
    assert wet_film(Liquid(viscosity, 0.030, 900.0), speed) / 10 == pytest.approx(cm, rel=0.005)


def test_slow_draws_follow_the_power_law_of_landau_levich_and_derjaguin():
    """landau_levich_1942: h = 0.944 (mu U)^(2/3) / (gamma^(1/6) (rho g)^(1/2)); at Ca = 7e-7 gravity takes 0.5 %."""
    water = Liquid(0.001, 0.028, 950.0)
    plain = 0.944 * (0.001 * 2e-5) ** (2 / 3) / (0.028 ** (1 / 6) * (950 * 9.80665) ** 0.5)
    assert wet_film(water, 2e-5) == pytest.approx(1000 * plain, rel=0.006)


def test_half_the_speed_leaves_two_thirds_of_the_film():
    """0.5^(2/3) = 0.63 by the power law; gravity adds a percent or two."""
    thin = liquid("thin_varnish")
    assert wet_film(thin, 0.0025) / wet_film(thin, 0.005) == pytest.approx(0.63, abs=0.02)


@pytest.mark.parametrize(
    ("finish", "like"),
    [
        ("lacquer_sealer_thinned", "thinned_sealer"),
        ("waterborne_polyurethane_dip", "thin_varnish"),
        ("oil_polyurethane_dip", "thin_varnish"),
        ("moisture_cure_urethane", "thin_varnish"),
    ],
)
def test_films_of_the_coatings_table_come_out_of_a_draw_of_5_mm_s(finish, like):
    row = tables.load("coatings")["coat"][finish]
    dry = wet_film(liquid(like), 0.005) * sum(row["solids_volume"]) / 2
    assert row["dry_mm"][0] < dry < row["dry_mm"][2]


def test_the_speed_for_a_film_gives_that_film():
    of = liquid("varnish")
    assert wet_film(of, speed_for(of, 0.12)) == pytest.approx(0.12, rel=1e-9)


def test_a_film_drains_as_jeffreys_has_it():
    """jeffreys_1930: h = sqrt(mu z / (rho g t)); 0.1 Pa s, 50 mm down, 60 s: 94.6 um."""
    of = Liquid(0.1, 0.028, 950.0)
    assert drains_in(of, 50.0, 0.0946) == pytest.approx(60.0, rel=0.001)
