"""Copying a bait that is there: its skin traced into a recipe, other sizes of it, copies held against it."""

from collections.abc import Sequence
from pathlib import Path
from typing import Literal

from bodygen.extras import refuse_missing
from bodygen.recipe.model import Units
from bodygen.scan.copies.compared import Compared
from bodygen.scan.copies.compared import compare as laid_over
from bodygen.scan.copies.family import Family, Kept, make_family
from bodygen.scan.copies.specimen import specimen_of
from bodygen.scan.readings.table import read_readings
from bodygen.scan.readings.trace import traced_from as through_readings
from bodygen.scan.told import Told
from bodygen.scan.written import Written, write_traced


def trace_stations(
    file: Path | str,
    name: str,
    folder: Path | str = ".",
    *,
    units: Units | None = None,
    smooth: float | None = None,
    bare: bool = False,
    mass: float | None = None,
    pitch: float | None = None,
) -> Written:
    """Write a recipe of a bait that was read with callipers.

    Parameters
    ----------
    file : Path or str
        A CSV file with the header of ``shape.stations``, in any order, cells empty where nothing was read.
    name : str
        Of the copy; ``folder`` is where its files go, and nothing there is written over.
    units : "mm" or "in", optional
        What the recipe is written in; as the readings are, where nothing is said.
    smooth : float, optional
        Shorter waves go [mm]; as much as the readings ask for, where nothing is said.
    bare : bool
        Whether the bait had no coats.
    mass, pitch : float, optional
        What the original weighs [g] and how it floats, nose up [rad]: the recipe's goal.

    Returns
    -------
    Written
        What was written, how near it is, what is doubtful and what was guessed.

    Raises
    ------
    InputError, DesignError
        Readings that are none, a file that is there already; no surface follows what was measured.
    """
    readings = read_readings(Path(file))
    ruler: Units = units or ("in" if readings.inches else "mm")
    return write_traced(through_readings(readings, smooth), Told(name, ruler, bare, mass, pitch), Path(folder))


def trace_scan(
    file: Path | str,
    name: str,
    folder: Path | str = ".",
    *,
    units: Literal["auto", "mm", "in", "cm", "m"] = "auto",
    nose: Literal["+x", "-x"] | None = None,
    back: Literal["+z", "-z"] | None = None,
    bare: bool = False,
    mass: float | None = None,
    pitch: float | None = None,
) -> Written:
    """Write a recipe of a bait that was scanned.

    Parameters
    ----------
    file : Path or str
        An STL, OBJ, PLY or 3MF file, open or closed, in any pose.
    units : str
        What the file's numbers are.
    nose, back : str, optional
        Where they point in the file, as far as it lies along its axes.
    name, folder, bare, mass, pitch
        As of ``trace_stations``.

    Returns
    -------
    Written
        What was written, how near it is, what was left out and what was guessed.

    Raises
    ------
    InputError, DesignError
        No mesh, no bait or more than one in it, a file that is there already; no surface follows it.
    """
    refuse_missing({"trace scan": ("scan",)})
    from bodygen.scan.cloud.traced import Asked, traced_from  # noqa: PLC0415  a scan alone needs the extra

    trace, ruler = traced_from(Path(file), Asked(units, nose, back))
    return write_traced(trace, Told(name, ruler, bare, mass, pitch), Path(folder))


def trace_photo(
    side: Path | str,
    name: str,
    folder: Path | str = ".",
    *,
    top: Path | str | None = None,
    page: Literal["a4", "letter"] | None = None,
    span: tuple[tuple[float, float], tuple[float, float], float] | None = None,
    mask: Path | str | None = None,
    thickness: float | None = None,
    nose: Literal["left", "right"] | None = None,
    units: Units = "mm",
    bare: bool = False,
    mass: float | None = None,
    pitch: float | None = None,
) -> Written:
    """Write a recipe of a bait that was photographed on its flank.

    Parameters
    ----------
    side, top : Path or str
        The pictures: lying on its flank; and, where there is one, standing on its belly on the same page.
    page : "a4" or "letter", optional
        Which page of ``bodygen trace page`` it lies on.
    span : ((x, y), (x, y), length), optional
        Instead of a page, two places [px, from the picture's top left] and how far apart they are [mm].
    mask : Path or str, optional
        A picture of strokes over what of ``side`` is no bait.
    thickness : float, optional
        The greatest [mm]; from ``top``, or guessed, where nothing is said.
    nose : "left" or "right", optional
        Where it is in ``side``: left, and told as guessed where the outline does not say so, where nothing is said.
    units : "mm" or "in"
        What the recipe is written in.
    name, folder, bare, mass, pitch
        As of ``trace_stations``.

    Returns
    -------
    Written
        What was written, how exact it is, what was seen besides and what was guessed.

    Raises
    ------
    InputError, DesignError
        No picture, no bait or no page in it, neither page nor span or both, a file that is there already; no surface
        follows what was seen.
    """
    refuse_missing({"trace photo": ("photo",)})
    from bodygen.scan.photo.asked import Pictures, trace_pictures  # noqa: PLC0415  a photograph alone needs the extra
    from bodygen.scan.photo.view import PixelSpan  # noqa: PLC0415

    paths = [None if path is None else Path(path) for path in (top, mask)]
    asked = Pictures(Path(side), paths[0], page, None if span is None else PixelSpan(*span), paths[1], thickness, nose)
    return trace_pictures(asked, Told(name, units, bare, mass, pitch), Path(folder))


def scale(
    recipe: Path | str,
    name: str,
    lengths: Sequence[float],
    folder: Path | str = ".",
    *,
    depth: float | None = None,
    thickness: float | None = None,
    keep: Sequence[Kept] = (),
) -> Family:
    """Write a recipe's bait in other sizes.

    Parameters
    ----------
    recipe : Path or str
        Its file.
    name : str
        Of the copy; of several, each is named after its length besides.
    lengths : sequence of float
        Of the copies [mm].
    folder : Path or str
        Where the copies go; nothing there is written over.
    depth, thickness : float, optional
        Of the copies [mm], where they are not to grow with the length.
    keep : sequence of "reserve", "share" or "pitch"
        What of the float to keep, by solving the ballast anew.

    Returns
    -------
    Family
        The original and its copies, and what did not grow.

    Raises
    ------
    InputError, DesignError
        A recipe with mistakes, a size that is refused, a file that is there already.
    """
    return make_family(Path(recipe), name, lengths, (depth, thickness), keep, Path(folder))


def compare(meant: Path | str, *copies: Path | str, within: float | None = None, units: Units = "mm") -> Compared:
    """Lay copies over what was meant: recipes, meshes, readings.

    Parameters
    ----------
    meant, *copies : Path or str
        Their files.
    within : float, optional
        How far a copy may be off anywhere [mm].
    units : "mm" or "in"
        What the numbers of a mesh are.

    Returns
    -------
    Compared
        How far apart they are, where, and which way the hand errs.

    Raises
    ------
    InputError, DesignError
        A file that is none of these, or has mistakes.
    """
    return laid_over([specimen_of(Path(path), units) for path in (meant, *copies)], within)
