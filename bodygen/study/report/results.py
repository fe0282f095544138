"""A study's table as columns: what varied, what came of it, which rows are a sample of the study's own spreads.

Knows rows by the names of the study's columns. Figures that a design has not are not a number.
"""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bodygen.study.said.model import Limit, Row, Study, Value
from bodygen.units import is_number

Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]
BOARD = "board"


@dataclass(frozen=True, slots=True, eq=False)
class Results:
    """The n rows of a table in their order, column by column.

    ``varied`` has a column for each varied key and, where there are boards, one by the name ``board``; ``figures`` one
    for each kept number. ``failed`` are codes, "" where nothing did.
    """

    numbers: NDArray[np.int64]
    varied: dict[str, NDArray[np.generic]]
    figures: dict[str, Floats]
    failed: NDArray[np.str_]

    def __len__(self) -> int:
        return len(self.numbers)

    @property
    def made(self) -> Mask:
        """Which designs can be made."""
        return np.asarray(self.failed == "")

    def inside(self, limit: Limit) -> Mask:
        """Which designs keep a limit; one without the figure does not."""
        values = self.figures[limit.column]
        with np.errstate(invalid="ignore"):
            low = values >= limit.least if limit.least is not None else np.isfinite(values)
            high = values <= limit.most if limit.most is not None else np.isfinite(values)
        return np.asarray(low & high)

    def passed(self, study: Study) -> Mask:
        """Which designs can be made and keep every limit."""
        kept = self.made
        for limit in study.limits:
            kept = kept & self.inside(limit)
        return kept


def results_of(study: Study, rows: Iterable[Row]) -> Results:
    """Gather rows by columns."""
    names = [one.column for one in study.varied] + ([BOARD] if study.boards else [])
    figures = [column.name for column in study.columns if column.kind == "number"]
    kept: dict[str, list[Value]] = {name: [] for name in dict.fromkeys(["number", *names, *figures, "failed"])}
    for row in rows:
        for name, column in kept.items():
            column.append(row.get(name))
    return Results(
        np.array(kept["number"], dtype=np.int64),
        {name: _plain(kept[name]) for name in names},
        {name: np.array([_number(value) for value in kept[name]]) for name in figures},
        np.array([str(code or "") for code in kept["failed"]], dtype=np.str_),
    )


def _number(value: Value) -> float:
    return float(value) if is_number(value) else np.nan


def _plain(values: list[Value]) -> NDArray[np.generic]:
    """An array of numbers where all are, of texts else."""
    if all(is_number(value) for value in values):
        return np.array(values, dtype=np.float64)
    return np.array(["" if value is None else str(value) for value in values], dtype=np.str_)
