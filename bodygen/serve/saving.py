"""Saving what is on the page: whole or not at all, and never over a file that somebody changed meanwhile."""

import hashlib
import os
from pathlib import Path
from typing import Any

from bodygen.errors import BodygenError
from bodygen.folder.single_file import copy_new, write_whole
from bodygen.recipe.text.files import LARGEST_TEXT
from bodygen.serve.asked import recipe_text, refuse, text_of
from bodygen.serve.shelf import DEMO, demo_folder, opened, place_of


class ConflictError(BodygenError):
    """The file is not the one that the page read: ``text`` and ``sha256`` are what is there now."""

    def __init__(self, text: str, sha256: str) -> None:
        super().__init__("the file was changed on disk since the page read it; nothing was written")
        self.text, self.sha256 = text, sha256


def save(document: dict[str, Any], folder: Path) -> dict[str, Any]:
    """Write a recipe's text; the page tells the checksum of what it read, null for a new file.

    Raises
    ------
    WrongAskError, NoSuchFileError
        No text; no plain name of the folder.
    ConflictError
        Something else is there.
    BodygenError
        It cannot be written; what was there stays.
    """
    text, file = recipe_text(document), text_of(document, "file", 200)
    before = document.get("sha256_before")
    if before is not None and not isinstance(before, str):
        refuse("sha256_before", "a checksum, or null for a new file")
    if file.startswith(DEMO):
        refuse("file", "a name of your own: a demo stays as it is")
    path = place_of(folder, file)
    if not path.parent.is_dir():
        refuse("file", "a name in the opened folder, or in a folder that is there already")
    if path.exists() and not path.is_file():
        refuse("file", "a plain file")
    content = text.encode("utf-8")

    def is_known() -> bool:
        there = _content(path)
        sha256 = None if there is None else hashlib.sha256(there).hexdigest()
        if sha256 != before:
            text_there = (there or b"").decode("utf-8-sig", errors="replace").replace("\r\n", "\n")
            raise ConflictError(text_there, sha256 or "")
        return there is not None

    if _content(path) != content:  # or all of it is there already: the answer to an earlier try got lost
        is_known()
        _bring_stations(text, path.parent, str(document.get("from") or ""))
        write_whole(path, content, "the recipe", is_known)
    return {"file": file, "sha256": hashlib.sha256(content).hexdigest()}


def _content(path: Path) -> bytes | None:
    """What is there, None where nothing is; that which no page may write over is refused."""
    try:
        with opened(path) as stream:
            content, mode = stream.read(LARGEST_TEXT + 1), os.fstat(stream.fileno()).st_mode
    except FileNotFoundError:
        return None
    except OSError as error:
        msg = f"{path.name}: cannot be read: {error.strerror or error}"
        raise BodygenError(msg) from error
    if len(content) > LARGEST_TEXT:
        refuse("file", f"another name: what lies there is larger than a recipe, {LARGEST_TEXT} bytes")
    if not mode & 0o222:
        refuse("file", "another name: the file there is protected against writing")
    return content


def _bring_stations(text: str, folder: Path, demo: str) -> None:
    """A copy of a demo takes along the table of stations that it names, where none of that name is there."""
    demos = demo_folder()
    if not demo.startswith(DEMO) or demos is None:
        return
    for table in demos.glob("*.csv"):
        if f'"{table.name}"' in text and not (folder / table.name).exists():
            copy_new(table, folder)
