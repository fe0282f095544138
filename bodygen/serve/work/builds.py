"""A build for the page: every file of the bait as it stands there, in ``out`` of the opened folder; its cautions."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

from bodygen.building import build
from bodygen.files.kinds import KINDS
from bodygen.folder.own_files import MANIFEST
from bodygen.recipe.model import Recipe
from bodygen.recipe.read import parse_recipe
from bodygen.recipe.rewrite import file_name
from bodygen.report.overview.entries import what_for
from bodygen.report.sheet import caution_keys, cautions
from bodygen.tables import load

OUT = "out"


def built(
    text: str, file: str, folder: str, own_name: str | None, only: str | None, say: Callable[[int, int, str], None]
) -> dict[str, Any]:
    """Make every file.

    Parameters
    ----------
    text, file : str
        The recipe, and where it lies.
    folder : str
        That is opened: the files go into its ``out``.
    own_name : str or None
        Of the folder of files; left out, that of the bait.
    only : str or None
        Kinds of files ("card,lip"); left out, all.
    say : callable
        Is told how many kinds are made, of how many, and which is next.

    Raises
    ------
    InputError, DesignError, MissingExtraError
        As ``bodygen build``.
    """
    recipe = parse_recipe(text, file)
    stem, done = own_name or file_name(recipe.name), 0

    def told(what: str) -> None:
        nonlocal done
        say(done, len(KINDS) + 1, what)
        done += 1

    made = build(recipe, Path(folder) / OUT, stem, only, say=told)
    of_all = [{"title": title, "text": words} for title, words in cautions(recipe)]
    care = _of_files(recipe, made.manifest.folder)
    files = [
        {"name": r.name, "what": r.purpose, "bytes": r.bytes, "cautions": care.get(r.name, [])}
        for r in made.manifest.files
    ]
    itself = made.manifest.folder / MANIFEST
    files.append({"name": MANIFEST, "what": what_for(MANIFEST), "bytes": itself.stat().st_size, "cautions": []})
    return {
        "folder": f"{OUT}/{made.manifest.folder.name}",
        "stem": made.manifest.folder.name,
        "files": files,
        "cautions": of_all,
        "defer": load("cautions")["defer"]["text"],
    }


def _of_files(recipe: Recipe, folder: Path) -> dict[str, list[str]]:
    """Titles of what to take care of where each file is used, as far as this bait calls for it."""
    table, done_with = load("cautions")["caution"], load("serve")["done_with"]
    kinds = json.loads((folder / MANIFEST).read_text("utf-8"))["kinds"]
    keys = caution_keys(recipe)
    return {
        name: [table[key]["title"] for key in keys if {*table[key]["when"]} & {*done_with.get(kind, ())}]
        for kind, row in kinds.items()
        for name in row["files"]
    }
