"""From a recipe's ``[shape]`` to the body."""

from bodygen.form import drawn, stations
from bodygen.form.body import Body
from bodygen.form.offsets import Offsets, skin_through
from bodygen.recipe.model import MeshFile, Recipe, Stations


def offsets_of(recipe: Recipe) -> Offsets:
    """The table of offsets of a drawn or measured body (a mesh has none: see mesh/)."""
    shape = recipe.shape
    if isinstance(shape, MeshFile):
        msg = "a mesh has no table of offsets"
        raise TypeError(msg)
    return stations.offsets_of(shape) if isinstance(shape, Stations) else drawn.offsets_of(recipe, shape)


def body_of(recipe: Recipe) -> Body:
    """The body of a drawn or measured recipe.

    Raises
    ------
    InputError
        The parameters contradict each other.
    DesignError
        No surface passes through the stations without folding.
    """
    return skin_through(offsets_of(recipe))
