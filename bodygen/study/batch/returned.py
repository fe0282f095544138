"""The readings of a run as they come back: a row a piece off the sheet that a run's folder has, filled in.

Knows the table's columns. What the figures tell is told.py's, what is written down booked.py's.
"""

import csv
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from io import StringIO
from pathlib import Path
from typing import Literal, cast

from bodygen import units
from bodygen.errors import InputError, Mistake, did_you_mean
from bodygen.log.record import STATES, State
from bodygen.recipe.keys import STAGES
from bodygen.recipe.text.files import LARGEST_TEXT
from bodygen.study.said.batch import Lot, labels
from bodygen.tables import load

NEEDED = ("piece", "lot", "board", "run", "code", "bore_expected_mm", "squared_expected_g")
FIRM = ("piece", "board", "run")
Quantity = Literal["mass", "length", "angle"]
KINDS: dict[str, tuple[Quantity, str]] = {"_g": ("mass", "g"), "_mm": ("length", "mm"), "_deg": ("angle", "deg")}
"""What a column is, by how its name ends, and what a bare number is in."""


TO_CHOOSE = frozenset({"bore", "metal"})
"""What the maker takes from the table by what the blank reads, so that it may well be another row's."""
_COMMA = re.compile(r"[+-]?\d*,\d+\s*[^\d,.]*")
"""A number with a decimal comma, in a cell of its own."""
ABOVE_ZERO = frozenset({"bore_expected_mm", "bore_mm", "metal_g", *(f"{s}_g" for s in STAGES), "squared_expected_g"})


@dataclass(frozen=True, slots=True)
class Read:
    """One piece as it came out: ``expected`` and ``read`` at each stage [g], its bore [mm], what the tub said.

    ``bore`` and ``metal`` are None where they were made as the table has them.
    """

    line: int
    label: str
    lot: str
    board: str
    run: str
    bore_expected: float
    bore: float | None
    metal: float | None
    expected: Mapping[str, float]
    read: Mapping[str, float]
    reserve_expected: float | None
    reserve: float | None
    nose_expected: float | None
    nose: float | None
    state: State | None
    remark: str

    @property
    def tells(self) -> bool:
        """Whether anything was filled in."""
        told = (self.bore, self.metal, self.reserve, self.nose, self.state, self.remark or None)
        return bool(self.read) or any(one is not None for one in told)


def returned(path: Path, code: str, lots: Sequence[Lot]) -> tuple[Read, ...]:
    """Read a filled-in sheet.

    Parameters
    ----------
    path : Path
        The CSV, as it was written, or as a spreadsheet saves it: with semicolons or tabs, and with decimal commas.
    code : str
        Of the recipe, eight digits.
    lots : sequence of Lot
        Those of the study.

    Raises
    ------
    InputError
        Every cell that cannot be read, with its line and column.
    """
    mistakes: list[Mistake] = []
    found: list[Read] = []
    rows, comma = _rows(path)
    seen: dict[str, int] = {}
    called = labels(sum(lot.pieces for lot in lots))
    for line, row in rows:
        wrong = list(_misplaced(row, code, [lot.name for lot in lots]))
        if row["piece"] and row["piece"] not in called:
            wrong.append(("piece", "no such piece in the study.", f"{called[0]} to {called[-1]}"))
        if row["piece"] in seen:
            wrong.append(("piece", f"stands in line {seen[row['piece']]} already.", "a row a piece"))
        seen.setdefault(row["piece"], line)
        if row["run"] != rows[0][1]["run"]:
            wrong.append(("run", f"another run than in line {rows[0][0]}.", "a table for each run"))
        wrong += [(name, "empty.", "what the run's own readings.csv has") for name in FIRM if not row[name]]
        values = _values(row, wrong, comma=comma)
        mistakes += [
            Mistake(path.as_posix(), line, column, f'"{row.get(column) or ""}"', problem, accepted)
            for column, problem, accepted in wrong
        ]
        if not wrong:
            found.append(_piece(line, row, values))
    if mistakes:
        raise InputError(mistakes)
    return tuple(found)


Wrong = tuple[str, str, str]
"""A column, what is wrong in it, what would do."""


def _misplaced(row: Mapping[str, str], code: str, lots: Sequence[str]) -> Iterator[Wrong]:
    """Words that do not belong to this study, or that nobody knows."""
    if row["code"] != code:
        yield "code", "of another recipe, or of this one before it was changed.", code
    if row["lot"] not in lots:
        yield "lot", f"no such lot in the study.{did_you_mean(row['lot'], lots)}", ", ".join(lots) or "an empty cell"
    state = row.get("state", "")
    if state and state not in STATES:
        yield "state", f"no such state.{did_you_mean(state, STATES)}", ", ".join(STATES)


