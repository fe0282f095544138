"""Many baits of one recipe into the log at once: all or none, and each once, however often it is told.

Knows marks: a remark by which a bait is known again. What the file does is store.py's.
"""

import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from bodygen.log.record import Build, Reading, Remark, check
from bodygen.log.store import TABLES, Record, insert, started, writing
from bodygen.version import VERSION
from bodygen.weights.expected import Expectation


@dataclass(frozen=True, slots=True)
class Entry:
    """A bait that may be in the log already, known by a remark ``mark`` of its own: its board and what is known of it.

    ``expected`` is kept when its build is started.
    """

    mark: str
    board: str
    expected: Sequence[Expectation]
    records: Sequence[Record]


def book_all(
    log: Path, recipe: str, recipe_sha256: str, day: str, entries: Sequence[Entry]
) -> list[tuple[int, bool, int]]:
    """Write down several baits of one recipe in one transaction, each once however often it is told.

    A bait whose mark is a remark of a build of this recipe gets those of its records that the build has not; its day
    does not make a record another. Of the others builds are started as ``start_build`` does.

    Returns
    -------
    list of (number, started, written)
        Number of each build, whether it is new, how many records went into it.

    Raises
    ------
    InputError, BodygenError
        As ``start_build``.
    """
    for entry in entries:
        for one in (
            Build(0, recipe, recipe_sha256, VERSION, day, entry.board),
            Remark(day, entry.mark),
            *entry.records,
        ):
            check(one)
    told: list[tuple[int, bool, int]] = []
    with writing(log) as base:
        for entry in entries:
            known = base.execute(
                "SELECT build FROM remark JOIN build ON number = build WHERE text = ? AND recipe = ?",
                (entry.mark, recipe),
            ).fetchone()
            if known is None:
                number = started(base, (recipe, recipe_sha256, VERSION, day, entry.board), entry.expected)
                insert(base, number, [Remark(day, entry.mark)])
                new: Sequence[Record] = entry.records
            else:
                number = int(known[0])
                new = [record for record in entry.records if not _there(base, number, record)]
            insert(base, number, new)
            told.append((number, known is None, len(new)))
    return told


def _there(base: sqlite3.Connection, build: int, record: Record) -> bool:
    """Whether a build has this record, of whatever day; of two readings of a stage the later one counts."""
    table, names = TABLES[type(record)]
    told = [name for name in names if name != "day"]
    sql = f"SELECT {', '.join(told)} FROM {table} WHERE build = ? ORDER BY entry"  # noqa: S608  fixed names
    rows = base.execute(sql, (build,)).fetchall()
    if isinstance(record, Reading):
        rows = [row for row in rows if row[0] == record.stage][-1:]
    return tuple(getattr(record, name) for name in told) in rows
