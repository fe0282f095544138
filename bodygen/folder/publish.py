"""The build folder: a whole new set of files takes the old one's place at once, or nothing changes.

Everything is written into ``out/.<stem>.new``, flushed to the disk, and then exchanged with ``out/<stem>``. A lock file
``out/.<stem>.lock`` lets builds of one recipe wait for each other; other recipes do not wait. What a kill leaves:

============================================  ===================================  ===============================
killed                                        ``out/<stem>``                       beside it, until the next build
============================================  ===================================  ===============================
while writing, before the exchange            the old set, untouched               ``.new`` (half), ``.lock``
after the exchange, before the clean-up       the new set, whole                   ``.new`` (the old set), ``.lock``
where no exchange exists: between 2 renames   away for now; old set in ``.old``    ``.new`` (whole), ``.lock``
============================================  ===================================  ===============================

The next build in this ``out``, of whatever recipe, puts an ``.old`` back if ``out/<stem>`` is away and removes what is
left over, unless another build holds that lock. A failure that Python sees (an error, a full disk, an interrupt from
the keyboard) cleans up at once. The exchange is Linux' and macOS' own; elsewhere two renames, a few microseconds apart,
stand in for it.

Knows no file format and computes nothing but checksums. Files in the folder that are not in its manifest are the
maker's own and move on into the new set (``own_files.py``).
"""

import ctypes
import errno
import json
import os
import re
import shutil
import sys
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from hashlib import sha256
from pathlib import Path

from bodygen.errors import BodygenError, InputError, Mistake
from bodygen.folder.own_files import MANIFEST, Stamp, bring_along, retire
from bodygen.version import VERSION

if sys.platform != "win32":
    import fcntl

PLAIN_NAME = re.compile(r"\w(?:[\w .+()&-]{0,118}[\w+()&-])?")
"""Letters, digits and a few signs, no separator, no leading dot, no dot or blank at the end."""


@dataclass(frozen=True, slots=True)
class FileRecord:
    """One file of a finished set: what it is for, how long, and the checksum of its bytes."""

    name: str
    purpose: str
    bytes: int
    sha256: str


@dataclass(frozen=True, slots=True)
class Manifest:
    """A finished set: where it lies and what is in it, sorted by name (the manifest itself left out)."""

    folder: Path
    files: tuple[FileRecord, ...]


@dataclass(frozen=True, slots=True)
class Draft:
    """A set that is being written. ``purposes`` maps the names asked for so far to what each file is for."""

    folder: Path
    purposes: dict[str, str] = field(default_factory=dict)

    def add(self, name: str, purpose: str) -> Path:
        """Where to write the file of this name; it goes into the manifest.

        Raises
        ------
        ValueError
            A name that is not plain, or one that was added before.
        """
        taken = {MANIFEST, *(known.casefold() for known in self.purposes)}
        if not PLAIN_NAME.fullmatch(name) or name.casefold() in taken:
            msg = f"{name!r} is no plain file name, or is taken already"
            raise ValueError(msg)
        self.purposes[name] = purpose
        return self.folder / name


