"""One file by itself, where the maker names it: refused where it cannot be, written whole or not at all."""

import errno
import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from bodygen.errors import BodygenError, InputError, Mistake


def refuse_place(path: Path, option: str, endings: tuple[str, ...], what: str) -> None:
    """Refuse a place that a file of such an ending cannot have.

    Parameters
    ----------
    path : Path
        As the maker wrote it.
    option : str
        That it was written for.
    endings : tuple of str
        Of its name, such as ".csv": another might be somebody's recipe.
    what : str
        What it is, as in "no name for a CSV file".

    Raises
    ------
    InputError
        A name that ends otherwise, or a folder that is not there.
    """
    problem, accepted = "", ""
    if path.suffix.lower() not in endings:
        problem, accepted = f"no name for {what}", f"a name that ends in {' or '.join(endings)}"
    elif path.is_dir() or not path.parent.is_dir():
        problem, accepted = "no place for a file", "a file in a folder that is there"
    if problem:
        raise InputError([Mistake("command line", 0, option, f'"{path}"', problem, accepted)])


def write_whole(path: Path, content: bytes, what: str, last_look: Callable[[], bool] = lambda: True) -> None:
    """Write a file that appears whole or not at all, in the place of the one that was there, open to the same people.

    Parameters
    ----------
    path, content : Path and bytes
        The file.
    what : str
        It is, as in "the table was not written".
    last_look : callable
        Asked when all of it is on the disk, just before it takes its place: whether a file may be there. Where it says
        no, the new one takes no other's place. What it raises ends it.

    Raises
    ------
    BodygenError
        It cannot be written, or something is there that may not be.
    """
    try:
        with _drafted(path, content) as draft:
            if path.exists():
                draft.chmod(path.stat().st_mode & 0o777)
            if last_look():
                draft.replace(path)
            else:
                _take_free_place(draft, path)
    except OSError as error:
        msg = f"{path}: {what} was not written: {error.strerror or error}"
        raise BodygenError(msg) from error


def copy_new(source: Path, folder: Path) -> None:
    """Copy a file into a folder under its own name, where nothing has that name, not even a link that leads nowhere.

    It is there whole or not at all.

    Raises
    ------
    BodygenError
        Something has the name, or it cannot be written.
    """
    try:
        with _drafted(folder / source.name, source.read_bytes()) as draft:
            _take_free_place(draft, folder / source.name)
    except OSError as error:
        msg = f"{source.name}: was not written: {error.strerror or error}"
        raise BodygenError(msg) from error


@contextmanager
def _drafted(path: Path, content: bytes) -> Iterator[Path]:
    """The content beside its place and down on the disk; what is left of it afterwards goes."""
    draft = path.with_name(f".{path.name}.{os.getpid()}.part")
    draft.unlink(missing_ok=True)  # of a process of that number that was killed
    try:
        with draft.open("xb") as stream:
            stream.write(content)
            stream.flush()
            os.fsync(stream.fileno())
        yield draft
    finally:
        draft.unlink(missing_ok=True)


def _take_free_place(draft: Path, path: Path) -> None:
    """Give a draft its name, where nothing has that."""
    try:
        os.link(draft, path)
    except FileExistsError:
        raise
    except OSError:  # a file system on which nothing has two names
        if os.path.lexists(path):
            raise FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST), str(path)) from None
        draft.rename(path)
