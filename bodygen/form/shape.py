"""From a recipe's ``[shape]`` to the body."""

from bodygen.form import drawn, stations
from bodygen.form.body import Body
from bodygen.form.offsets import skin_through
from bodygen.recipe.model import MeshFile, Recipe, Stations


def body_of(recipe: Recipe) -> Body:
    """The body of a drawn or measured recipe.

    Raises
    ------
    InputError
        The parameters contradict each other.
    DesignError
        No surface passes through the stations without folding.
    TypeError
        The body is a mesh, which is taken as it is (``mesh/file.py``) and has no surface of this kind.
    """
    shape = recipe.shape
    if isinstance(shape, MeshFile):
        msg = "a mesh is taken as it is: it has no poles"
        raise TypeError(msg)
    return skin_through(stations.offsets_of(shape)) if isinstance(shape, Stations) else drawn.body_of(recipe, shape)
