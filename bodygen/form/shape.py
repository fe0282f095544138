"""From a recipe's ``[shape]`` to the body."""

from bodygen.findings import Finding
from bodygen.form import drawn, stations
from bodygen.form.body import Body
from bodygen.form.offsets import skin_through
from bodygen.recipe.model import MeshFile, Recipe, Stations
from bodygen.tables import load


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


def shape_doubts(recipe: Recipe, sizes: tuple[float, float, float]) -> tuple[Finding, ...]:
    """Doubt a body far thicker than deep whose half widths were written down: full ones may have been meant.

    ``sizes`` are its length, depth and thickness [mm]. Flat baits are made, so it is a note.
    """
    shape = recipe.shape
    if isinstance(shape, Stations):
        where, what = "shape.stations", "half_width_mm is half of the thickness"
    elif not isinstance(shape, MeshFile) and shape.thickness is None:
        where, what = "shape.plan", "plan is half of the thickness"
    else:
        return ()
    _, depth, thickness = sizes
    most = float(load("limits")["shape"]["thickness_to_depth"])
    if thickness <= most * depth:
        return ()
    remedy = f"{what}, seen from above: if you measured from side to side, write half of it; else it is a flat bait"
    return (Finding("half-width", "note", where, remedy, thickness / depth, most, "thickness to depth"),)
