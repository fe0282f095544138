"""A recipe to begin with, in no file yet: the commented starter, or a copy in another size."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any, TypeVar

from bodygen.errors import InputError, Mistake
from bodygen.recipe.changes import changed_text
from bodygen.recipe.new import length_of, stem_of
from bodygen.recipe.rewrite import copy_recipe
from bodygen.recipe.starter import USUAL_LENGTH, starter_text
from bodygen.serve.asked import text_of
from bodygen.serve.shelf import place_of
from bodygen.tables import load

T = TypeVar("T")

BOXES = {"--size": "Length", "NAME": "Name"}
"""What the page calls the command's words."""


def by_boxes(read: Callable[..., T], *words: str) -> T:
    """Read what was written into the page's boxes; a mistake is told by the box's name, as there is no command line."""
    try:
        return read(*words)
    except InputError as error:
        told = [replace(one, file="", key=BOXES.get(one.key, one.key)) for one in error.mistakes]
        raise InputError(told) from error


def new_text(document: dict[str, Any], folder: Path) -> dict[str, Any]:
    """The text of a new recipe and the name that its file would have.

    Parameters
    ----------
    document : dict
        ``name``; ``size``, a length as people write it; ``units``, "mm" or "in", and ``family``, an outline, of a
        starter; or ``from``, a recipe to copy.
    folder : Path
        That is opened.

    Raises
    ------
    InputError
        As ``bodygen new``.
    WrongAskError, NoSuchFileError
        No name; no such recipe.
    """
    name = text_of(document, "name", 120)
    stem = by_boxes(stem_of, name)
    ruler = document.get("units") or "mm"
    size = document.get("size") or None
    if ruler not in {"mm", "in"}:
        raise InputError([Mistake("new", 0, "units", str(ruler), "no ruler", "mm or in")])
    length = by_boxes(length_of, str(size), ruler) if size else None
    if document.get("from"):
        text = copy_recipe(place_of(folder, str(document["from"])), name, length=length).recipe
    else:
        text = starter_text(name, ruler, length or USUAL_LENGTH)
        family = document.get("family")
        if family:
            families = load("outlines")["outline"]
            if not isinstance(family, str) or family not in families:
                accepted = ", ".join(families)
                raise InputError([Mistake("new", 0, "family", str(family), "no such outline", accepted)])
            text = changed_text(text, {f"shape.{line}": str(family) for line in ("back", "belly")})
    return {"file": None, "suggested": f"{stem}.toml", "text": text}
