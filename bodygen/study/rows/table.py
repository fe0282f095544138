"""The table of a study, as CSV and as Parquet, written part by part: whole or not at all.

The columns are in the order of a row: number, seed, board, the varied keys, the kept figures, what failed and why. In
CSV an empty cell is "no such figure"; two tables of one study by one version are alike to the byte.
"""

import csv
import os
from collections.abc import Iterable, Iterator
from contextlib import ExitStack
from pathlib import Path
from typing import Any

from bodygen.errors import BodygenError
from bodygen.study.plan.designs import in_parts
from bodygen.study.rows.row import HEAD, TAIL
from bodygen.study.said.model import Row, Study, Values

CSV, PARQUET = "table.csv", "table.parquet"
GROUP = 1024
"""Rows of a part: what is held in memory at once, and a row group of the Parquet file."""


def column_names(study: Study) -> tuple[str, ...]:
    """Name the table's columns in their order."""
    return (*HEAD, *(one.column for one in study.varied), *(column.name for column in study.columns), *TAIL)


def write_table(rows: Iterable[Row], study: Study, folder: Path) -> int:
    """Write ``table.csv`` and ``table.parquet``, as the rows come.

    Parameters
    ----------
    rows : iterable of Row
        In the order of the table.
    study : Study
    folder : Path
        Where they go; it must be there.

    Returns
    -------
    int
        How many rows.

    Raises
    ------
    BodygenError
        They cannot be written. As with whatever ``rows`` raises, no half of a table is left.
    """
    import pyarrow as pa
    from pyarrow import parquet

    names, schema, count = column_names(study), pa.schema(_fields(study, pa)), 0
    drafts = [folder / f".{name}.{os.getpid()}.part" for name in (CSV, PARQUET)]
    try:
        with ExitStack() as stack:
            stream = stack.enter_context(drafts[0].open("w", encoding="utf-8", newline=""))
            sheet = csv.DictWriter(stream, names, lineterminator="\n")
            sheet.writeheader()
            whole = stack.enter_context(parquet.ParquetWriter(drafts[1], schema))
            for part in in_parts(rows, GROUP):
                sheet.writerows(part)
                whole.write_table(pa.Table.from_pylist(part, schema))
                count += len(part)
        for draft, name in zip(drafts, (CSV, PARQUET), strict=True):
            _settled(draft)
            draft.replace(folder / name)
    except OSError as error:
        first: BaseException | None = error  # on a full disk closing fails too, after whatever stopped the rows
        while first is not None and not isinstance(first, BodygenError):
            first = first.__context__
        if first is not None:
            raise first from None
        msg = f"{folder}: the table was not written: {error.strerror or error}"
        raise BodygenError(msg) from error
    finally:
        for draft in drafts:
            draft.unlink(missing_ok=True)
    return count


def read_table(folder: Path) -> Iterator[Row]:
    """Read a table back, part by part."""
    from pyarrow import parquet

    with parquet.ParquetFile(folder / PARQUET) as file:
        for group in range(file.num_row_groups):
            yield from file.read_row_group(group).to_pylist()


def _fields(study: Study, pa: Any) -> list[Any]:  # noqa: ANN401  the library itself, which is loaded late
    """Give each column its type."""
    number, text = pa.float64(), pa.string()
    kinds = {"number": number, "text": text, "flag": pa.bool_()}
    types = {"number": pa.int64(), "seed": pa.int64()}
    for one in study.varied:
        drawn = not isinstance(one.spread, Values) or one.spread.numbers
        types[one.column] = (pa.int64() if one.whole else number) if drawn else text
    types |= {column.name: kinds[column.kind] for column in study.columns}
    return [pa.field(name, types.get(name, text)) for name in column_names(study)]


def _settled(path: Path) -> None:
    """Have the disk hold what was written, before it takes its name."""
    with path.open("rb+") as stream:
        os.fsync(stream.fileno())
