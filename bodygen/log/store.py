"""The log's file: one SQLite database beside the recipes. What is told at once is on the disk afterwards, all or none.

Knows tables, versions and what can go wrong with a file. Knows nothing of what is learned from the records.

A rollback journal with ``synchronous = EXTRA`` rather than a write-ahead log: one file that can be copied, that works
in a shared folder, and of which a power cut loses nothing that was committed (SQLite documentation, pragma
synchronous). Two programs may write at once; each waits its turn.
"""

import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import closing, contextmanager
from dataclasses import astuple, fields, replace
from pathlib import Path
from typing import Any

from bodygen.errors import BodygenError, InputError, Mistake
from bodygen.log.record import Build, Reading, Remark, WaterTest, check
from bodygen.version import VERSION
from bodygen.weights.expected import Expectation

NAME = "bench-log.sqlite"
"""File name of the log in the recipe's folder."""
APPLICATION = 0x626F6467  # "bodg": marks the file as ours (pragma application_id)
WAIT_S = 10.0
"""How long to wait for another program's write [s]."""

Record = Reading | WaterTest | Remark
TABLES: dict[type[Record], tuple[str, tuple[str, ...]]] = {
    Reading: ("reading", ("stage", "mass_g", "day")),
    WaterTest: ("water_test", tuple(f.name for f in fields(WaterTest))),
    Remark: ("remark", ("day", "text")),
}
"""Where each record lies, and its columns in the order of its fields."""
MIGRATIONS: tuple[tuple[str, ...], ...] = (
    (
        """CREATE TABLE build (number INTEGER PRIMARY KEY AUTOINCREMENT, recipe TEXT NOT NULL,
           recipe_sha256 TEXT NOT NULL, bodygen_version TEXT NOT NULL, day TEXT NOT NULL, board TEXT NOT NULL)""",
        """CREATE TABLE expected (build INTEGER NOT NULL REFERENCES build, stage TEXT NOT NULL, lot TEXT NOT NULL,
           mass_g REAL NOT NULL CHECK (mass_g > 0), sd_g REAL NOT NULL CHECK (sd_g >= 0))""",
        """CREATE TABLE reading (entry INTEGER PRIMARY KEY, build INTEGER NOT NULL REFERENCES build,
           stage TEXT NOT NULL, mass_g REAL NOT NULL CHECK (mass_g > 0), day TEXT NOT NULL)""",
        """CREATE TABLE water_test (entry INTEGER PRIMARY KEY, build INTEGER NOT NULL REFERENCES build,
           day TEXT NOT NULL, state TEXT NOT NULL CHECK (state IN ('floats', 'suspends', 'sinks')), water_c REAL,
           nose_deg REAL, reserve_g REAL, depth_m REAL, line_mm REAL, line_out_m REAL, speed_m_s REAL,
           tip_height_m REAL)""",
        """CREATE TABLE remark (entry INTEGER PRIMARY KEY, build INTEGER NOT NULL REFERENCES build, day TEXT NOT NULL,
           text TEXT NOT NULL)""",
        "CREATE INDEX build_of_recipe ON build (recipe)",
    ),
    tuple(
        f"ALTER TABLE water_test ADD COLUMN {column}"
        for column in (
            "how TEXT CHECK (how IN ('tow', 'retrieve'))",
            "told_m REAL",
            "lip_kind TEXT",
            "lip_tie TEXT",
            "lip_angle_deg REAL",
            "dive_inputs TEXT",
        )
    ),
    tuple(
        f"ALTER TABLE water_test ADD COLUMN {column}" for column in ("wood_lot TEXT", "wood_ratio REAL", "wood_sd REAL")
    ),
)
"""Step i takes a file from format i to i + 1, in one transaction; a file's format is its ``user_version``."""


def log_beside(recipe_file: Path) -> Path:
    """Where the log of a recipe lies unless another place is asked for."""
    return recipe_file.resolve().parent / NAME


def start_build(
    log: Path,
    recipe: str,
    recipe_sha256: str,
    day: str,
    board: str = "",
    expected: Sequence[Expectation] = (),
    records: Sequence[Record] = (),
) -> int:
    """Open a new build in the log, made if it is not there, with its first records, and return its number.

    Parameters
    ----------
    log : Path
        The log's file.
    recipe, recipe_sha256 : str
        Name and hash of the recipe it is made from.
    day : str
        ISO 8601 date.
    board : str
        The maker's own words for the board, the same for every bait of it.
    expected : sequence of Expectation
        What the tables say, kept with the build: the recipe may have changed when the next one is made.
    records : sequence of Reading, WaterTest or Remark
        Written in the same transaction.

    Raises
    ------
    InputError
        A figure that cannot be, or a file that is no log, or a newer one.
    BodygenError
        The file cannot be written now. Whatever is raised, nothing was recorded.
    """
    for one in (Build(0, recipe, recipe_sha256, VERSION, day, board), *records):
        check(one)
    with writing(log) as base:
        number = started(base, (recipe, recipe_sha256, VERSION, day, board), expected)
        insert(base, number, records)
    return number


