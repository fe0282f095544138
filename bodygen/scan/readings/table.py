"""The table of readings as a maker types it: the header of stations, columns and rows in any order, cells left empty.

Knows the file. Knows nothing of curves (lines.py).
"""

import csv
import io
import math
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from bodygen import units
from bodygen.errors import InputError, Mistake, did_you_mean
from bodygen.recipe.keys import bounds
from bodygen.recipe.readers.stations import HEADER, MOST_ROWS
from bodygen.recipe.text.files import LARGEST_TEXT
from bodygen.tables import load

Array = NDArray[np.float64]
LENGTHS = {"x": "place_mm", "top": "place_mm", "bottom": "place_mm", "half_width": "line_height_mm"}
MORE = {"width": "line_height_mm", "widest": "place_mm"}
NUMBERS = ("squareness", "squareness_back", "squareness_belly")
FEWEST_ROWS, FEWEST_ON_A_LINE = 5, 4
MOST_TOLD = 20
"""Mistakes of one file that are told; a text in place of a table has thousands."""


@dataclass(frozen=True, slots=True, eq=False)
class Readings:
    """Columns (m,) [mm, squareness -] by rising x from the nose at 0; NaN where nothing was read.

    ``lines`` are the file's own of each row; ``shifted`` was taken off every x [mm]; ``inches``: so it was written.
    """

    file: str
    sha256: str
    x: Array
    top: Array
    bottom: Array
    half_width: Array
    widest: Array
    squareness_back: Array
    squareness_belly: Array
    lines: tuple[int, ...]
    shifted: float = 0.0
    inches: bool = False

    @property
    def length(self) -> float:
        """Nose to tail [mm]."""
        return float(self.x[-1])


def read_readings(path: Path) -> Readings:
    """Read and check a table of readings.

    Raises
    ------
    InputError
        Every mistake found, each with file, line, column, what was written and what is accepted.
    """
    content = _content(path)
    file = path.as_posix()
    try:
        text = content.decode("utf-8-sig")
        rows = [(number, cells) for number, cells in enumerate(csv.reader(io.StringIO(text), strict=True), start=1)]
    except (UnicodeDecodeError, csv.Error):
        raise InputError([Mistake(file, 0, "", "", "not a CSV file in UTF-8.", ",".join(HEADER))]) from None
    rows = [(number, cells) for number, cells in rows if any(c.strip() for c in cells) and cells[0][:1] != "#"]
    if not rows:
        raise InputError([Mistake(file, 0, "", "", "empty.", f"{','.join(HEADER)} and rows of readings below it")])
    columns = _columns(file, *rows[0])
    if len(rows) - 1 > MOST_ROWS:
        raise InputError([Mistake(file, 0, "", "", f"{len(rows) - 1} rows.", f"{FEWEST_ROWS} to {MOST_ROWS} rows")])
    mistakes: list[Mistake] = []
    read = [(number, _row(file, number, cells, columns, mistakes)) for number, cells in rows[1:]]
    if len(read) < FEWEST_ROWS:
        mistakes.append(
            Mistake(file, 0, "", "", f"{len(read)} rows.", f"{FEWEST_ROWS} to {MOST_ROWS} rows of readings")
        )
    if mistakes:
        raise InputError(mistakes[:MOST_TOLD])
    return _checked(file, sha256(content).hexdigest(), read, inches=any(unit == "in" for _, unit in columns))


def _content(path: Path) -> bytes:
    file = path.as_posix()
    problem = ""
    try:
        if path.is_dir():
            problem = "a folder."
        elif not path.is_file():
            problem = "no such file." if not path.exists() else "not a plain file."
        elif path.stat().st_size > LARGEST_TEXT:
            problem = f"larger than {LARGEST_TEXT // 1_000_000} MB."
        else:
            return path.read_bytes()
    except (OSError, ValueError) as error:
        problem = f"cannot be read: {getattr(error, 'strerror', None) or 'not a path that can be followed'}."
    raise InputError([Mistake(file, 0, "", "", problem, f"a CSV file of at most {MOST_ROWS} readings")])


