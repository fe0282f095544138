"""The log's file: one SQLite database beside the recipes, each record its own transaction, on the disk when it returns.

Knows tables, versions and what can go wrong with a file. Knows nothing of what is learned from the records.

A rollback journal with ``synchronous = EXTRA`` rather than a write-ahead log: one file that can be copied, that works
in a shared folder, and of which a power cut loses nothing that was committed (SQLite documentation, pragma
synchronous). Two programs may write at once; each waits its turn.
"""

import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import closing, contextmanager
from dataclasses import astuple, replace
from pathlib import Path

from bodygen.errors import BodygenError, InputError, Mistake
from bodygen.log.record import Build, Reading, Remark, WaterTest, check
from bodygen.version import VERSION
from bodygen.weights.expected import Expectation

NAME = "bench-log.sqlite"
"""File name of the log in the recipe's folder."""
APPLICATION = 0x626F6467  # "bodg": marks the file as ours (pragma application_id)
WAIT_S = 10.0
"""How long to wait for another program's write [s]."""

_TESTED = "day, state, water_c, nose_deg, reserve_g, depth_m, line_mm, line_out_m, speed_m_s, tip_height_m"
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
)
"""Step i takes a file from format i to i + 1, in one transaction; a file's format is its ``user_version``."""


def log_beside(recipe_file: Path) -> Path:
    """Where the log of a recipe lies unless another place is asked for."""
    return recipe_file.resolve().parent / NAME


def start_build(
    log: Path, recipe: str, recipe_sha256: str, day: str, board: str = "", expected: Sequence[Expectation] = ()
) -> int:
    """Open a new build in the log, made if it is not there, and return its number.

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

    Raises
    ------
    InputError
        A figure that cannot be, or a file that is no log, or a newer one.
    BodygenError
        The file cannot be written now.
    """
    build = Build(0, recipe, recipe_sha256, VERSION, day, board)
    check(build)
    with _writing(log) as base:
        row = (recipe, recipe_sha256, VERSION, day, board)
        sql = "INSERT INTO build (recipe, recipe_sha256, bodygen_version, day, board) VALUES (?, ?, ?, ?, ?)"
        number = base.execute(sql, row).lastrowid
        rows = [(number, *astuple(e)) for e in expected]
        base.executemany("INSERT INTO expected (build, stage, lot, mass_g, sd_g) VALUES (?, ?, ?, ?, ?)", rows)
    return int(number or 0)


def record_reading(log: Path, build: int, reading: Reading) -> None:
    """Write down one weigh-in of a build; raises as ``start_build``, also for a build that is not there."""
    check(reading)
    sql = "INSERT INTO reading (build, stage, mass_g, day) VALUES (?, ?, ?, ?)"
    _record(log, build, sql, astuple(reading))


def record_water_test(log: Path, build: int, test: WaterTest) -> None:
    """Write down one water test of a build; raises as ``record_reading``."""
    check(test)
    sql = f"INSERT INTO water_test (build, {_TESTED}) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)"  # noqa: S608  fixed names
    _record(log, build, sql, astuple(test))


def record_remark(log: Path, build: int, remark: Remark) -> None:
    """Write down free words about a build; raises as ``record_reading``."""
    check(remark)
    _record(log, build, "INSERT INTO remark (build, day, text) VALUES (?, ?, ?)", astuple(remark))


def builds(log: Path, recipe: str | None = None) -> tuple[Build, ...]:
    """Read the builds of one recipe, or of all, in the order they were started; none where there is no log yet.

    Raises
    ------
    InputError, BodygenError
        As ``start_build``.
    """
    if not log.exists():
        return ()
    with _open(log) as base:
        base.execute("BEGIN")  # one state of the file for all five questions
        rows = base.execute(
            "SELECT number, recipe, recipe_sha256, bodygen_version, day, board FROM build"
            " WHERE ? IS NULL OR recipe = ? ORDER BY number",
            (recipe, recipe),
        ).fetchall()
        found = [_filled(base, Build(*row)) for row in rows]
        base.execute("COMMIT")
    return tuple(found)


def _filled(base: sqlite3.Connection, build: Build) -> Build:
    """The build with all that was written down of it."""
    which = (build.number,)
    expected = base.execute("SELECT stage, lot, mass_g, sd_g FROM expected WHERE build = ? ORDER BY rowid", which)
    readings = base.execute("SELECT stage, mass_g, day FROM reading WHERE build = ? ORDER BY entry", which)
    tests = base.execute(f"SELECT {_TESTED} FROM water_test WHERE build = ? ORDER BY entry", which)  # noqa: S608  fixed names
    remarks = base.execute("SELECT day, text FROM remark WHERE build = ? ORDER BY entry", which)
    return replace(
        build,
        expected=tuple(Expectation(*row) for row in expected),
        readings=tuple(Reading(*row) for row in readings),
        water_tests=tuple(WaterTest(*row) for row in tests),
        remarks=tuple(Remark(*row) for row in remarks),
    )


def _record(log: Path, build: int, sql: str, values: tuple[object, ...]) -> None:
    if not log.exists():
        raise InputError([Mistake(str(log), 0, "", "", "no log here yet", "start a build first")])
    with _writing(log) as base:
        if base.execute("SELECT 1 FROM build WHERE number = ?", (build,)).fetchone() is None:
            known = [row[0] for row in base.execute("SELECT number FROM build ORDER BY number")]
            numbers = ", ".join(map(str, known[-12:])) or "none yet"
            raise InputError([
                Mistake(str(log), 0, "build", str(build), "no such build in this log", f"builds: {numbers}")
            ])
        base.execute(sql, (build, *values))


@contextmanager
def _writing(log: Path) -> Iterator[sqlite3.Connection]:
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
    version = int(base.execute("PRAGMA user_version").fetchone()[0])
    application = int(base.execute("PRAGMA application_id").fetchone()[0])
    anything = base.execute("SELECT count(*) FROM sqlite_master").fetchone()[0]
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