def started(base: sqlite3.Connection, row: tuple[str, ...], expected: Sequence[Expectation]) -> int:
    """Put a build and what is expected of it into the open file; its number."""
    sql = "INSERT INTO build (recipe, recipe_sha256, bodygen_version, day, board) VALUES (?, ?, ?, ?, ?)"
    number = int(base.execute(sql, row).lastrowid or 0)
    rows = [(number, *astuple(e)) for e in expected]
    base.executemany("INSERT INTO expected (build, stage, lot, mass_g, sd_g) VALUES (?, ?, ?, ?, ?)", rows)
    return number


def add_records(log: Path, build: int, *records: Record) -> None:
    """Write down what was seen of a build: all in one transaction; raises as ``start_build``.

    Raises
    ------
    InputError
        Also for a build that is not there.
    """
    for record in records:
        check(record)
    if not log.exists():
        raise InputError([Mistake(str(log), 0, "", "", "no log here yet", "start a build first")])
    with writing(log) as base:
        if base.execute("SELECT 1 FROM build WHERE number = ?", (build,)).fetchone() is None:
            known = [row[0] for row in base.execute("SELECT number FROM build ORDER BY number")]
            numbers = ", ".join(map(str, known[-12:])) or "none yet"
            raise InputError([
                Mistake(str(log), 0, "build", str(build), "no such build in this log", f"builds: {numbers}")
            ])
        insert(base, build, records)


def insert(base: sqlite3.Connection, build: int, records: Sequence[Record]) -> None:
    """Put checked records of a build into the open file."""
    for record in records:
        table, names = TABLES[type(record)]
        marks = ", ".join("?" * (1 + len(names)))
        sql = f"INSERT INTO {table} (build, {', '.join(names)}) VALUES ({marks})"  # noqa: S608  fixed names
        base.execute(sql, (build, *astuple(record)))


def read(log: Path, recipe: str | None = None) -> tuple[tuple[Build, ...], tuple[Mistake, ...]]:
    """Read the builds of one recipe, or of all, in the order they were started; none where there is no log yet.

    Returns
    -------
    builds, damage
        What can be read; and, of a file that was edited by another hand, every row that says what cannot be. Such a
        row is left out.

    Raises
    ------
    InputError
        A file that is no log, or so damaged that nothing can be read.
    BodygenError
        It cannot be read now.
    """
    if not log.exists():
        return (), ()
    damage: list[Mistake] = []
    with _open(log) as base:
        base.execute("BEGIN")  # one state of the file for all five questions
        rows = base.execute(
            "SELECT number, recipe, recipe_sha256, bodygen_version, day, board FROM build"
            " WHERE ? IS NULL OR recipe = ? ORDER BY number",
            (recipe, recipe),
        ).fetchall()
        sound = [one for row in rows for one in _sound(log, f"build {row[0]}", Build, row, damage)]
        found = [_filled(log, base, build, damage) for build in sound]
        base.execute("COMMIT")
    return tuple(found), tuple(damage)


def builds(log: Path, recipe: str | None = None) -> tuple[Build, ...]:
    """Read the builds as ``read`` does, of a sound log only.

    Raises
    ------
    InputError
        Also for a row that says what cannot be.
    """
    found, damage = read(log, recipe)
    if damage:
        raise InputError(damage)
    return found


def _filled(log: Path, base: sqlite3.Connection, build: Build, damage: list[Mistake]) -> Build:
    """The build with all that was written down of it and can be."""

    def of(kind: type[Any], table: str, names: Sequence[str], order: str = "entry") -> tuple[Any, ...]:
        sql = f"SELECT {', '.join(names)} FROM {table} WHERE build = ? ORDER BY {order}"  # noqa: S608  fixed names
        rows = base.execute(sql, (build.number,)).fetchall()
        where = f"build {build.number}, {table.replace('_', ' ')}"
        return tuple(one for i, row in enumerate(rows, 1) for one in _sound(log, f"{where} {i}", kind, row, damage))

    return replace(
        build,
        expected=of(Expectation, "expected", ("stage", "lot", "mass_g", "sd_g"), "rowid"),
        readings=of(Reading, *TABLES[Reading]),
        water_tests=of(WaterTest, *TABLES[WaterTest]),
        remarks=of(Remark, *TABLES[Remark]),
    )


