"""One picture by itself, in a file that the maker names: SVG or PNG, as the name ends."""

from pathlib import Path

from bodygen.export.png import page_png
from bodygen.export.svg import page_svg
from bodygen.folder.single_file import refuse_place, write_whole
from bodygen.plane.page import PaperPage

ENDINGS = (".svg", ".png")


def check_picture_name(path: Path, option: str) -> None:
    """Refuse a place for a picture that is none.

    Raises
    ------
    InputError
        A name that ends in neither ``.svg`` nor ``.png``: it might be somebody's recipe. Or a folder that is not there.
    """
    refuse_place(path, option, ENDINGS, "a picture")


def write_picture(page: PaperPage, path: Path) -> None:
    """Write a page as a picture; it appears whole or not at all, in the place of the one that was there.

    Raises
    ------
    BodygenError
        It cannot be written.
    """
    made = page_png(page) if path.suffix.lower() == ".png" else page_svg(page).encode()
    write_whole(path, made, "the picture")
