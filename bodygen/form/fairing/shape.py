"""From a recipe's ``[shape]`` to the body."""

from pathlib import Path

from bodygen.errors import InputError, Mistake
from bodygen.findings import Finding
from bodygen.form.body import Body
from bodygen.form.fairing import drawn, stations
from bodygen.form.fairing.offsets import FoldError, skin_through
from bodygen.recipe.model import MeshFile, Recipe, Stations
from bodygen.tables import load


def body_of(recipe: Recipe) -> Body:
    """The body [mm] of a drawn or measured recipe.

    Raises
    ------
    InputError
        The parameters contradict each other, or the surface through measured rows folds: the nearest is named.
    DesignError
        No surface follows the outlines of a drawn body without folding.
    TypeError
        The body is a mesh, which is taken as it is (``mesh/file.py``) and has no surface of this kind.
    """
    shape = recipe.shape
    if isinstance(shape, MeshFile):
        msg = "a mesh is taken as it is: it has no poles"
        raise TypeError(msg)
    if not isinstance(shape, Stations):
        return drawn.body_of(recipe, shape)
    try:
        return skin_through(stations.offsets_of(shape))
    except FoldError as fold:
        raise _at_nearest_row(recipe, shape, fold) from None


def _at_nearest_row(recipe: Recipe, shape: Stations, fold: FoldError) -> InputError:
    """Word a fold as a mistake of the measured row that is nearest, in the file that it stands in."""
    x = [row[0] for row in shape.rows]
    nearest = min(range(len(x)), key=lambda i: abs(x[i] - fold.x))
    line = shape.lines[nearest] if shape.lines else 0
    file = (Path(recipe.place()[0]).parent / shape.file).as_posix()
    problem = f"the surface through the rows {fold.what} near x = {fold.x:.2f} mm."
    accepted = "check this row and those beside it, or leave one out"
    return InputError([Mistake(file, line, "x_mm", f"{x[nearest]:g}", problem, accepted)])


def shape_checks(recipe: Recipe, sizes: tuple[float, float, float]) -> tuple[Finding, ...]:
    """Doubts about how a shape was written down: very many rows, full widths for half ones.

    ``sizes`` are its length, depth and thickness [mm]. A body far thicker than deep may be meant (flat baits are made),
    so that is a note.

    The limit is common practice, no published source (``limits.toml`` [shape]).
    """
    shape = recipe.shape
    thinned = stations.stations_checks(shape) if isinstance(shape, Stations) else ()
    return thinned + _half_width(recipe, sizes)


def _half_width(recipe: Recipe, sizes: tuple[float, float, float]) -> tuple[Finding, ...]:
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
