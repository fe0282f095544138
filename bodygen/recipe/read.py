"""Reading a parameter file: one page from the bytes to a checked ``Recipe``, or every mistake in it at once.

Knows TOML and the order of the tables. What a table's keys mean together is in the module named after the table.
"""

from collections.abc import Mapping
from functools import partial
from pathlib import Path
from typing import Any

from bodygen.errors import InputError, Mistake, visible
from bodygen.recipe.keys import FORMAT, RECIPE
from bodygen.recipe.model import Limits, LineOut, Recipe, Retrieve, Source, Water, read_from
from bodygen.recipe.readers.bores import read_bores, read_wire_slots
from bodygen.recipe.readers.finish import read_finish, read_paints
from bodygen.recipe.readers.goal import read_goal
from bodygen.recipe.readers.items import read_coats, read_fittings, read_weighed
from bodygen.recipe.readers.lip import read_lip
from bodygen.recipe.readers.masks import read_masks
from bodygen.recipe.readers.shape import read_shape
from bodygen.recipe.readers.shop import read_shop
from bodygen.recipe.readers.wood import read_wood
from bodygen.recipe.text.files import digest
from bodygen.recipe.text.read_context import ReadContext, read_table
from bodygen.recipe.text.source_positions import Later, Place, places
from bodygen.recipe.text.toml_file import content_of, text_of, toml_of


def read_recipe(path: Path | str, *, allow_outside: bool = False) -> Recipe:
    """Read and check a parameter file.

    Parameters
    ----------
    path : Path or str
        The TOML file; the files it names lie in its folder.
    allow_outside : bool
        Let it name files outside its own folder.

    Returns
    -------
    Recipe
        Lengths [mm], masses [g], angles [rad].

    Raises
    ------
    InputError
        Every mistake found, each with file, line, key, what was written and what is accepted.
    """
    path = Path(path)
    return recipe_from_bytes(content_of(path), path, allow_outside=allow_outside)


def parse_recipe(text: str, file: Path | str = "recipe.toml", *, allow_outside: bool = False) -> Recipe:
    """Read and check the text of a parameter file.

    Parameters
    ----------
    text : str
        TOML, as it would stand in the file.
    file : Path or str
        Where messages say that it stands, and in whose folder the files lie that it names; nothing need be there.
    allow_outside : bool
        Let it name files outside that folder.

    Returns
    -------
    Recipe
        Lengths [mm], masses [g], angles [rad].

    Raises
    ------
    InputError
        As ``read_recipe``.
    """
    return recipe_from_bytes(text.encode(), Path(file), allow_outside=allow_outside)


def recipe_from_bytes(
    content: bytes, path: Path, *, allow_outside: bool = False, raw: dict[str, Any] | None = None
) -> Recipe:
    """Read a recipe that is not, or not yet, what the file at ``path`` holds; raises as ``read_recipe``.

    ``raw`` is what ``toml_of`` gives for it, where that is known.
    """
    file = path.as_posix()
    text = text_of(content, file)
    if raw is None:
        raw = toml_of(text, file)
    found = Later(partial(_places, text, file))
    ctx = ReadContext(file, path.parent, found, allow_outside)
    if raw.get("units") in RECIPE["units"].choices:
        ctx.units = str(raw["units"])
    values = read_table(ctx, "", raw, RECIPE)
    if values.get("format", FORMAT) != FORMAT:
        ctx.fault("format", "a format this version does not know.", f"format = {FORMAT}")
    wood_clean = not any(mistake.key.startswith("wood") for mistake in ctx.mistakes)
    wood = read_wood(ctx, values.get("wood", {}), clean=wood_clean and "wood" in values)
    shape = read_shape(ctx, values["shape"]) if "shape" in values else None
    bores = read_bores(ctx, values.get("bore", ()))
    wire_slots = read_wire_slots(ctx, values.get("wire_slot", ()))
    lip = read_lip(ctx, values["lip"]) if "lip" in values else None
    fittings = read_fittings(ctx, values.get("fitting", ()), bores, wire_slots)
    coats = read_coats(ctx, values.get("coat", ()))
    masks = read_masks(ctx, values.get("mask", ()))
    paints = read_paints(ctx, values.get("paint", ()), masks)
    finish = read_finish(ctx, values["finish"]) if "finish" in values else None
    shop = read_shop(ctx, values.get("shop", {}))
    goal = read_goal(ctx, values["goal"]) if "goal" in values else None
    if ctx.mistakes or shape is None:
        raise InputError(ctx.mistakes)
    try:
        sha256 = digest(content, ctx.named)
    except OSError as error:
        raise InputError([Mistake(file, 0, "", "", f"cannot read a file it names: {error.strerror}.")]) from None
    recipe = Recipe(
        name=values.get("name", visible(path.stem)),
        units="in" if ctx.units == "in" else "mm",
        shape=shape,
        wood=wood,
        bores=bores,
        wire_slots=wire_slots,
        lip=lip,
        fittings=fittings,
        coats=coats,
        masks=masks,
        paints=paints,
        finish=finish,
        water=Water(**values.get("water", {})),
        line=LineOut(**values["line"]) if "line" in values else None,
        retrieve=Retrieve(**values["retrieve"]) if "retrieve" in values else None,
        limits=Limits(**values.get("limits", {})),
        shop=shop,
        goal=goal,
        weighed=read_weighed(values.get("weighed", {})),
    )
    return read_from(recipe, Source(file, sha256, Later(partial(_lines, found))))


def _places(text: str, file: str) -> dict[str, Place]:
    """Where everything stands, of a text that ``tomllib`` has read with more room for what lies inside each other."""
    try:
        return places(text)
    except RecursionError:
        raise InputError([Mistake(file, 0, "", "", "tables or lists too deep inside each other.")]) from None


def _lines(found: Mapping[str, Place]) -> dict[str, int]:
    return {key: place.line for key, place in found.items()}
