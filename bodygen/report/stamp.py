"""The words on a page that say which program and which recipe made it."""

from bodygen.recipe.model import Recipe
from bodygen.version import VERSION

SHORT = 8
"""Digits of a hash that people compare by eye."""


def stamp(recipe: Recipe, digits: int | None = SHORT) -> str:
    """Name the program's version and so many digits of the recipe's hash, or all for None."""
    return f"bodygen {VERSION}, recipe {'changed, in no file' if recipe.sha256 is None else recipe.sha256[:digits]}"
