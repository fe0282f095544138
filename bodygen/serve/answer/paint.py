"""What is painted on the bait, as shapes of its two flanks for the page to lay over the skin."""

from typing import Any

from bodygen.assessment import Assessment
from bodygen.form.facing import SIDES
from bodygen.kept import Kept
from bodygen.report.pictures.drawn.painted import layers_on
from bodygen.shop.masks.regions import side_view_of

NEAR_MM = 0.03
"""A shape for the screen may stray this far."""
SHOWN = 4
"""Paints of one body that are kept for the next answer."""


def paint_of(a: Assessment) -> dict[str, Any] | None:
    """Each flank's layers from the lowest up: colour ``#rrggbb`` and outlines (x, z) [mm]; None of bare wood.

    ``box``: x0, z0, x1, z1 of the body as seen from the side [mm].
    """
    recipe, shaped = a.recipe, a.shaped
    if not recipe.paints:
        return None
    kept = shaped.base_body.stock.kept.of("painted", lambda: Kept(SHOWN))
    known: dict[str, Any] = kept.of((recipe.paints, recipe.masks, shaped.tools), lambda: _painted(a))
    return known


def _painted(a: Assessment) -> dict[str, Any]:
    view = side_view_of(a.shaped.caster)
    flanks: dict[str, Any] = {
        side: [
            {
                "colour": layer.colour,
                "outlines": [points.round(2).tolist() for points in layer.shape.simplify(NEAR_MM).to_polygons()],
            }
            for layer in layers_on(a, view, side)
        ]
        for side in SIDES
    }
    return {"box": list(view.outline().bounds()), **flanks}
