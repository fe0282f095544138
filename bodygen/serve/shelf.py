"""What lies on the shelf: the recipes of the opened folder and the demos; and that nothing outside is ever reached.

A name from outside is taken from the folder, links followed, and must end up inside it.
"""

import errno
import hashlib
import os
import re
import stat
import sysconfig
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, BinaryIO

from bodygen.errors import BodygenError, visible
from bodygen.extras import EXTRAS, missing
from bodygen.recipe.text.files import LARGEST_TEXT
from bodygen.tables import load
from bodygen.version import VERSION

DEMO = "demo:"
FIRST_DEMO = "perch"
"""In the name of the demo that lies on the bench where a folder has no recipe of its own."""
MOST_SHOWN = 500
"""Recipes of one folder that are listed; the rest are opened by their names."""
_NAME = re.compile(r'^name\s*=\s*"([^"\n]{1,120})"', re.MULTILINE)
_ABOUT = re.compile(r"^#\s*(?!:)(.+)", re.MULTILINE)
_PLAIN = re.compile(r"[^\x00-\x1f\x7f\\:*?\"<>|\ud800-\udfff]{1,200}")
_PLAIN_ONLY = sum(getattr(os, flag, 0) for flag in ("O_NOFOLLOW", "O_NONBLOCK", "O_BINARY"))
HEAD = 4000
"""Characters of a recipe in which its name stands."""


class NoSuchFileError(BodygenError):
    """A name that leads to no file of the opened folder."""


def demo_folder() -> Path | None:
    """Where the demos lie: beside the sources, or where the wheel put them; None where neither has any."""
    beside = Path(__file__).parents[2] / "params"
    installed = Path(sysconfig.get_path("data")) / "share" / "bodygen" / "params"
    return next((folder for folder in (beside, installed) if any(folder.glob("*.toml"))), None)


def shelf(folder: Path) -> dict[str, Any]:
    """All that may be begun with; ``first`` is what a page begins with that names none, None where there is none."""
    folder_of_demos = demo_folder()
    recipes = [_told(path) for path in _recipes(folder)]
    demos = [_demo(path) for path in (sorted(folder_of_demos.glob("*.toml")) if folder_of_demos else [])]
    order = [*recipes, *sorted(demos, key=lambda demo: FIRST_DEMO not in demo["file"])]
    outlines = load("outlines")["outline"]
    return {
        "folder": visible(str(folder)),
        "recipes": recipes,
        "demos": demos,
        "first": order[0]["file"] if order else None,
        "families": [{"name": name, "suits": row["suits"]} for name, row in outlines.items()],
        "extras": {extra: not missing([extra]) for extra in EXTRAS if extra != "page"},
        "version": VERSION,
    }


def _recipes(folder: Path) -> Iterator[Path]:
    found = sorted(folder.glob("*.toml"), key=lambda path: path.name)
    readable = (path for path in found if _is_plain(path.name) and _within(folder, path))
    for count, path in enumerate(readable):
        if count == MOST_SHOWN:
            return
        text = _start(path)
        if "[shape]" in text or _NAME.search(text):
            yield path


def _within(folder: Path, path: Path) -> bool:
    try:
        return path.resolve().is_relative_to(folder.resolve()) and path.is_file()
    except (OSError, RuntimeError, ValueError):
        return False


def _start(path: Path) -> str:
    try:
        with opened(path.resolve()) as stream:
            return stream.read(HEAD).decode("utf-8", errors="replace")
    except OSError:
        return ""


def _told(path: Path) -> dict[str, str]:
    named = _NAME.search(_start(path))
    try:
        changed = datetime.fromtimestamp(path.stat().st_mtime, UTC).isoformat(timespec="seconds")
    except (OSError, OverflowError, ValueError):  # it is gone again, or of a day that no calendar has
        changed = ""
    return {"file": path.name, "name": named[1] if named else path.stem, "changed": changed}


def _demo(path: Path) -> dict[str, str]:
    text = _start(path)
    named, about = _NAME.search(text), _ABOUT.search(text)
    return {
        "file": f"{DEMO}{path.stem}",
        "name": named[1] if named else path.stem,
        "sentence": about[1] if about else "",
    }


def place_of(folder: Path, file: str | None) -> Path:
    """Where a recipe lies, or would lie, that a page names: in the folder, or among the demos.

    Raises
    ------
    NoSuchFileError
        No plain name of a recipe, or one that leads out of the folder.
    """
    if file is None:
        return folder / "new.toml"
    if file.startswith(DEMO):
        demos, stem = demo_folder(), file.removeprefix(DEMO)
        path = demos / f"{stem}.toml" if demos and re.fullmatch(r"[a-z0-9-]{1,80}", stem) else None
        if path is None or not path.is_file():
            msg = "no such demo"
            raise NoSuchFileError(msg)
        return path
    path = inside(folder, file)
    if path.suffix.lower() != ".toml":
        msg = "a recipe's file ends in .toml"
        raise NoSuchFileError(msg)
    return path


def _is_plain(name: str) -> bool:
    return _PLAIN.fullmatch(name) is not None and not any(step[:1] in {"", "."} for step in name.split("/"))


def inside(folder: Path, name: str) -> Path:
    """The place of a plain name within a folder, links followed.

    Raises
    ------
    NoSuchFileError
        It is no plain relative name, is hidden, or leads out of the folder.
    """
    if not _is_plain(name):
        msg = "no name of a file in the opened folder"
        raise NoSuchFileError(msg)
    try:
        path = (folder / name).resolve()
        within = path.is_relative_to(folder.resolve())
    except (OSError, RuntimeError, ValueError):
        within = False
    if not within:
        msg = "leads out of the opened folder"
        raise NoSuchFileError(msg)
    return path


def opened(path: Path) -> BinaryIO:
    """A plain file to read: not a link that took its place since ``inside`` looked, nor a pipe that one waits for.

    Raises
    ------
    OSError
        It is not there, is nothing of that kind, or may not be read.
    """
    handle = os.open(path, os.O_RDONLY | _PLAIN_ONLY)
    stream = os.fdopen(handle, "rb")
    if not stat.S_ISREG(os.fstat(handle).st_mode):
        stream.close()
        raise OSError(errno.EINVAL, "not a plain file", str(path))
    return stream


def read(folder: Path, file: str) -> dict[str, Any]:
    """A recipe's text and checksum; a demo comes as a copy that is in no file yet.

    Raises
    ------
    NoSuchFileError
        It is not there, is no plain file, or is too large.
    """
    path = place_of(folder, file)
    try:
        with opened(path) as stream:
            content = stream.read(LARGEST_TEXT + 1)
        if len(content) > LARGEST_TEXT:
            msg = "too large for a recipe"
            raise NoSuchFileError(msg)
        text = content.decode("utf-8-sig").replace("\r\n", "\n")
    except FileNotFoundError:
        msg = "no such recipe"
        raise NoSuchFileError(msg) from None
    except (OSError, ValueError):
        msg = "cannot be read as a recipe"
        raise NoSuchFileError(msg) from None
    copy = file.startswith(DEMO)
    return {
        "file": None if copy else file,
        "from": file,
        "text": text,
        "sha256": None if copy else hashlib.sha256(content).hexdigest(),
    }
