"""What a maker tells with any trace: the copy's name and units, whether the skin was bare, what the original weighs."""

from argparse import Namespace
from collections.abc import Callable
from dataclasses import dataclass

from bodygen import units
from bodygen.errors import InputError, Mistake
from bodygen.recipe.model import Units


@dataclass(frozen=True, slots=True)
class Told:
    """Of the copy ``name`` and ``units``; of the original ``mass`` [g], ``pitch`` [rad, nose up], ``bare`` of coats."""

    name: str
    units: Units = "mm"
    bare: bool = False
    mass: float | None = None
    pitch: float | None = None


def told_from(options: Namespace, ruler: Units) -> Told:
    """Read the options that every trace has; ``ruler``: what the recipe is written in.

    Raises
    ------
    InputError
        A mass or an angle that is none.
    """
    mistakes: list[Mistake] = []
    mass = option("--mass", options.mass, units.mass, mistakes, "more than 0, such as 14 g", lambda v: 0 < v <= 5000)
    level = units.angle(80)
    pitch = option("--pitch", options.pitch, units.angle, mistakes, "-80 to 80 deg", lambda v: -level <= v <= level)
    if mistakes:
        raise InputError(mistakes)
    return Told(options.name, ruler, options.bare, mass, pitch)


def option(
    name: str,
    written: str | None,
    read: Callable[[str], float],
    mistakes: list[Mistake],
    accepted: str,
    sensible: Callable[[float], bool],
) -> float | None:
    """Read one quantity of the command line; None where it was not given, or is a mistake, which is then noted."""
    if written is None:
        return None
    try:
        value = read(written)
    except units.UnitError as error:
        mistakes.append(Mistake("command line", 0, name, f'"{written}"', error.problem, error.accepted))
        return None
    if not sensible(value):
        mistakes.append(Mistake("command line", 0, name, f'"{written}"', "outside what is accepted.", accepted))
        return None
    return value
