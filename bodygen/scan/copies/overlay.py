"""The picture of two baits over each other: three views of both, and the map of where they differ."""

from bodygen.form.body import Array
from bodygen.form.facing import END, PLAN, SIDE
from bodygen.mesh.cut import to_manifold
from bodygen.plane.page import PaperPage
from bodygen.report.pictures.floating_view import silhouette
from bodygen.report.pictures.hidden_lines import Trace
from bodygen.scan.copies.specimen import Specimen
from bodygen.scan.picture import ProjectedView, map_page


def overlay_page(meant: Specimen, copy: Specimen, places: Array, off: Array, says: str) -> PaperPage:
    """Draw the map of a copy over what was meant, whose outlines are dashed.

    Parameters
    ----------
    meant, copy : Specimen
        The two.
    places, off : (k, 3) and (k,) arrays
        Where the copy stands proud by how much [mm].
    says : str
        The line below the title.
    """
    views = []
    solids = [(to_manifold(meant.mesh), "hidden"), (to_manifold(copy.mesh), "outline")]
    for sight, name in ((SIDE, "from the left"), (PLAN, "from above"), (END, "from the nose")):
        lines = tuple(
            Trace(points, pen, closed=True, part=pen)  # type: ignore[arg-type]  # mypy widens the pens of a list to str
            for solid, pen in solids
            for points in silhouette(solid, sight).to_polygons()
        )
        views.append(ProjectedView(sight, lines, name))
    what = f"{copy.name} over {meant.name}, dashed"
    return map_page(meant.recipe, what, views, places, off, says)
