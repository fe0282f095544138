"""The words on a page that say which program and which recipe made it."""

from bodygen.recipe.model import Recipe
from bodygen.version import SHORT, VERSION, code_of


def stamp(recipe: Recipe, digits: int | None = SHORT) -> str:
    """Name the program's version and so many digits of the recipe's hash, or all for None."""
    return f"bodygen {VERSION}, recipe {code_of(recipe.sha256, digits)}"
