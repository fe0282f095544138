"""What the water may be, and what is said when it may not."""

import pytest

from bodygen.errors import DesignError
from bodygen.flotation.water import density, water_checks
from bodygen.recipe.model import Water


def test_a_given_density_wins_over_temperature_and_salinity():
    assert density(Water(temperature=99.0, salinity=300.0, density_g_cm3=1.01)) == 1.01


@pytest.mark.parametrize(
    ("water", "text"),
    [
        (
            Water(temperature=41.0),
            (
                "water.temperature = 41 degC: give a temperature between 0 and 40 degC, "
                "or the density itself as density_g_cm3"
            ),
        ),
        (
            Water(salinity=-1.0),
            (
                "water.salinity = -1 g/kg: give an absolute salinity between 0 and 42 g/kg, "
                "or the density itself as density_g_cm3"
            ),
        ),
        (Water(temperature=-3.0, salinity=35.0), "water.temperature = -3 degC: this water is ice below -1.9 degC"),
        (
            Water(density_g_cm3=999.1),
            (
                "water.density_g_cm3 = 999.1 g/cm3: lakes, rivers and seas lie between 0.95 and 1.25 g/cm3: "
                "check the unit and the decimal point"
            ),
        ),
        (Water(density_g_cm3=float("nan")), "water.density_g_cm3: give a density in g/cm3, such as 0.999"),
    ],
    ids=["warm", "negative salt", "ice", "kg/m3 for g/cm3", "nan"],
)
def test_water_outside_the_tables_has_no_density(water, text):
    with pytest.raises(DesignError) as caught:
        density(water)
    assert str(caught.value) == text


def test_odd_but_possible_water_is_a_warning():
    (doubt,) = water_checks(Water(density_g_cm3=1.1))
    assert (doubt.code, doubt.severity, doubt.value, doubt.limit) == ("water-density", "warning", 1.1, 1.035)


def test_brackish_water_gets_a_note_and_lakes_and_seas_none():
    (doubt,) = water_checks(Water(temperature=12.0, salinity=12.0))
    assert (doubt.code, doubt.severity, doubt.value) == ("water-brackish", "note", 12.0)
    assert water_checks(Water()) == ()
    assert water_checks(Water(salinity=35.0)) == ()
