"""Density of the wood: as given, as weighed, or as a species at a moisture content.

Knows the wood table and the Wood Handbook's way from specific gravity to density. Knows nothing of bodies.
"""

from dataclasses import dataclass
from math import hypot, prod
from typing import Any

from bodygen import tables
from bodygen.errors import DesignError, InputError, Mistake
from bodygen.findings import Finding
from bodygen.recipe.model import Recipe, Wood
from bodygen.tables import catalogue
from bodygen.weights.spread import calliper_reading, scale_reading


@dataclass(frozen=True, slots=True)
class WoodDensity:
    """Density [g/cm^3], where it comes from, its coefficient of variation [-] (0: no spread is known), and findings."""

    g_cm3: float
    basis: str
    cov: float
    findings: tuple[Finding, ...] = ()


def density_at(species: str, moisture_percent: float) -> float:
    r"""Density of a species' average board at a moisture content [g/cm^3].

    .. math:: \rho = G_M (1 + M/100), \quad G_M = G_{12} \frac{1 - 0.6 S}{1 - S (30 - M)/30}

    with S the shrinkage green to oven-dry as a share of the green volume. Above fibre saturation (30 %) wood no longer
    swells, so G stays at its value there and only the water's weight is added.

    Parameters
    ----------
    species : str
        Row of ``woods.toml``.
    moisture_percent : float
        M, water over oven-dry mass [%], >= 0.

    Raises
    ------
    DesignError
        No such row, or negative moisture.

    References
    ----------
    Wood Handbook (FPL-GTR-190) chapter 4: density from specific gravity and moisture; its eq. 4-13 started from the
    12 % value instead of the oven-dry one (``woods.toml`` [bases]).

    Examples
    --------
    >>> density_at("basswood", 12.0)
    0.4144
    """
    row, bases = _row(species), tables.load("woods")["bases"]
    if not moisture_percent >= 0:
        msg = f"wood.moisture_percent = {moisture_percent:g}: water can't weigh less than nothing; 0 or more."
        raise DesignError(msg)
    M, saturation = moisture_percent, float(bases["fibre_saturation_pct"])
    S = float(row["shrinkage_vol_pct"]) / 100

    def swollen(moisture: float) -> float:
        return 1 - S * (saturation - min(moisture, saturation)) / saturation

    G = float(row["g12"]) * swollen(12) / swollen(M)
    return G * (1 + M / 100) * float(bases["reference_water_kg_m3"]) / 1000


def wood_density(wood: Wood) -> WoodDensity:
    """Find the density to use [g/cm^3]: a given one wins, then the weighed blank, then species and moisture.

    Elementary for a blank, mass over volume; a species as ``density_at`` says.

    Raises
    ------
    DesignError
        The recipe says none of the three.

    Examples
    --------
    >>> wood_density(Wood(blank_mass=24.0, blank_size=(100.0, 20.0, 30.0))).g_cm3   # 24 g of 60 cm^3
    0.4
    """
    if wood.density_g_cm3 is not None:
        return WoodDensity(wood.density_g_cm3, "as given in the recipe", 0.0)
    if wood.blank_mass is not None and wood.blank_size is not None:
        return _weighed(wood, wood.blank_mass, wood.blank_size)
    if wood.species is None:
        msg = "wood: no density; say density_g_cm3, a weighed blank (mass and size), or a species."
        raise DesignError(msg)
    row = _row(wood.species)
    average, cov = species_density(wood)
    memory = ", recalled" if row.get("recalled") else ""
    basis = f"{row['name']} at {wood.moisture_percent:g} % moisture, species average ({row['source']}{memory})"
    checks = (*_moisture_checks(wood.moisture_percent), *_species_checks(row, cov))
    return WoodDensity(average, basis, cov, checks)


def species_density(wood: Wood) -> tuple[float, float]:
    """Find the average of the wood's species at its moisture [g/cm^3], and its coefficient of variation [-].

    Raises
    ------
    DesignError
        No species, or none that the table has.

    References
    ----------
    Wood Handbook (FPL-GTR-190), chapter 4; each row of ``woods.toml`` names its source.

    Examples
    --------
    >>> species_density(Wood("basswood", moisture_percent=12.0))[0] == density_at("basswood", 12.0)
    True
    """
    if wood.species is None:
        msg = "wood.species: not said, so there is no average."
        raise DesignError(msg)
    return density_at(wood.species, wood.moisture_percent), _cov(_row(wood.species))


def blank_volume(wood: Wood) -> float | None:
    """Volume of the squared blank [mm^3], None where its size was not said.

    Elementary.

    Examples
    --------
    >>> blank_volume(Wood(blank_size=(100.0, 20.0, 30.0)))
    60000.0
    """
    return None if wood.blank_size is None else float(prod(wood.blank_size))