def publish(
    out: Path,
    stem: str,
    write: Callable[[Draft], None],
    about: Mapping[str, str] | None = None,
    *,
    replace: bool = False,
) -> Manifest:
    """Have ``write`` make the files of one recipe, then put them in place as ``out/<stem>``, all or none.

    Parameters
    ----------
    out : Path
        The folder of all builds; made if it is not there. Nothing outside it is written.
    stem : str
        Name of the recipe's own folder: a plain name.
    write : callable
        Asks ``draft.add(name, purpose)`` for each path and writes there, and nowhere else.
    about : mapping, optional
        Further entries for the head of the manifest (the recipe's name and checksum).
    replace : bool
        Whether the set of a bait of another ``name`` may be replaced.

    Raises
    ------
    InputError
        A stem that is not a plain name; an ``out`` or something at ``out/<stem>`` that is not a folder of files; a
        lock that leads elsewhere; the set of another bait.
    BodygenError
        ``write`` made a file that it did not add, or did not make one that it added.
    OSError
        The disk is full, or may not be written to. As with everything ``write`` raises, the old set then stands as
        it was.
    """
    if not PLAIN_NAME.fullmatch(stem):
        raise InputError([Mistake(str(out), 0, "", stem, "no name for a folder", f"a name such as {_plain(stem)!r}")])
    target, fresh, old = _places(out, stem)
    _made(out)
    with _locked(out / f".{stem}.lock"):
        _sweep(out)
        _recover(target, fresh, old)
        _refuse_other(target, (about or {}).get("name"), replace=replace)
        swapped, brought = False, {}
        try:
            fresh.mkdir()
            draft = Draft(fresh)
            write(draft)
            records = _records(draft)
            _write_manifest(fresh, stem, records, about or {})
            brought = bring_along(target, fresh)
            _flush(fresh)
            _replace(target, fresh, old)
            swapped = True
            _flush_one(out)
        finally:
            if swapped:
                _put_away([fresh, old], target, brought)
            else:
                _remove(fresh)
    return Manifest(target, records)


def _made(out: Path) -> None:
    """Make the folder of all builds where it is not there."""
    try:
        out.mkdir(parents=True, exist_ok=True)
    except (FileExistsError, NotADirectoryError) as error:
        raise InputError([
            Mistake("command line", 0, "--out", f'"{out}"', "is a file", "a folder, or a name for a new one")
        ]) from error


def _places(out: Path, stem: str) -> tuple[Path, Path, Path]:
    """Where the set of a stem lies, where the new one is made, and where the old one waits between two renames."""
    return out / stem, out / f".{stem}.new", out / f".{stem}.old"


def _refuse_other(target: Path, name: str | None, *, replace: bool) -> None:
    """Refuse to build over what is no folder of files, or is the set of another bait."""
    if target.is_symlink() or (target.exists() and not target.is_dir()):
        raise InputError([Mistake(str(target), 0, "", "", "is not a folder", "a place for a folder of this name")])
    try:
        there = json.loads((target / MANIFEST).read_text("utf-8")).get("name")
    except (OSError, ValueError, AttributeError):  # none yet, or edited
        return
    if there and name and there != name and not replace:
        problem = f'holds the files of "{there}"; this recipe is "{name}"'
        accepted = "--replace, if they are not needed any more; else another --out, or another file name for the recipe"
        raise InputError([Mistake(str(target), 0, "", "", problem, accepted)])


def _plain(stem: str) -> str:
    return re.sub(r"[^\w+()&-]+", "-", stem)[:120].strip("-") or "bait"


def _records(draft: Draft) -> tuple[FileRecord, ...]:
    there = {path.name for path in draft.folder.iterdir()}
    if there != set(draft.purposes):
        msg = f"files made and files named in the manifest differ: {sorted(there ^ set(draft.purposes))}"
        raise BodygenError(msg)
    records = []
    for name in sorted(there):
        content = (draft.folder / name).read_bytes()
        records.append(FileRecord(name, draft.purposes[name], len(content), sha256(content).hexdigest()))
    return tuple(records)


def _write_manifest(folder: Path, stem: str, records: tuple[FileRecord, ...], about: Mapping[str, str]) -> None:
    files = [{"name": r.name, "purpose": r.purpose, "bytes": r.bytes, "sha256": r.sha256} for r in records]
    document = {"format": 1, "stem": stem, "bodygen_version": VERSION, **about, "files": files}
    (folder / MANIFEST).write_text(json.dumps(document, indent=2, ensure_ascii=False) + "\n", "utf-8")


