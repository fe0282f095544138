"""``[wood]``: a species by one of its names, or the density of the board in hand."""

import re
from functools import lru_cache

from bodygen import tables
from bodygen.recipe.model import Wood
from bodygen.recipe.text.read_context import ReadContext, Values, no_such_name


def read_wood(ctx: ReadContext, values: Values, *, clean: bool) -> Wood:
    """Make the wood; a name that several woods share is refused with all of them."""
    species = _species(ctx, values["species"]) if "species" in values else None
    blank = values.get("blank", {})
    if clean and not values.keys() & {"species", "density_g_cm3", "blank"}:
        ctx.fault("wood", "does not say how heavy the wood is.", "species, density_g_cm3 or a weighed blank")
    if not clean or ctx.mistakes:
        return Wood()
    return Wood(
        species=species,
        moisture_percent=values.get("moisture_percent", Wood().moisture_percent),
        density_g_cm3=values.get("density_g_cm3"),
        blank_mass=blank.get("mass"),
        blank_size=(blank["length"], blank["width"], blank["height"]) if blank else None,
    )


def _species(ctx: ReadContext, written: str) -> str | None:
    table = tables.load("woods")
    name = _plain(written)
    candidates = table["ambiguous"].get(name)
    if isinstance(candidates, list):
        ctx.fault("wood.species", "a name that more than one wood has.", f"say which: {', '.join(candidates)}")
        return None
    names = _names()
    if name not in names:
        no_such_name(ctx, "wood.species", written, tuple(table["wood"]))
    return names.get(name)


@lru_cache(maxsize=1)
def _names() -> dict[str, str]:
    """Every name of a wood, plainly written, and the wood's key."""
    woods = tables.load("woods")["wood"]
    names = {_plain(alias): key for key, row in woods.items() for alias in (row["name"], *row.get("aliases", ()))}
    return names | {key: key for key in woods}


def _plain(name: str) -> str:
    return re.sub(r"[^a-z0-9]+", "_", name.lower()).strip("_")
