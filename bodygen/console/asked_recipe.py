"""The recipe of a command: the name of its file, or the code on its card."""

# ruff: noqa: PLC0415  what a code asks for is not loaded where a file is named

import json
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

OUT = Path("out")
"""Where builds lie unless another place is asked for."""

RECIPE_HELP = "a parameter file (TOML), or the code on its card"


def recipe_path(written: str) -> Path:
    """The file of a recipe: as it was written, or the one in this folder that has the code.

    Raises
    ------
    InputError
        As ``recipe_file``; what lies in ``OUT``, and the log here, tell which recipe had a code once.
    """
    asked = Path(written)
    if asked.suffix or asked.exists():
        return asked
    from bodygen.recipe.coded import recipe_file

    return recipe_file(asked, Path(), _once())


def _once() -> Iterator[tuple[str, str]]:
    """Names and hashes of what was built, or booked in the log of this folder."""
    from bodygen.errors import BodygenError
    from bodygen.folder.own_files import MANIFEST
    from bodygen.log import store

    for manifest in sorted(OUT.glob(f"*/{MANIFEST}")):
        with suppress(OSError, ValueError, AttributeError):
            document = json.loads(manifest.read_text(encoding="utf-8"))
            yield str(document.get("name")), str(document.get("recipe_sha256"))
    with suppress(BodygenError):
        yield from ((build.recipe, build.recipe_sha256) for build in store.read(Path(store.NAME))[0])
