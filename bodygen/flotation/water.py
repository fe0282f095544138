"""The water: its density from temperature and salinity, and what is doubtful about either.

Knows the tables of ``water.toml``. Knows nothing of what floats in it.
"""

import numpy as np

from bodygen.errors import DesignError
from bodygen.findings import Finding
from bodygen.recipe.model import Water
from bodygen.tables import load


def density(water: Water) -> float:
    """Density at one atmosphere [g/cm^3].

    Parameters
    ----------
    water : Water
        Temperature [degC], absolute salinity [g/kg], or a density that wins [g/cm^3].

    Returns
    -------
    float
        Fresh water to 0.001 kg/m^3 (0 to 40 degC), sea water as TEOS-10.

    Raises
    ------
    DesignError
        Outside the tables' range: no number is guessed.

    References
    ----------
    M. Tanaka, G. Girard, R. Davis, A. Peuto, N. Bignell, Recommended table for the density of water between 0 C and
    40 C, Metrologia 38 (2001) 301; TEOS-10 (IOC, SCOR, IAPSO 2010) through ``gsw.rho_t_exact``.

    Examples
    --------
    >>> density(Water(temperature=15.0))
    0.9991026
    """
    refusals = [finding for finding in water_checks(water) if finding.severity == "error"]
    if refusals:
        raise DesignError("\n".join(_words(finding) for finding in refusals))
    return _density(water)


def water_checks(water: Water) -> tuple[Finding, ...]:
    """Find what is doubtful about the water [g/cm^3]; with an ``error`` among the findings ``density`` refuses it.

    Each bound of ``water.toml`` names its source.

    Examples
    --------
    >>> [water_checks(Water(temperature=t)) for t in (15.0, 60.0)]   # liquid, but outside the formula
    [(), (<error water-temperature at water.temperature, 60 (limit 40) degC>,)]
    """
    table = load("water")
    bounds = table["sanity"]
    outside = _outside_the_formula(water)
    if outside:
        return tuple(outside)
    kg_m3 = 1000 * _density(water)
    if not bounds["refuse_below_kg_m3"] <= kg_m3 <= bounds["refuse_above_kg_m3"]:
        return (_dense(kg_m3, "error", "refuse"),)
    if not bounds["warn_below_kg_m3"] <= kg_m3 <= bounds["warn_above_kg_m3"]:
        return (_dense(kg_m3, "warning", "warn"),)
    low, high = bounds["brackish_sa_g_kg"]
    if water.density_g_cm3 is None and low < water.salinity < high:
        remedy = (
            f"brackish water is {kg_m3:.1f} kg/m3 here and changes with tide and rain: "
            "measure its salinity, or float the bait where it will be used"
        )
        return (Finding("water-brackish", "note", "water.salinity", remedy, water.salinity, high, "g/kg"),)
    return ()


def _density(water: Water) -> float:
    """Density [g/cm^3] by whichever of the three ways applies; ranges are the caller's."""
    if water.density_g_cm3 is not None:
        return water.density_g_cm3
    t = water.temperature
    if water.salinity > 0:
        import gsw  # noqa: PLC0415 - a compiled library that only salt water needs, and `weigh` must start quickly

        return float(gsw.rho_t_exact(water.salinity, t, 0.0)) / 1000
    c = load("water")["fresh"]
    kg_m3 = c["a5"] * (1 - (t + c["a1"]) ** 2 * (t + c["a2"]) / (c["a3"] * (t + c["a4"])))
    return float(kg_m3) / 1000


def _outside_the_formula(water: Water) -> list[Finding]:
    """Temperature or salinity where the formula that would be used does not hold, or where the water is ice."""
    if water.density_g_cm3 is not None:
        if np.isfinite(water.density_g_cm3):
            return []
        return [Finding("water-density", "error", "water.density_g_cm3", "give a density in g/cm3, such as 0.999")]
    findings = []
    salt = water.salinity > 0
    table = load("water")["salt" if salt else "fresh"]
    (cold, warm), source = table["valid_c"], table["source"]
    if not cold <= water.temperature <= warm:
        remedy = f"give a temperature between {cold:g} and {warm:g} degC, or the density itself as density_g_cm3"
        limit = warm if water.temperature > warm else cold
        key = "water.temperature"
        findings.append(Finding("water-temperature", "error", key, remedy, water.temperature, limit, "degC", source))
    saltiest = load("water")["salt"]["valid_sa_g_kg"][1]
    if not 0 <= water.salinity <= saltiest:
        remedy = f"give an absolute salinity between 0 and {saltiest:g} g/kg, or the density itself as density_g_cm3"
        limit = saltiest if water.salinity > 0 else 0.0
        findings.append(
            Finding("water-salinity", "error", "water.salinity", remedy, water.salinity, limit, "g/kg", source)
        )
    if salt and not findings:
        import gsw  # noqa: PLC0415 - as above

        freezing = float(gsw.t_freezing(water.salinity, 0.0, 0.0))
        if water.temperature < freezing:
            remedy = f"this water is ice below {freezing:.1f} degC"
            key = "water.temperature"
            findings.append(
                Finding("water-temperature", "error", key, remedy, water.temperature, freezing, "degC", source)
            )
    return findings


def _dense(kg_m3: float, severity: str, kind: str) -> Finding:
    """Density outside the bounds of ``[sanity]``; ``kind`` is "refuse" or "warn"."""
    bounds = load("water")["sanity"]
    low, high = bounds[f"{kind}_below_kg_m3"] / 1000, bounds[f"{kind}_above_kg_m3"] / 1000
    limit = low if kg_m3 / 1000 < low else high
    remedy = f"lakes, rivers and seas lie between {low:g} and {high:g} g/cm3: check the unit and the decimal point"
    code, where = "water-density", "water.density_g_cm3"
    if severity == "error":
        return Finding(code, "error", where, remedy, kg_m3 / 1000, limit, "g/cm3", bounds["source"])
    return Finding(code, "warning", where, remedy, kg_m3 / 1000, limit, "g/cm3", bounds["source"])


def _words(finding: Finding) -> str:
    """One finding as a line for an error message."""
    value = "" if finding.value is None else f" = {finding.value:g} {finding.unit}"
    return f"{finding.where}{value}: {finding.remedy}"
