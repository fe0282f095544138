"""How far a figure of the tables may be off, as one standard deviation, and what makes it so.

Knows closed forms and the maker's scale.
"""

from dataclasses import dataclass
from math import sqrt
from typing import Literal

from bodygen import tables


@dataclass(frozen=True, slots=True)
class Cause:
    """Why a mass may be off, one for all that varies together.

    ``of`` says which figure: a density of the wood, of a ``row`` of metals or sheets; a ``row``'s film or soak; the
    pattern of a kind of hardware; a reading off the scale at the stage ``row``; or the lot ``row``, by its own builds.
    """

    of: Literal["wood", "metal", "sheet", "film", "soak", "pattern", "reading", "lot"]
    row: str = ""

    @property
    def words(self) -> str:
        """Say it to people."""
        return {
            "wood": "density of the wood",
            "metal": f"density of {self.row}",
            "sheet": f"density of {self.row}",
            "film": f"film of {self.row}",
            "soak": f"soak of {self.row}",
            "pattern": f"pattern of the {self.row}s",
            "reading": f"scale at {self.row}",
            "lot": self.row,
        }[self.of]


def uniform(low: float, high: float) -> float:
    """Find the standard deviation of a value that lies anywhere between two bounds, in their unit [-].

    References
    ----------
    JCGM 100:2008 (GUM), 4.3.7, from memory: a^2/3 for half-width a, hence (high - low) / sqrt(12).

    Examples
    --------
    >>> uniform(-1.0, 1.0)   # 1 / sqrt 3
    0.57735
    """
    return (high - low) / sqrt(12)


def triangular(low: float, typical: float, high: float) -> float:
    """Find the standard deviation of a value between two bounds with a likeliest one among them, in their unit [-].

    References
    ----------
    The triangular distribution's second central moment, by direct integration.

    Examples
    --------
    >>> triangular(-1.0, 0.0, 1.0)   # 1 / sqrt 6
    0.40825
    """
    a, c, b = low, typical, high
    return sqrt((a * a + b * b + c * c - a * b - a * c - b * c) / 18)


def triangular_mean(low: float, typical: float, high: float) -> float:
    """Find the mean of a value between two bounds with a likeliest one among them, in their unit [-].

    A plan goes by it: where one bound lies farther off than the other, more come out on that side of the likeliest
    value, and only means add up.

    References
    ----------
    The triangular distribution's first moment, by direct integration.

    Examples
    --------
    >>> triangular_mean(1.0, 2.0, 6.0)
    3.0
    """
    return (low + typical + high) / 3


def scale_division() -> float:
    """Return the last digit of the maker's scale [g].

    Common practice, no published source: a kitchen scale that shows tenths (``weighing.toml``).

    Examples
    --------
    >>> scale_division()
    0.1
    """
    return float(tables.load("weighing")["scale"]["division_g"])


def scale_reading() -> float:
    """Return one standard deviation of a reading off the maker's scale [g].

    References
    ----------
    JCGM 100:2008 (GUM), F.2.2.1, from memory: the resolution of a display as a uniform distribution.

    Examples
    --------
    >>> scale_reading()   # 0.1 / sqrt 12
    0.0289
    """
    return uniform(0.0, scale_division())


def calliper_reading() -> float:
    """Return one standard deviation of a reading off the maker's calliper [mm].

    References
    ----------
    JCGM 100:2008 (GUM), F.2.2.1, from memory: the resolution of a display as a uniform distribution.

    Examples
    --------
    >>> calliper_reading()   # 0.1 / sqrt 12
    0.0289
    """
    return uniform(0.0, float(tables.load("weighing")["calliper"]["division_mm"]))
