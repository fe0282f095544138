"""Stations: the CSV of measured sections that a recipe may name instead of parameters.

Knows the file's header and what a row may say. Knows nothing of the surface through them (form/).
"""

import csv
import io
import math
from itertools import pairwise
from pathlib import Path

from bodygen.errors import Mistake
from bodygen.recipe.keys import bounds
from bodygen.recipe.model import Stations
from bodygen.recipe.text.files import LARGEST_TEXT, named_file
from bodygen.recipe.text.read_context import ReadContext

HEADER = ("x_mm", "top_mm", "bottom_mm", "half_width_mm")
SQUARENESS = "squareness"
FEWEST_ROWS = 5
MOST_ROWS = 5000
_RANGES = {
    "x_mm": "place_along_mm",
    "top_mm": "place_mm",
    "bottom_mm": "place_mm",
    "half_width_mm": "line_height_mm",
    "squareness": "squareness",
}
Row = tuple[float, float, float, float, float]


def read_stations(ctx: ReadContext, key: str, name: str) -> Stations | None:
    """Read and check the stations file; its mistakes carry its own name and lines."""
    path = named_file(ctx, key, name, (".csv",), LARGEST_TEXT)
    if path is None:
        return None
    file = (Path(ctx.file).parent / name).as_posix()
    before = len(ctx.mistakes)
    try:
        text = path.read_text(encoding="utf-8-sig")
        lines = [(number, cells) for number, cells in enumerate(csv.reader(io.StringIO(text), strict=True), start=1)]
    except (OSError, UnicodeDecodeError, csv.Error):
        ctx.mistakes.append(Mistake(file, 0, "", "", "not a CSV file in UTF-8.", ",".join(HEADER)))
        return None
    lines = [(number, cells) for number, cells in lines if any(c.strip() for c in cells) and cells[0][:1] != "#"]
    columns = tuple(cell.strip() for cell in lines[0][1]) if lines else ()
    if columns not in {HEADER, (*HEADER, SQUARENESS)}:
        written = ",".join(columns)
        accepted = f"{','.join(HEADER)} and optionally ,{SQUARENESS}"
        mark = next((mark for mark in (";", "\t") if mark in written), "")
        problem = "not the header."
        if mark:
            name = "semicolons" if mark == ";" else "tabs"
            problem = f"{name} between the columns; write commas, and decimal points within the numbers."
        ctx.mistakes.append(Mistake(file, lines[0][0] if lines else 1, "header", written, problem, accepted))
        return None
    rows = [(number, _row(ctx, file, number, cells, columns)) for number, cells in lines[1:]]
    good = [(number, row) for number, row in rows if row is not None]
    if not FEWEST_ROWS <= len(rows) <= MOST_ROWS:
        problem = f"{len(rows)} rows."
        ctx.mistakes.append(Mistake(file, 0, "", "", problem, f"{FEWEST_ROWS} to {MOST_ROWS} rows below the header"))
    elif len(good) == len(rows):
        _check(ctx, file, good)
    if len(ctx.mistakes) > before:
        return None
    return Stations(name, tuple(row for _, row in good), tuple(number for number, _ in good))


def _row(ctx: ReadContext, file: str, line: int, cells: list[str], columns: tuple[str, ...]) -> Row | None:
    """Read one row as numbers, squareness 2 where there is no such column."""
    if len(cells) != len(columns):
        problem = f"{len(cells)} cells under {len(columns)} headings."
        ctx.mistakes.append(Mistake(file, line, "row", ",".join(cells)[:60], problem, ",".join(columns)))
        return None
    numbers = []
    for column, cell in zip(columns, cells, strict=True):
        least, most = bounds(_RANGES[column])
        try:
            number = float(cell)
        except ValueError:
            number = math.nan
        if not least <= number <= most:
            problem = "not a number." if math.isnan(number) else "outside what is accepted."
            accepted = f"a number from {least:g} to {most:g}"
            ctx.mistakes.append(Mistake(file, line, column, cell.strip()[:60], problem, accepted))
        else:
            numbers.append(number)
    if len(numbers) != len(columns):
        return None
    x, top, bottom, half_width = numbers[:4]
    return x, top, bottom, half_width, numbers[4] if len(numbers) > len(HEADER) else 2.0


def _check(ctx: ReadContext, file: str, rows: list[tuple[int, Row]]) -> None:
    """Hold the rows against each other: x from 0 and growing, sizes above zero but for a closed end."""

    def fault(line: int, column: str, written: float, problem: str, accepted: str) -> None:
        ctx.mistakes.append(Mistake(file, line, column, f"{written:g}", problem, accepted))

    if rows[0][1][0] != 0:
        fault(rows[0][0], "x_mm", rows[0][1][0], "the first station is not at the nose.", "0 in the first row")
    for (_, before), (line, row) in pairwise(rows):
        if row[0] <= before[0]:
            fault(line, "x_mm", row[0], "not behind the row before it.", f"more than {before[0]:g}")
    least, most = bounds("body_length_mm")
    if not least <= rows[-1][1][0] <= most:
        fault(rows[-1][0], "x_mm", rows[-1][1][0], "no sensible length of a bait.", f"from {least:g} to {most:g} mm")
    for line, (_, top, bottom, half_width, _) in rows:
        if top == bottom and half_width == 0 and line in {rows[0][0], rows[-1][0]}:
            continue  # a closed end
        if top <= bottom:
            fault(line, "top_mm", top, "not above the bottom.", f"more than bottom_mm, {bottom:g}")
        if half_width <= 0:
            fault(line, "half_width_mm", half_width, "no width.", "more than 0; only a closed end is 0, on all sides")
