"""The shop's drills and how finely it measures: which sizes there are, and to which step a depth is set.

Knows what can be bought and what the recipe narrows it to. Knows nothing of what is bored.
"""

from fractions import Fraction

from bodygen import tables
from bodygen.recipe.bores import SAME_DRILL, drill_sizes
from bodygen.recipe.model import Recipe, Units
from bodygen.units import INCH, inch_fraction

SAME_MM = 1e-6


def step(units: Units) -> float:
    """What depths and places are rounded to [mm]: 1/64 in or 0.5 mm."""
    return float(INCH / 64) if units == "in" else float(tables.load("ballast")["steps"]["metric_mm"])


def rounded(length: float, units: Units) -> float:
    """Round a length [mm] to the shop's step, exactly.

    >>> rounded(17.2, "in")
    17.0656
    >>> rounded(17.2, "mm")
    17.0
    """
    exact = INCH / 64 if units == "in" else Fraction(tables.load("ballast")["steps"]["metric_mm"])
    return float(round(Fraction(length) / exact) * exact)


def steps_around(length: float, units: Units) -> tuple[float, ...]:
    """The shop's steps on either side of a length [mm], above 0; the one where it lies on a step.

    >>> steps_around(17.2, "mm")
    (17.0, 17.5)
    """
    exact = INCH / 64 if units == "in" else Fraction(tables.load("ballast")["steps"]["metric_mm"])
    below = Fraction(length) // exact
    near = [float(count * exact) for count in (below, below + 1) if count > 0]
    return tuple(one for one in near if abs(one - length) < SAME_MM) or tuple(near)


def written(length: float, units: Units) -> object:
    """Write a length [mm] as a recipe has it: ``'43/64 in'`` or a number of mm; with its unit where off the steps."""
    if abs(rounded(length, units) - length) > SAME_MM:
        return f"{length:.7g} mm"
    return f"{inch_fraction(length / float(INCH))} in" if units == "in" else round(length, 6)


def name_of(diameter: float) -> str | None:
    """Name that a drill [mm] is sold under, None where none is."""
    return next((name for name, size in drill_sizes().items() if abs(size - diameter) < SAME_DRILL), None)


def shop_set(recipe: Recipe, thickness: float) -> tuple[float, ...]:
    """Drills to try for ballast in a body so thick [mm]: the goal's own list, else the set of the recipe's ruler [mm].

    Sizes below the least that holds metal worth the name, or wider than a share of the body, are left out of a set.
    """
    if recipe.goal is not None and recipe.goal.drills:
        return tuple(sorted(set(recipe.goal.drills)))
    table, rule = tables.load("drills"), tables.load("ballast")["drills"]
    sizes = [float(d) for d in (table["fractional_inch"]["mm"] if recipe.units == "in" else table["metric"]["set_mm"])]
    widest = float(rule["most_share_of_thickness"]) * thickness
    usual = tuple(d for d in sizes if float(rule["least_mm"]) <= d <= widest)
    if usual:
        return usual
    thin = [d for d in sizes if d <= widest]  # a thin body takes what drill it can
    return (max(thin) if thin else min(sizes),)
