"""What the wood of a board weighs, and how much blanks of it differ: its own mass, blanks of it, builds of the log.

Knows boards and what was logged. Knows no saw.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import fsum, sqrt
from statistics import fmean, variance

from bodygen.log.learned import PRIOR_BUILDS, ratios
from bodygen.log.record import Build
from bodygen.recipe.model import Wood
from bodygen.tables import load
from bodygen.weights.learned import wood_lot
from bodygen.weights.wood import species_density


@dataclass(frozen=True, slots=True)
class BoardWood:
    """Density of a board's blanks [g/cm^3]: the likeliest, and one standard deviation of a blank of it, over it [-].

    ``basis`` says where both are from.
    """

    density: float
    cov: float
    basis: str


def wood_of_board(
    name: str, measured: float, blanks: Sequence[float], wood: Wood, builds: Sequence[Build], within: float | None
) -> BoardWood:
    r"""Put together what is known of a board.

    .. math:: \rho = (\mu / s^2 + n m / c^2) / (1 / s^2 + n / c^2)

    with :math:`\mu` the board's mass over its volume, s how sure that is, n blanks of mean m that scatter by c.

    Parameters
    ----------
    name : str
        The board's, as the log has it.
    measured : float
        Its mass over its volume [g/cm^3].
    blanks : sequence of float
        Density of blanks of it that were weighed [g/cm^3].
    wood : Wood
        Of the recipe: its species is that of the log's builds.
    builds : sequence of Build
        The whole log.
    within : float or None
        How much blanks of a board differ, one standard deviation over the mean [-], where somebody says so.

    References
    ----------
    Normal prior and normal readings: A. Gelman et al., Bayesian Data Analysis, 3rd ed. 2013, section 2.5 (from memory).

    Examples
    --------
    >>> wood_of_board("B1", 0.40, [0.42], Wood("basswood"), (), 0.015).density   # both alike sure, nearly
    0.4095
    """
    logged = _logged(wood, builds)
    own = [*blanks, *logged.get(name, ())]
    cov, says = _within(logged, within)
    basis = f"its mass over its size; blanks of it differ by {100 * cov:.1f} % ({says})"
    if not own:
        return BoardWood(measured, cov, basis)
    sure, mean = float(load("batch")["board"]["measured_cov"]) * measured, fmean(own)
    weights = 1 / sure**2, len(own) / (cov * mean) ** 2
    density = (weights[0] * measured + weights[1] * mean) / sum(weights)
    return BoardWood(density, cov, f"{len(own)} weighed {'blank' if len(own) == 1 else 'blanks'} of it and {basis}")


def _logged(wood: Wood, builds: Sequence[Build]) -> dict[str, list[float]]:
    """Densities of the log's builds of this species, by board [g/cm^3]."""
    if wood.species is None:
        return {}
    usual, lot = species_density(wood)[0], wood_lot(wood.species)
    found: dict[str, list[float]] = {}
    for build in builds:
        if build.board:
            found.setdefault(build.board, []).extend(r.value * usual for r in ratios(build)[0] if r.lot == lot)
    return {name: values for name, values in found.items() if values}


def _within(logged: dict[str, list[float]], told: float | None) -> tuple[float, str]:
    """How much blanks of one board differ [-], and who says so."""
    if told is not None:
        return told, "as the study says"
    table = load("batch")["board"]
    usual = float(table["within_cov"])
    several = [[value / fmean(values) for value in values] for values in logged.values() if len(values) > 1]
    free = sum(len(values) - 1 for values in several)
    if not free:
        return usual, str(table["source"])
    square = fsum((len(values) - 1) * variance(values) for values in several)
    cov = sqrt((PRIOR_BUILDS * usual**2 + square) / (PRIOR_BUILDS + free))
    return cov, f"{free + len(several)} logged blanks of {len(several)} boards"