def _columns(file: str, line: int, cells: list[str]) -> list[tuple[str, str]]:
    """Name and unit of each column."""
    known = [f"{name}_mm" for name in (*LENGTHS, *MORE)] + list(NUMBERS)
    accepted = f"{','.join(HEADER)} in any order; also {', '.join(known[4:])}; _in in place of _mm for inches"
    written = ",".join(cell.strip() for cell in cells)[:80]
    mark = next((mark for mark in (";", "\t") if mark in written and "," not in written), "")
    if mark:
        word = "semicolons" if mark == ";" else "tabs"
        problem = f"{word} between the columns; write commas, and decimal points within the numbers."
        raise InputError([Mistake(file, line, "header", written, problem, accepted)])
    columns, mistakes = [], []
    for cell in (cell.strip() for cell in cells):
        name, _, unit = cell.rpartition("_")
        if cell in NUMBERS:
            columns.append((cell, ""))
        elif name in {**LENGTHS, **MORE} and unit in {"mm", "in"}:
            columns.append((name, unit))
        else:
            problem = f"no such column.{did_you_mean(cell, known)}"
            mistakes.append(Mistake(file, line, "header", cell[:60], problem, accepted))
    names = [name for name, _ in columns]
    mistakes += [
        Mistake(file, line, "header", name, "stands twice.", accepted) for name in {*names} if names.count(name) > 1
    ]
    if not mistakes:
        wanted = {"x": {"x"}, "top": {"top"}, "bottom": {"bottom"}, "half_width": {"half_width", "width"}}
        mistakes += [
            Mistake(file, line, "header", "", f"no column {name}_mm.", accepted)
            for name, ways in wanted.items()
            if not ways & {*names}
        ]
    if mistakes:
        raise InputError(mistakes)
    return columns


def _row(
    file: str, line: int, cells: list[str], columns: list[tuple[str, str]], mistakes: list[Mistake]
) -> dict[str, float]:
    """One row's numbers by name; an empty cell is left out."""
    if len(cells) > len(columns):
        problem = f"{len(cells)} cells under {len(columns)} headings."
        mistakes.append(Mistake(file, line, "row", ",".join(cells)[:60], problem, "one cell a column, or an empty one"))
        return {}
    row: dict[str, float] = {}
    for (name, unit), cell in zip(columns, cells, strict=False):
        if not cell.strip():
            continue
        least, most = bounds({**LENGTHS, **MORE}.get(name, "squareness"))
        try:
            value = units.length(cell, unit) if unit else float(cell)
        except (units.UnitError, ValueError):
            value = math.nan
        if not least <= value <= most:
            problem = "not a number." if math.isnan(value) else "outside what is accepted."
            accepted = f"a number from {least:g} to {most:g}{' mm' if unit else ''}, or an empty cell"
            mistakes.append(
                Mistake(file, line, f"{name}_{unit}" if unit else name, cell.strip()[:60], problem, accepted)
            )
        row[name] = value
    if "x" not in row:
        mistakes.append(
            Mistake(file, line, "x_mm", "", "nobody says where this row was read.", "how far from the nose")
        )
    return row


def _checked(file: str, digest: str, read: list[tuple[int, dict[str, float]]], *, inches: bool) -> Readings:
    """The rows in order of x, held against each other."""
    read = sorted(read, key=lambda row: row[1]["x"])
    lines = tuple(number for number, _ in read)

    def column(*names: str) -> Array:
        return np.array([next((row[name] for name in names if name in row), math.nan) for _, row in read])

    x = column("x")
    shifted = float(min(x[0], 0.0))
    half = np.where(np.isnan(column("half_width")), column("width") / 2, column("half_width"))
    back, belly = column("squareness_back", "squareness"), column("squareness_belly", "squareness")
    found = Readings(
        file,
        digest,
        x - shifted,
        column("top"),
        column("bottom"),
        half,
        column("widest"),
        back,
        belly,
        lines,
        shifted,
        inches,
    )
    mistakes = [*_two_widths(file, read), *_contradictions(found)]
    if mistakes:
        raise InputError(mistakes[:MOST_TOLD])
    return found


