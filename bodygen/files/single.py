"""One picture by itself, in a file that the maker names: SVG or PNG, as the name ends."""

import os
from pathlib import Path

from bodygen.errors import BodygenError, InputError, Mistake
from bodygen.export.png import page_png
from bodygen.export.svg import page_svg
from bodygen.plane.page import PaperPage

ENDINGS = (".svg", ".png")


def check_picture_name(path: Path, option: str) -> None:
    """Refuse a place for a picture that is none.

    Raises
    ------
    InputError
        A name that ends in neither ``.svg`` nor ``.png``: it might be somebody's recipe. Or a folder that is not there.
    """
    problem, accepted = "", ""
    if path.suffix.lower() not in ENDINGS:
        problem, accepted = "no name for a picture", f"a name that ends in {' or '.join(ENDINGS)}"
    elif path.is_dir() or not path.parent.is_dir():
        problem, accepted = "no place for a file", "a file in a folder that is there"
    if problem:
        raise InputError([Mistake("command line", 0, option, f'"{path}"', problem, accepted)])


def write_picture(page: PaperPage, path: Path) -> None:
    """Write a page as a picture; it appears whole or not at all, in the place of the one that was there.

    Raises
    ------
    BodygenError
        It cannot be written.
    """
    made = page_png(page) if path.suffix.lower() == ".png" else page_svg(page).encode()
    draft = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        with draft.open("xb") as stream:
            stream.write(made)
            stream.flush()
            os.fsync(stream.fileno())
        draft.replace(path)
    except OSError as error:
        msg = f"{path}: the picture was not written: {error.strerror or error}"
        raise BodygenError(msg) from error
    finally:
        draft.unlink(missing_ok=True)
