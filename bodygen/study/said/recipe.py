"""The recipe that a study is about: found, read, and made ready to be changed a thousand times."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from bodygen.errors import InputError
from bodygen.recipe.changes import changed_text
from bodygen.recipe.read import read_recipe
from bodygen.recipe.rewrite import rewritten
from bodygen.recipe.text.read_context import ReadContext
from bodygen.recipe.text.source_positions import spans
from bodygen.recipe.text.toml_file import content_of, text_of


@dataclass(frozen=True, slots=True)
class Base:
    """The recipe's file, its text without what was true of one piece of wood alone, and where its values stand."""

    path: Path
    text: str
    blank: bool
    units: str
    places: Mapping[str, tuple[int, int]]


def base_of(ctx: ReadContext, written: str) -> Base | None:
    """Find and read the recipe; it lies beside the study or in the folder above, or anywhere if that is allowed.

    Raises
    ------
    InputError
        The recipe has mistakes of its own.
    """
    accepted = "a recipe (.toml) in the study's own folder or the one above"
    try:
        path = (ctx.folder / written).resolve()
        inside = path.is_relative_to(ctx.folder.resolve().parent)
    except (OSError, ValueError, RuntimeError):
        ctx.fault("recipe", "not a path that can be followed.", accepted)
        return None
    if not inside and not ctx.allow_outside:
        ctx.fault("recipe", "leads out of the study's folders.", f"{accepted}; --allow-outside lifts this")
        return None
    if path.suffix.lower() != ".toml" or not path.is_file():
        ctx.fault("recipe", "no such file.", accepted)
        return None
    shown = ctx.folder / written
    recipe = read_recipe(shown, allow_outside=ctx.allow_outside)
    text = text_of(content_of(shown), shown.as_posix())
    if recipe.weighed:
        text = rewritten(text, {"weighed": None})  # readings of one piece, which no design is
    return Base(shown, text, recipe.wood.blank_mass is not None, recipe.units, spans(text))


def with_keys(ctx: ReadContext, base: Base, first: Mapping[str, str], *, board: bool) -> str:
    """Put every varied key into the text, so that a design only changes what stands there.

    Parameters
    ----------
    first : Mapping[str, str]
        A text for each varied key, by the key's path; its order is that of ``vary`` in the study's file.
    board : bool
        Whether the wood's density varies, which takes a weighed blank's place.
    """
    text = rewritten(base.text, {"wood.blank": None}) if board and base.blank else base.text
    for number, (key, value) in enumerate(first.items(), start=1):
        if key in spans(text):
            continue
        try:
            text = changed_text(text, {key: value})
        except InputError as error:
            ctx.fault(f"vary[{number}].key", error.mistakes[0].problem, "a key of what the recipe has")
    return text