def _weighed(wood: Wood, mass: float, size: tuple[float, float, float]) -> WoodDensity:
    cov = hypot(scale_reading() / mass, *(calliper_reading() / side for side in size))
    density = 1000 * mass / prod(size)
    basis = f"blank weighed: {mass:g} g, {size[0]:g} x {size[1]:g} x {size[2]:g} mm"
    return WoodDensity(density, basis, cov, unusual_board(wood, density, "wood.blank"))


def no_wood(density: float) -> str:
    """Say why a measured density [g/cm^3] is none that a wood has; empty where it is one.

    Common practice, no published source (``limits.toml`` [range]).

    Examples
    --------
    >>> no_wood(0.42), no_wood(2.0)[:38]
    ('', 'the wood would have 2 g/cm^3 then, hea')
    """
    lightest, heaviest = (float(v) for v in tables.load("limits")["range"]["wood_density_g_cm3"])
    if lightest <= density <= heaviest:
        return ""
    side = f"lighter than any wood ({lightest:g})" if density < lightest else f"heavier than any wood ({heaviest:g})"
    return f"the wood would have {density:.3g} g/cm^3 then, {side}."


def unusual_board(wood: Wood, density: float, where: str) -> tuple[Finding, ...]:
    """Doubt a measured density [g/cm^3] more than three standard deviations from its species' average.

    References
    ----------
    Coefficients of variation: Wood Handbook (FPL-GTR-190), chapter 4, where the row of ``woods.toml`` has none of its
    own.

    Examples
    --------
    >>> [unusual_board(Wood("basswood"), d, "wood.blank") for d in (0.42, 0.9)][0]
    ()
    """
    if wood.species is None:
        return ()
    row = _row(wood.species)
    cov = _cov(row)
    usual = density_at(wood.species, wood.moisture_percent)
    if abs(density / usual - 1) <= 3 * cov:
        return ()
    limit = usual * (1 + 3 * cov) if density > usual else usual * (1 - 3 * cov)
    remedy = f"check the reading and the sizes; the average of {row['name']} is {usual:.3f} g/cm^3"
    source = str(row.get("cov_source", row["source"]))
    return (Finding("board-unusual", "warning", where, remedy, density, limit, "g/cm^3", source),)


def _moisture_checks(moisture: float) -> tuple[Finding, ...]:
    bases = tables.load("woods")["bases"]
    saturation = float(bases["fibre_saturation_pct"])
    low, high = (float(v) for v in bases["usual_indoor_moisture_pct"])
    where = "wood.moisture_percent"
    if moisture > saturation:
        remedy = "green wood shrinks and loses weight: dry it before squaring the blank, or weigh the blank"
        return (Finding("moisture-green", "warning", where, remedy, moisture, saturation, "%", str(bases["source"])),)
    if not low <= moisture <= high:
        limit = low if moisture < low else high
        remedy = f"boards kept indoors lie between {low:g} and {high:g} %: weigh the blank to be sure"
        source = str(bases["usual_indoor_moisture_pct_source"])
        return (Finding("moisture-unusual", "note", where, remedy, moisture, limit, "%", source),)
    return ()


def _species_checks(row: dict[str, Any], cov: float) -> tuple[Finding, ...]:
    """Woods that vary more than most; for the others the stages' tolerances say what an average is worth."""
    usual = float(tables.load("woods")["bases"]["cov_default"])
    if cov <= usual and "trade_range_kg_m3" not in row:
        return ()
    sold = row.get("trade_range_kg_m3")
    between = f"; it is sold from {sold[0] / 1000:.2f} to {sold[1] / 1000:.2f} g/cm^3" if sold else ""
    source = str(row["trade_range_kg_m3_source"] if sold else row["cov_source"])
    remedy = f"boards of {row['name']} differ too much for an average{between}: weigh the squared blank"
    return (Finding("wood-varies", "warning", "wood.species", remedy, cov, usual, "-", source),)


def _row(species: str) -> dict[str, Any]:
    return catalogue.row("woods", "wood", species, "wood.species")


def _cov(row: dict[str, Any]) -> float:
    """Coefficient of variation between boards of a species [-]."""
    return float(row.get("cov", tables.load("woods")["bases"]["cov_default"]))


def refuse_weightless(recipe: Recipe) -> None:
    """Hold a recipe to some word on how heavy its wood is [g/cm^3].

    Raises
    ------
    InputError
        It says none: no species, no density and no weighed blank.
    """
    wood = recipe.wood
    if wood.density_g_cm3 is None and wood.blank_mass is None and wood.species is None:
        problem = "nothing says how heavy the wood is."
        accepted = "species, density_g_cm3 or a weighed blank"
        raise InputError([Mistake(*recipe.place("wood"), "wood", "", problem, accepted)])
