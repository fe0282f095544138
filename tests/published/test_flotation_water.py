"""Density of water against the reference formulations: IAPWS-95 (CoolProp, iapws), TEOS-10 (gsw), IAPWS-08 (iapws)."""

import gsw
import pytest

from bodygen.flotation.water import density
from bodygen.recipe.model import Water
from bodygen.tables import load

TABLE = load("water")
FRESH = TABLE["fresh_checks"]
ATMOSPHERE_MPA = 0.101325
TANAKA_TO_IAPWS95 = 0.0013  # kg/m^3: the largest difference in [fresh_checks], 0.0012 at 40 C, and rounding


@pytest.mark.parametrize(("celsius", "kg_m3"), [*zip(FRESH["t_c"], FRESH["rho_kg_m3"], strict=True)])
def test_fresh_water_is_the_tables_own_check_value(celsius, kg_m3):
    """Tanaka 2001 as worked out in [fresh_checks], printed to four decimals."""
    assert 1000 * density(Water(temperature=celsius)) == pytest.approx(kg_m3, abs=0.00006)


@pytest.mark.parametrize("celsius", [0.01, 2, 4, 8, 11, 15, 18, 21, 25, 30, 35, 40])
def test_fresh_water_agrees_with_three_libraries(celsius):
    """W. Wagner, A. Pruss 2002 (IAPWS-95) by CoolProp and iapws; R. Feistel's Gibbs function by gsw at no salt."""
    # the reference libraries take seconds to load, which here only the process that runs these tests spends
    import CoolProp.CoolProp
    import iapws

    ours = 1000 * density(Water(temperature=celsius))
    theirs = [
        CoolProp.CoolProp.PropsSI("D", "T", celsius + 273.15, "P", 101325, "Water"),
        iapws.IAPWS95(T=celsius + 273.15, P=ATMOSPHERE_MPA).rho,
        float(gsw.rho_t_exact(0.0, celsius, 0.0)),
    ]
    assert theirs == pytest.approx([ours] * 3, abs=TANAKA_TO_IAPWS95)


@pytest.mark.parametrize(("salinity", "celsius", "kg_m3"), TABLE["salt"]["points_sa_g_kg_t_c_rho_kg_m3"])
def test_sea_water_is_the_tables_own_check_value(salinity, celsius, kg_m3):
    """TEOS-10 points of [salt], printed to four decimals."""
    assert 1000 * density(Water(temperature=celsius, salinity=salinity)) == pytest.approx(kg_m3, abs=0.00006)


@pytest.mark.parametrize("celsius", [0, 3, 6, 10, 13, 16, 20, 24, 28, 32])
@pytest.mark.parametrize("salinity", [8.0, 35.0])
def test_sea_water_agrees_with_iapws_08(salinity, celsius):
    """IAPWS R13-08 in the iapws library, which shares no code with gsw; both are Feistel's Gibbs function."""
    from iapws.iapws08 import SeaWater

    theirs = SeaWater(T=celsius + 273.15, P=ATMOSPHERE_MPA, S=salinity / 1000).rho
    assert 1000 * density(Water(temperature=celsius, salinity=salinity)) == pytest.approx(theirs, abs=0.0005)


def test_fresh_water_is_densest_at_four_degrees():
    """3.98 C, 999.975 kg/m^3: M. Tanaka et al., Metrologia 38 (2001) 301."""
    by_hundredths = {t: density(Water(temperature=t / 100)) for t in range(300, 500)}
    assert max(by_hundredths, key=by_hundredths.get) in {398, 399}
    assert max(by_hundredths.values()) == pytest.approx(0.999975, abs=1e-6)