def _contradictions(found: Readings) -> list[Mistake]:
    """What no body can have: lines that cross, a length that is no bait's, too few readings of a line."""
    if found.x[0] == found.x[-1]:  # nothing else can be said of them
        problem = "every row stands at this x."
        accepted = "each row where it was read, from the nose on"
        return [Mistake(found.file, found.lines[0], "x_mm", f"{found.x[0]:g}", problem, accepted)]
    mistakes = [*_crossings(found), *_nothing_left(found), *_unlike(found)]
    least, most = bounds("body_length_mm")
    if not least <= found.length <= most:
        problem, accepted = (
            "no sensible length of a bait.",
            f"from {least:g} to {most:g} mm from the first row to the last",
        )
        mistakes.append(Mistake(found.file, found.lines[-1], "x_mm", f"{found.length:g}", problem, accepted))
    for name in ("top", "bottom", "half_width"):
        places = len(np.unique(found.x[~np.isnan(getattr(found, name))]))
        if places < FEWEST_ON_A_LINE:
            problem = f"{places} reading{'s' * (places != 1)}."
            accepted = f"{FEWEST_ON_A_LINE} or more of each line, at different x"
            mistakes.append(Mistake(found.file, 0, f"{name}_mm", "", problem, accepted))
    return mistakes


def _crossings(found: Readings) -> list[Mistake]:
    """Rows whose top lies below the bottom, or whose widest line lies outside both."""
    mistakes = []
    for i in np.flatnonzero(found.top < found.bottom):
        accepted = f"more than the bottom's {found.bottom[i]:g}; heights are above the x axis, below it with a minus"
        problem = f"at x = {found.x[i]:g} the top lies below the bottom: the lines cross."
        mistakes.append(Mistake(found.file, found.lines[i], "top_mm", f"{found.top[i]:g}", problem, accepted))
    outside = (found.widest > found.top) | (found.widest < found.bottom)
    for i in np.flatnonzero(outside & (found.top >= found.bottom)):
        problem = f"at x = {found.x[i]:g} the body is widest above its top or below its bottom."
        accepted = f"from the bottom's {found.bottom[i]:g} to the top's {found.top[i]:g}"
        mistakes.append(Mistake(found.file, found.lines[i], "widest_mm", f"{found.widest[i]:g}", problem, accepted))
    return mistakes


def _nothing_left(found: Readings) -> list[Mistake]:
    """Rows between others where the body has no depth or no width."""
    mistakes = []
    for name, what, size in (
        ("top", "depth", found.top - found.bottom),
        ("half_width", "width", found.half_width),
    ):
        some = np.flatnonzero(size > 0)
        inner = np.flatnonzero(size == 0)
        for i in inner[(inner > some[0]) & (inner < some[-1])] if len(some) else ():
            problem = f"at x = {found.x[i]:g} no {what} is left, between rows that have some: it would be two bodies."
            accepted = f"more than {0.0 if name == 'half_width' else found.bottom[i]:g}, or an empty cell"
            written = f"{getattr(found, name)[i]:g}"
            mistakes.append(Mistake(found.file, found.lines[i], f"{name}_mm", written, problem, accepted))
    return mistakes


def _unlike(found: Readings) -> list[Mistake]:
    """Readings of one line at one place that are no two readings of one thing."""
    most = float(load("limits")["readings"]["same_place_mm"])
    mistakes = []
    for name in ("top", "bottom", "half_width", "widest"):
        values = getattr(found, name)
        for i in range(1, len(values)):
            apart = np.abs(values[:i] - values[i])
            for k in np.flatnonzero((found.x[:i] == found.x[i]) & (apart > most))[:1]:
                problem = f"at x = {found.x[i]:g} line {found.lines[k]} has {values[k]:g}: one of the two is a slip."
                accepted = f"within {most:g} mm of each other; leave one of the two cells empty"
                mistakes.append(Mistake(found.file, found.lines[i], f"{name}_mm", f"{values[i]:g}", problem, accepted))
    return mistakes


def _two_widths(file: str, read: list[tuple[int, dict[str, float]]]) -> list[Mistake]:
    """Rows that have a whole and a half width which do not belong to each other."""
    most = float(load("limits")["readings"]["same_place_mm"])
    return [
        Mistake(
            file, line, "width_mm", f"{row['width']:g}", f"half_width_mm says {row['half_width']:g} in this row.",
            "twice the half width; or one of the two cells empty",
        )
        for line, row in read
        if {"width", "half_width"} <= row.keys() and abs(row["width"] - 2 * row["half_width"]) > most
    ]  # fmt: skip