def _values(row: Mapping[str, str], wrong: list[Wrong], *, comma: bool) -> dict[str, float]:
    """Figures of a row in g, mm and deg; what cannot be read, or cannot be, goes to ``wrong``."""
    values: dict[str, float] = {}
    for column, text in row.items():
        kind = next((kind for ending, kind in KINDS.items() if column.endswith(ending)), None)
        if kind is None or not text:
            continue
        quantity, bare = kind
        try:
            plain = text.replace(",", ".") if comma or _COMMA.fullmatch(text) else text
            values[column] = float(units.fraction(plain, quantity, bare))
        except units.UnitError as error:
            wrong.append((column, error.problem, error.accepted))
            continue
        if column in ABOVE_ZERO and not values[column] > 0:
            wrong.append((column, "nothing weighs or measures that.", "more than 0"))
    wrong += _slips(values)
    for column in ("bore_expected_mm", "squared_expected_g"):
        if column not in values and not any(column == one[0] for one in wrong):
            wrong.append((column, "what was printed is gone.", "the figure of the run's own readings.csv"))
    return values


def _slips(values: Mapping[str, float]) -> Iterator[Wrong]:
    """Figures farther from what was printed than wood and scale are: a point that slipped, and nothing to learn."""
    table = load("batch")["readings"]
    whole = values.get("rigged_expected_g", max((v for k, v in values.items() if k.endswith("_expected_g")), default=0))
    for column, value in values.items():
        name, _, unit = column.rpartition("_")
        printed = values.get(f"{name}_expected_{unit}")
        if printed is None:
            continue
        off = abs(value - printed)
        if unit == "deg":
            slip = abs(value) > 90  # no nose points higher
        elif name == "reserve":
            slip = off > table["off_share"] * whole
        elif name in TO_CHOOSE:
            slip = not printed / table["off_times"] <= value <= printed * table["off_times"]
        else:
            slip = off > table["off_share"] * printed
        if slip:
            said = f"far off {printed:g}, which was expected; a slip?"
            yield column, said, "what was read; where it truly is so, an empty cell and a remark"


def _piece(line: int, row: Mapping[str, str], values: Mapping[str, float]) -> Read:
    at = {stage: (values.get(f"{stage}_expected_g"), values.get(f"{stage}_g")) for stage in STAGES}
    return Read(
        line=line,
        label=row["piece"],
        lot=row["lot"],
        board=row["board"],
        run=row["run"],
        bore_expected=values["bore_expected_mm"],
        bore=values.get("bore_mm"),
        metal=values.get("metal_g"),
        expected={stage: grams for stage, (grams, _) in at.items() if grams is not None},
        read={stage: grams for stage, (_, grams) in at.items() if grams is not None},
        reserve_expected=values.get("reserve_expected_g"),
        reserve=values.get("reserve_g"),
        nose_expected=values.get("nose_expected_deg"),
        nose=values.get("nose_deg"),
        state=cast("State | None", row.get("state") or None),
        remark=row.get("remark", ""),
    )


def _rows(path: Path) -> tuple[list[tuple[int, dict[str, str]]], bool]:
    """Rows with something in them, each with its line; and whether decimals have a comma."""
    file = path.as_posix()
    accepted = "the readings.csv of the run's folder, filled in"
    try:
        with path.open("rb") as opened:
            content = opened.read(LARGEST_TEXT + 1)
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise InputError([Mistake(file, 0, "", "", "not UTF-8.", "save it as CSV in UTF-8")]) from None
    except OSError as error:
        raise InputError([Mistake(file, 0, "", "", f"cannot be read: {error.strerror}.", accepted)]) from None
    if len(content) > LARGEST_TEXT:
        raise InputError([Mistake(file, 0, "", "", "too large for a sheet of readings.", accepted)])
    head = text.partition("\n")[0]
    between = max(",;\t", key=head.count)
    reader = csv.DictReader(StringIO(text), delimiter=between)
    names = [(name or "").strip() for name in reader.fieldnames or ()]
    reader.fieldnames = names
    lacks = [
        Mistake(file, 1, name, "", f"no such column.{did_you_mean(name, names)}", f"columns {', '.join(NEEDED)}")
        for name in NEEDED
        if name not in names
    ]
    if lacks:
        raise InputError(lacks)
    rows = []
    for row in reader:
        cells = {name: _cell(row.get(name)) for name in names}
        if any(cells.values()):
            rows.append((reader.line_num, cells))
    return rows, between != ","


def _cell(text: str | None) -> str:
    """A cell's text; without the mark that keeps a spreadsheet from running it."""
    plain = (text or "").strip()
    return plain[1:] if plain[:1] == "'" and plain[1:2] in tuple("=+-@") else plain
