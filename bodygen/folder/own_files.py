"""The maker's own files in a build folder: a note, a photo, whatever no build made moves on into the new set.

They are brought into the new set as second names of the same file (hard links), so that a line appended to a note while
the sets change places lands in the file that stays; where the file system has no links they are copied. After the
exchange the old set is looked at again: what was saved there meanwhile comes along too, and what a maker deleted stays
deleted. Only what is known is removed from the old set, never what turned up a moment ago.

Knows nothing of recipes, nor of how the sets change places (``publish.py``).
"""

import json
import os
import shutil
from collections.abc import Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from bodygen.errors import InputError, Mistake

MANIFEST = "manifest.json"
PASSES = 8
"""How often the old set is looked at again while files keep turning up in it; the next build takes the rest."""


@dataclass(frozen=True, slots=True)
class Stamp:
    """What tells whether a file is still the one that was brought along."""

    number: int
    changed_ns: int
    size: int


def bring_along(old: Path, fresh: Path) -> dict[Path, tuple[Stamp, Stamp]]:
    """Give the new set what the manifest of the old one does not name.

    Returns
    -------
    dict
        By relative path the stamps that each file had, in the old set and in the new one.

    Raises
    ------
    InputError
        A file of the maker's own has the name of one that the build makes.
    """
    brought: dict[Path, tuple[Stamp, Stamp]] = {}
    for name in sorted(_own_names(old)):
        if os.path.lexists(fresh / name):
            problem = "the build would overwrite this file, which no build made"
            accepted = "move it elsewhere, or build into another --out"
            raise InputError([Mistake(str(old / name), 0, "", "", problem, accepted)])
        for folder in _folders_from(old / name):
            (fresh / folder.relative_to(old)).mkdir()
        for path in _files_below(old / name):
            inner = path.relative_to(old)
            with suppress(FileNotFoundError):  # deleted since it was listed
                stamp = _stamp(path)
                _link_or_copy(path, fresh / inner)
                brought[inner] = stamp, _stamp(fresh / inner)
    return brought


def retire(old: Path, target: Path, brought: Mapping[Path, tuple[Stamp, Stamp]]) -> None:
    """Remove the old set once the new one is in ``target``; what was saved into the old one meanwhile moves on."""
    for inner, (_, copied) in brought.items():
        deleted = not os.path.lexists(old / inner)
        if deleted and os.path.lexists(target / inner) and _stamp(target / inner).number == copied.number:
            (target / inner).unlink()
    for _ in range(PASSES):
        ours = _made_by_a_build(old)
        for path in list(_files_below(old)):
            with suppress(FileNotFoundError, IsADirectoryError):
                if path.relative_to(old).parts[0] not in ours:
                    _move_on(path, path.relative_to(old), target, brought)
                path.unlink(missing_ok=True)
        for root, _, _ in os.walk(old, topdown=False):
            with suppress(OSError):  # something turned up: the next look takes it
                Path(root).rmdir()
        if not old.exists():
            return


def _move_on(path: Path, inner: Path, target: Path, brought: Mapping[Path, tuple[Stamp, Stamp]]) -> None:
    """Put a file of the old set into the new one, unless that has it already; of two that differ both stay."""
    there, stamp = target / inner, _stamp(path)
    before, copied = brought.get(inner, (None, None))
    if os.path.lexists(there):
        now = _stamp(there)
        same = now.number == stamp.number or (now.changed_ns, now.size) == (stamp.changed_ns, stamp.size)
        if same or stamp == before:
            return
        if now != copied:
            there = _beside(there)
    elif stamp == before:
        return  # deleted in the new set
    there.parent.mkdir(parents=True, exist_ok=True)
    path.replace(there)


def _beside(path: Path) -> Path:
    """A free name beside one that is taken."""
    count = 1
    while os.path.lexists(free := path.with_name(f"{path.stem} (kept {count}){path.suffix}")):
        count += 1
    return free


def _own_names(folder: Path) -> set[str]:
    if not folder.is_dir():
        return set()
    return {path.name for path in folder.iterdir()} - _made_by_a_build(folder)


def _made_by_a_build(folder: Path) -> set[str]:
    """What the manifest names; of an edited one nothing is known to be ours."""
    try:
        rows = json.loads((folder / MANIFEST).read_text("utf-8"))["files"]
        return {str(row["name"]) for row in rows} | {MANIFEST}
    except FileNotFoundError:
        return set()
    except (ValueError, KeyError, TypeError):
        return {MANIFEST}


def _folders_from(path: Path) -> list[Path]:
    """A folder and all folders in it, the outer ones first; none for a file or a link."""
    return [] if path.is_symlink() or not path.is_dir() else [Path(root) for root, _, _ in os.walk(path)]


def _files_below(path: Path) -> Iterator[Path]:
    """A file or a link itself; of a folder all files and links in it, however deep."""
    if path.is_symlink() or not path.is_dir():
        yield path
        return
    for root, folders, names in os.walk(path):
        for name in [*names, *(f for f in folders if Path(root, f).is_symlink())]:
            yield Path(root, name)


def _link_or_copy(path: Path, to: Path) -> None:
    try:
        os.link(path, to, follow_symlinks=False)
    except FileNotFoundError:
        raise
    except (OSError, NotImplementedError):  # a file system without links, or one that forbids them
        shutil.copy2(path, to, follow_symlinks=False)


def _stamp(path: Path) -> Stamp:
    at = path.lstat()
    return Stamp(at.st_ino, at.st_mtime_ns, at.st_size)
