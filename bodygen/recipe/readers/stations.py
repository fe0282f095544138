"""Stations: the CSV of measured sections that a recipe may name instead of parameters.

Knows the file's header and what a row may say. Knows nothing of the surface through them (form/).
"""

import csv
import io
import math
from pathlib import Path

from bodygen.errors import Mistake
from bodygen.recipe.keys import bounds
from bodygen.recipe.model import Stations
from bodygen.recipe.text.files import LARGEST_TEXT, named_file
from bodygen.recipe.text.read_context import ReadContext

HEADER = ("x_mm", "top_mm", "bottom_mm", "half_width_mm")
SQUARENESS, WIDEST = "squareness", "widest_mm"
APART = ("squareness_back", "squareness_belly")
WIDEST_SHARES = (0.05, 0.95)
"""Shares of the depth between which a widest line lies, as that of a drawn body."""
FEWEST_ROWS = 5
MOST_ROWS = 5000
_RANGES = {
    "x_mm": "place_along_mm",
    "top_mm": "place_mm",
    "bottom_mm": "place_mm",
    "half_width_mm": "line_height_mm",
    "squareness": "squareness",
    "squareness_back": "squareness",
    "squareness_belly": "squareness",
    "widest_mm": "place_mm",
}
Row = dict[str, float]
Sizes = tuple[float, float, float, float, float]


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
    if not _is_header(columns):
        written = ",".join(columns)
        accepted = f"{','.join(HEADER)} and optionally ,{SQUARENESS} or ,{','.join(APART)} and ,{WIDEST}"
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
    more = bool({WIDEST, *APART} & set(columns))
    lower = tuple(_lower(row) for _, row in good) if more else ()
    return Stations(name, tuple(_sizes(row) for _, row in good), tuple(number for number, _ in good), lower)


def _is_header(columns: tuple[str, ...]) -> bool:
    """The four columns, then any of the others: one squareness or two, a widest line."""
    more = set(columns[len(HEADER) :])
    two = more >= set(APART)
    known = {WIDEST, *(APART if two else [SQUARENESS])}
    return columns[: len(HEADER)] == HEADER and more <= known and len(set(columns)) == len(columns)


def _sizes(row: Row) -> Sizes:
    """The four columns [mm], and the squareness of the upper half [-]: 2 where no column says it."""
    x, top, bottom, half_width = (row[column] for column in HEADER)
    return x, top, bottom, half_width, row.get(SQUARENESS, row.get(APART[0], 2.0))


def _lower(row: Row) -> tuple[float, float]:
    """Squareness of the lower half [-], and where the widest line lies as a share of the depth, from the belly [-]."""
    depth = row["top_mm"] - row["bottom_mm"]
    share = (row[WIDEST] - row["bottom_mm"]) / depth if WIDEST in row and depth else 0.5
    return row.get(APART[1], row.get(SQUARENESS, 2.0)), share


def _row(ctx: ReadContext, file: str, line: int, cells: list[str], columns: tuple[str, ...]) -> Row | None:
    """Read one row as numbers, by its columns."""
    if len(cells) != len(columns):
        problem = f"{len(cells)} cells under {len(columns)} headings."
        ctx.mistakes.append(Mistake(file, line, "row", ",".join(cells)[:60], problem, ",".join(columns)))
        return None
    numbers: Row = {}
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
            numbers[column] = number
    return numbers if len(numbers) == len(columns) else None


def _check(ctx: ReadContext, file: str, rows: list[tuple[int, Row]]) -> None:
    """Hold the rows against each other: x from 0 and growing, sizes above zero but for a closed end."""

    def fault(line: int, column: str, written: float, problem: str, accepted: str) -> None:
        ctx.mistakes.append(Mistake(file, line, column, f"{written:g}", problem, accepted))

    x = [row["x_mm"] for _, row in rows]
    if x[0] != 0:
        fault(rows[0][0], "x_mm", x[0], "the first station is not at the nose.", "0 in the first row")
    for before, (line, row) in zip(x, rows[1:], strict=False):
        if row["x_mm"] <= before:
            fault(line, "x_mm", row["x_mm"], "not behind the row before it.", f"more than {before:g}")
    least, most = bounds("body_length_mm")
    if not least <= x[-1] <= most:
        fault(rows[-1][0], "x_mm", x[-1], "no sensible length of a bait.", f"from {least:g} to {most:g} mm")
    ends = {line for line, row in (rows[0], rows[-1]) if row["top_mm"] == row["bottom_mm"] and not row["half_width_mm"]}
    for line, row in rows:
        if line in ends:  # closed
            continue
        for column, problem, accepted in _size_faults(row):
            fault(line, column, row[column], problem, accepted)


def _size_faults(row: Row) -> list[tuple[str, str, str]]:
    """What a sized section's row says that cannot be: column, problem, what is accepted."""
    _, top, bottom, half_width, _ = _sizes(row)
    low, high = (bottom + share * (top - bottom) for share in WIDEST_SHARES)
    found = []
    if top <= bottom:
        found.append(("top_mm", "not above the bottom.", f"more than bottom_mm, {bottom:g}"))
    elif not low <= row.get(WIDEST, low) <= high:
        problem = "not between bottom and top, or within 5 % of the depth of one."
        found.append((WIDEST, problem, f"from {low:g} to {high:g}"))
    if half_width <= 0:
        found.append(("half_width_mm", "no width.", "more than 0; only a closed end is 0, on all sides"))
    return found
