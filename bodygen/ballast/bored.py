"""One ballast bore as it is drilled and filled, in a maker's figures.

Knows the ledger's items by the bore that they belong to. Knows nothing of what was asked.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from bodygen.ballast.layout import along
from bodygen.form.bore_words import bit_words, depth_words
from bodygen.recipe.model import Fill, Recipe
from bodygen.weights.item import Item


@dataclass(frozen=True, slots=True)
class Bored:
    """One bore of an offer [mm, g]; ``mass_g`` is the metal in it, both flanks of a mirror pair together.

    ``bit_text`` and ``depth_text`` are what every sheet says of it.
    """

    name: str
    x_mm: float
    diameter_mm: float
    drill: str | None
    depth_mm: float
    bit_text: str
    depth_text: str
    level: float
    metal: str
    placed: str
    mass_g: float


def bored_of(place: int, recipe: Recipe, items: Sequence[Item], length: float) -> Bored:
    """Bore ``place`` of a recipe as drilled and filled, in a body so long [mm]; its metal is what ``items`` say."""
    bore = recipe.bores[place]
    fill = bore.fill or Fill()
    return Bored(
        name=bore.name,
        x_mm=along(bore, length),
        diameter_mm=bore.diameter,
        drill=bore.drill,
        depth_mm=float(bore.depth or 0.0),
        bit_text=bit_words(bore, recipe.units),
        depth_text=depth_words(bore, recipe.units),
        level=fill.level,
        metal=fill.metal,
        placed=fill.placed,
        mass_g=sum(item.mass for item in items if item.kind == "metal" and item.owner == ("bore", place)),
    )