def _sound(log: Path, where: str, kind: type[Any], row: Sequence[Any], damage: list[Mistake]) -> tuple[Any, ...]:
    """The row as a record, if it says nothing that cannot be; what is wrong with it goes to ``damage``."""
    record = kind(*row)
    try:
        check(record)
    except InputError as error:
        accepted = "put back a copy of the log, or mend the row; it was left out"
        damage += [
            Mistake(str(log), 0, f"{where}, {m.key}", m.written[:60], f"{m.problem} ({m.accepted})", accepted)
            for m in error.mistakes
        ]
        return ()
    return (record,)


@contextmanager
def writing(log: Path) -> Iterator[sqlite3.Connection]:
    """One transaction: all of it is on the disk afterwards, or none."""
    with _open(log) as base:
        base.execute("BEGIN IMMEDIATE")
        try:
            yield base
        except BaseException:
            base.execute("ROLLBACK")
            raise
        base.execute("COMMIT")


@contextmanager
def _open(log: Path) -> Iterator[sqlite3.Connection]:
    """The file, sound and in today's format; whatever SQLite says against it is said in our words."""
    try:
        with closing(sqlite3.connect(log, timeout=WAIT_S, isolation_level=None)) as base:
            base.text_factory = lambda raw: raw.decode("utf-8", "surrogateescape")  # a bad text is one row's fault
            base.execute("PRAGMA synchronous = EXTRA")
            base.execute("PRAGMA foreign_keys = ON")
            base.execute("PRAGMA trusted_schema = OFF")
            _bring_up_to_date(log, base)
            yield base
    except sqlite3.Error as error:
        raise _in_words(log, error) from error


def _bring_up_to_date(log: Path, base: sqlite3.Connection) -> None:
    version = _version(log, base)
    if version < len(MIGRATIONS):
        base.execute("BEGIN IMMEDIATE")
        try:
            for step in MIGRATIONS[_version(log, base) :]:  # asked again: another program may have been quicker
                for statement in step:
                    base.execute(statement)
            base.execute(f"PRAGMA application_id = {APPLICATION}")
            base.execute(f"PRAGMA user_version = {len(MIGRATIONS)}")
        except BaseException:
            base.execute("ROLLBACK")
            raise
        base.execute("COMMIT")
    elif (found := base.execute("PRAGMA quick_check(1)").fetchone()[0]) != "ok":
        raise InputError([Mistake(str(log), 0, "", "", f"the log is damaged ({found})", "put back a copy of it")])


def _version(log: Path, base: sqlite3.Connection) -> int:
    """Format of the file; 0 for a new one. Refuses files of others and of later versions."""
    alone = not base.in_transaction
    if alone:
        base.execute("BEGIN")  # one state of the file for all three: another program may be making it
    version = int(base.execute("PRAGMA user_version").fetchone()[0])
    application = int(base.execute("PRAGMA application_id").fetchone()[0])
    anything = base.execute("SELECT count(*) FROM sqlite_master").fetchone()[0]
    if alone:
        base.execute("COMMIT")
    if application != APPLICATION and (application or version or anything):
        raise InputError([Mistake(str(log), 0, "", "", "a database, but no bench log of bodygen's", "another file")])
    if version > len(MIGRATIONS):
        problem = f"a log of format {version}, made by a later bodygen; this one ({VERSION}) knows {len(MIGRATIONS)}"
        raise InputError([Mistake(str(log), 0, "", "", problem, "use the later version")])
    return version


def _in_words(log: Path, error: sqlite3.Error) -> BodygenError:
    code = getattr(error, "sqlite_errorcode", sqlite3.SQLITE_ERROR) & 0xFF  # the primary code, without its detail
    if code in (sqlite3.SQLITE_NOTADB, sqlite3.SQLITE_CORRUPT):
        problem = "not a bench log, or a damaged one" if code == sqlite3.SQLITE_NOTADB else "the log is damaged"
        return InputError([
            Mistake(str(log), 0, "", "", f"{problem} ({error})", "put back a copy of it, or name another")
        ])
    why = {
        sqlite3.SQLITE_BUSY: f"another program has been writing in it for {WAIT_S:g} s: close that one and try again",
        sqlite3.SQLITE_LOCKED: "another program is writing in it: close that one and try again",
        sqlite3.SQLITE_FULL: "the disk is full",
        sqlite3.SQLITE_READONLY: "it may not be written: check the folder's and the file's permissions",
        sqlite3.SQLITE_CANTOPEN: "it cannot be opened: check that the folder is there and may be written",
        sqlite3.SQLITE_IOERR: "the disk failed",
    }.get(code, "unexpected")
    return BodygenError(f"{log}: nothing was recorded: {why} ({error})")
