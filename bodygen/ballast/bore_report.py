"""One ballast bore as it is drilled and filled, in a maker's figures, and as a recipe holds it, in the maker's ruler.

Knows the ledger's items by the bore that they belong to, and the recipe's keys. Knows nothing of what was asked.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import degrees

from bodygen.ballast.layout import along, written
from bodygen.form.bore_words import bit_words, depth_words
from bodygen.recipe.model import Bore, Fill, Recipe, Units
from bodygen.weights.item import Item

Table = dict[str, object]
USUAL = Bore("", "ballast", "belly", 1.0, 1.0)


@dataclass(frozen=True, slots=True)
class BoreReport:
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


def bore_report_of(place: int, recipe: Recipe, items: Sequence[Item], length: float) -> BoreReport:
    """Bore ``place`` of a recipe as drilled and filled, in a body so long [mm]; its metal is what ``items`` say."""
    bore = recipe.bores[place]
    fill = bore.fill or Fill()
    return BoreReport(
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


def bore_table(bore: Bore, units: Units) -> Table:
    """Keys and values of one ``[[bore]]``, tables within it as dicts; what is as usual is left out, as a maker would.

    Lengths [mm] become what a bare number, or a text with its unit, means in a recipe of these ``units``.

    Examples
    --------
    >>> bore_table(Bore("b", "ballast", "belly", 6.35, 12.7, x=25.4, drill="1/4"), "in")["depth"]
    '1/2 in'
    """

    def size(length: float) -> object:
        return written(length, units)

    table: Table = {"name": bore.name, "kind": bore.kind, "from": bore.entry, **_place(bore, units)}
    table |= {"drill": bore.drill} if bore.drill else {"diameter": size(bore.diameter)}
    if bore.depth is not None:
        table |= {"depth": size(bore.depth), "depth_to": bore.depth_to, "tip": bore.tip}
    if bore.tip == "twist" and bore.tip_angle != USUAL.tip_angle:
        table["tip_angle"] = f"{degrees(bore.tip_angle):.6g} deg"
    if bore.mirror:
        table["mirror"] = True
    if bore.closed is not None:
        table["closed"] = bore.closed
    if bore.may_meet:
        table["may_meet"] = list(bore.may_meet)
    if bore.counterbore is not None:
        table["counterbore"] = {"diameter": size(bore.counterbore.diameter), "depth": size(bore.counterbore.depth)}
    if bore.fill is not None:
        table["fill"] = fill_table(bore.fill)
    return table


def _place(bore: Bore, units: Units) -> Table:
    """Where it enters and which way it goes."""
    table: Table = {}
    if bore.x is not None:
        table["x"] = written(bore.x, units)
    table |= {key: written(getattr(bore, key), units) for key in ("offset", "height") if getattr(bore, key)}
    if bore.at is not None:
        table["at"] = [written(value, units) for value in bore.at]
    if bore.direction is not None:
        table["direction"] = [float(f"{value:.6g}") for value in bore.direction]
    if bore.entry == "side":
        table["side"] = bore.side
    if bore.lean:
        table["lean"] = f"{degrees(bore.lean):.6g} deg"
    return table


def fill_table(fill: Fill) -> Table:
    """Keys and values of ``[bore.fill]`` [g, mm].

    Examples
    --------
    >>> fill_table(Fill("lead", mass=4.25))["mass"]
    '4.25 g'
    """
    table: Table = {"metal": fill.metal, "placed": fill.placed, "level": fill.level, "finish": fill.finish}
    if fill.mass is not None:
        table["mass"] = f"{fill.mass:.6g} g"
    if fill.clearance:
        table["clearance"] = f"{fill.clearance:.6g} mm"
    return table
