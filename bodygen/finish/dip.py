"""What film a dip leaves: drawn up at a steady speed, then hung to drain.

Knows viscosities by what they are like. Knows no coat and no calendar.
"""

from dataclasses import dataclass
from math import sqrt
from typing import Any

from bodygen import tables

GRAVITY = 9.80665
STEPS = 80
"""Halvings of the bracket: each to the last bit."""


@dataclass(frozen=True, slots=True)
class Liquid:
    """A finish in its dip: viscosity [Pa s], surface tension [N/m], density [kg/m^3]."""

    viscosity: float
    tension: float
    density: float


def liquid(like: str) -> Liquid:
    """A finish that runs like a row of ``[viscosity]``, with the usual tension and density."""
    table: dict[str, Any] = tables.load("finishes")
    return Liquid(table["viscosity"][like]["pa_s"], table["dip"]["tension_n_m"], table["dip"]["density_kg_m3"])


def wet_film(of: Liquid, speed: float) -> float:
    """Film on a plate drawn straight up out of a wide bath [mm].

    Parameters
    ----------
    of : Liquid
        What is in the bath.
    speed : float
        How fast it is drawn [m/s].

    References
    ----------
    ``landau_levich_1942`` with gravity put in (``dip_textbook_problem``), solved by halving. A plate: thin tails and
    lips carry less.

    Examples
    --------
    >>> wet_film(Liquid(0.1, 0.028, 950.0), 0.005)   # 0.1 Pa s at 5 mm/s
    0.098
    """
    capillary = of.viscosity * speed / of.tension
    weight = of.density * GRAVITY
    factor = float(tables.load("finishes")["dip"]["factor"])

    def beyond(film: float) -> bool:
        """Whether a film [m] is thicker than the equation has it."""
        left = max(1 - film**2 * weight / (of.viscosity * speed), 0.0)
        return bool(film * sqrt(weight / of.tension) > factor * capillary ** (2 / 3) * left ** (2 / 3))

    low, high = 0.0, sqrt(of.viscosity * speed / weight)
    for _ in range(STEPS):
        middle = (low + high) / 2
        low, high = (low, middle) if beyond(middle) else (middle, high)
    return 1000 * (low + high) / 2


def speed_for(of: Liquid, film: float) -> float:
    """How fast to draw for a wet film [mm], [m/s]; by halving, as films grow with speed.

    Derived here: ``wet_film`` the other way round.

    Examples
    --------
    >>> water = Liquid(0.001, 0.072, 1000.0)
    >>> speed_for(water, wet_film(water, 0.01))
    0.01
    """
    low, high = 0.0, 1.0
    for _ in range(STEPS):
        middle = (low + high) / 2
        low, high = (low, middle) if middle > 0 and wet_film(of, middle) > film else (middle, high)
    return (low + high) / 2


def drains_in(of: Liquid, height: float, film: float) -> float:
    """How long a film hangs until ``height`` [mm] below its upper edge it is no thicker than ``film`` [mm], [s].

    References
    ----------
    ``jeffreys_1930``, from memory: h = sqrt(mu z / (rho g t)).

    Examples
    --------
    >>> drains_in(Liquid(0.1, 0.028, 950.0), 50.0, 0.0946)
    59.97
    """
    return of.viscosity * height / 1000 / (of.density * GRAVITY * (film / 1000) ** 2)
