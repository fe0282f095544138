"""One file by itself, where the maker names it: refused where it cannot be, written whole or not at all."""

import os
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


def write_whole(path: Path, content: bytes, what: str) -> None:
    """Write a file that appears whole or not at all, in the place of the one that was there.

    Raises
    ------
    BodygenError
        It cannot be written; ``what`` it is, as in "the table was not written".
    """
    draft = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        with draft.open("xb") as stream:
            stream.write(content)
            stream.flush()
            os.fsync(stream.fileno())
        draft.replace(path)
    except OSError as error:
        msg = f"{path}: {what} was not written: {error.strerror or error}"
        raise BodygenError(msg) from error
    finally:
        draft.unlink(missing_ok=True)


def copy_new(source: Path, folder: Path) -> None:
    """Copy a file into a folder under its own name, where nothing has that name, not even a link that leads nowhere.

    Raises
    ------
    BodygenError
        Something has the name, or it cannot be written.
    """
    try:
        with (folder / source.name).open("xb") as stream:
            stream.write(source.read_bytes())
    except OSError as error:
        msg = f"{source.name}: was not written: {error.strerror or error}"
        raise BodygenError(msg) from error