def _sweep(out: Path) -> None:
    """Clear up after killed builds of any recipe: a lock lies there, and nobody holds it."""
    if sys.platform == "win32":
        return
    for lock in sorted(out.glob(".*.lock")):
        stem = lock.name[1 : -len(".lock")]
        if not PLAIN_NAME.fullmatch(stem):
            continue
        try:
            handle = os.open(lock, os.O_RDWR | os.O_NOFOLLOW | os.O_CLOEXEC)
        except OSError:  # gone by now, or none of ours
            continue
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
            if os.fstat(handle).st_ino == lock.stat().st_ino:
                _recover(*_places(out, stem))
                lock.unlink()
        except OSError:  # held: that build is alive; or it may not be removed: then it stays
            continue
        finally:
            os.close(handle)


def _recover(target: Path, fresh: Path, old: Path) -> None:
    """Clear up after a killed build; the lock is held, so that nobody is at work on these."""
    if old.exists() and not target.exists():
        old.rename(target)
    if target.is_dir():
        # a set with its manifest may be the old one, and hold what was saved into it at the last moment
        _put_away([left for left in (fresh, old) if (left / MANIFEST).exists()], target, {})
    _remove(old)
    _remove(fresh)


def _put_away(left: Sequence[Path], target: Path, brought: Mapping[Path, tuple[Stamp, Stamp]]) -> None:
    """Remove old sets but for what the maker saved there meanwhile; the new set stands whatever fails here."""
    for folder in left:
        if folder.is_dir() and not folder.is_symlink():
            with suppress(OSError):
                retire(folder, target, brought)


def _remove(folder: Path) -> None:
    if folder.is_symlink():
        folder.unlink()
    elif folder.exists():
        shutil.rmtree(folder, ignore_errors=True)


def _replace(target: Path, fresh: Path, old: Path) -> None:
    if not target.exists():
        fresh.rename(target)
        return
    if _exchange(fresh, target):
        return
    target.rename(old)
    try:
        fresh.rename(target)
    except BaseException:
        old.rename(target)
        raise


def _exchange(one: Path, other: Path) -> bool:
    """Let two names change places in one step of the file system; False where it has no such step.

    Linux renameat2(2) with RENAME_EXCHANGE = 2 from AT_FDCWD = -100; macOS renamex_np(2) with RENAME_SWAP = 2.
    """
    if sys.platform not in {"linux", "darwin"}:
        return False
    library = ctypes.CDLL(None)
    one_name, other_name = os.fsencode(one), os.fsencode(other)
    if hasattr(library, "renameat2"):
        return bool(library.renameat2(-100, one_name, -100, other_name, 2) == 0)
    if hasattr(library, "renamex_np"):
        return bool(library.renamex_np(one_name, other_name, 2) == 0)
    return False


def _flush(folder: Path) -> None:
    """Every file and folder down to the disk itself, so that a power cut after the exchange finds them whole."""
    for root, _, names in os.walk(folder):
        for path in (*(Path(root, name) for name in names), Path(root)):
            if not path.is_symlink():
                _flush_one(path)


def _flush_one(path: Path) -> None:
    if sys.platform == "win32":
        return  # a handle for reading cannot be flushed there
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


@contextmanager
def _locked(path: Path) -> Iterator[None]:
    """Hold the lock; the file goes away with it. A process that dies lets go of it by dying."""
    if sys.platform == "win32":
        yield  # no flock: two builds of one recipe at once are the maker's own affair there
        return
    while True:
        try:
            handle = os.open(path, os.O_RDWR | os.O_CREAT | os.O_NOFOLLOW | os.O_CLOEXEC, 0o644)
        except OSError as error:
            if error.errno != errno.ELOOP:
                raise
            problem, accepted = "is a link: the build's lock would lie elsewhere", "remove it"
            raise InputError([Mistake(str(path), 0, "", "", problem, accepted)]) from error
        fcntl.flock(handle, fcntl.LOCK_EX)
        with suppress(FileNotFoundError):
            if os.fstat(handle).st_ino == path.stat().st_ino:
                break
        os.close(handle)  # the holder before us removed this file: the lock is now another one
    try:
        yield
    finally:
        path.unlink(missing_ok=True)
        os.close(handle)
