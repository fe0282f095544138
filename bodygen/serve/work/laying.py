"""A scan dropped on the page and laid over its bait: outlines and triangles to draw, and how far it departs.

It is read within the bounds of a scan that is traced. Nothing is written, nothing is weighed.
"""

from typing import Any

import numpy as np

from bodygen.errors import InputError, Mistake
from bodygen.extras import refuse_missing
from bodygen.recipe.read import parse_recipe
from bodygen.serve.answer.drawing import AIR, VIEWS
from bodygen.serve.work.dropped import SCANS, uploaded


def laid(upload: str, name: str, text: str, file: str) -> dict[str, Any]:
    """Lay an uploaded scan over the bait of a recipe's text.

    Parameters
    ----------
    upload, name : str
        Where the server put what came in, and the file's own name.
    text, file : str
        The recipe as it is on the page, and where it lies.

    Raises
    ------
    InputError, MissingExtraError
        As ``bodygen trace scan``; a mistake in the recipe.
    """
    recipe = parse_recipe(text, file)
    refuse_missing({"a scan": ("scan",)})
    from bodygen.scan.copies.laid import departure, lay_scan, outline  # noqa: PLC0415  it needs the extra

    with uploaded(upload, name) as source:
        if source.suffix not in SCANS:
            problem = "not a kind of file that is laid over a bait."
            raise InputError([Mistake(str(source), 0, "", "", problem, f"a scan ({', '.join(SCANS)})")])
        found = lay_scan(source, recipe)
    drawn = found.drawn
    lines = {name: outline(drawn, VIEWS[name]) for name in VIEWS if name != "section"}
    notes = [str(guess) for guess in found.guessed]
    if found.turned_deg is not None:
        notes.insert(0, f"turned by {found.turned_deg:.0f} deg to lie where it fits best")
    return {
        "name": name,
        "turned_deg": found.turned_deg,
        "sentence": str(departure(recipe, found.places)),
        "sentences": notes,
        "places": np.round(found.places, 3).tolist(),
        "air": AIR,
        "views": {view: [np.round(line, 3).tolist() for line in some] for view, some in lines.items()},
        "positions": np.round(drawn.vertices, 4).ravel().tolist(),
        "index": drawn.faces.ravel().tolist(),
    }


def departed(text: str, file: str, places: list[list[float]]) -> dict[str, Any]:
    """How far what was laid over a bait departs from it as it is now; ``places`` (k, 3) [mm] are those of ``laid``.

    Raises
    ------
    InputError, DesignError
        A mistake in the recipe.
    """
    from bodygen.scan.copies.laid import departure  # noqa: PLC0415  as above

    return {"sentence": str(departure(parse_recipe(text, file), np.array(places, dtype=float)))}
