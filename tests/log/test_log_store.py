"""The log's file: nothing written is lost, nothing strange is taken for a log. All builds here are made up."""

import os
import signal
import sqlite3
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing

import pytest

from bodygen.errors import BodygenError, InputError
from bodygen.log import store
from bodygen.log.record import Reading, Remark, WaterTest
from bodygen.log.store import add_records, builds, read, start_build
from bodygen.weights.expected import Expectation

DAY = "2031-03-09"
EXPECTED = (Expectation("drilled", "wood: basswood", 9.5, 0.9), Expectation("sealed", "", 0.25, 0.0))


@pytest.fixture
def log(tmp_path):
    return tmp_path / "bench-log.sqlite"


def test_a_build_comes_back_as_it_was_written(log):
    number = start_build(log, "Tarn perch 70", "ab12", DAY, "plank 3", EXPECTED)
    add_records(log, number, Reading("drilled", 9.8, DAY))
    test = WaterTest(DAY, "floats", 12.0, 5.0, 2.1, 1.4, 0.28, 20.0, 1.1, 0.9)
    add_records(log, number, test)
    add_records(log, number, Remark(DAY, "runs true; 'quotes'; DROP TABLE build; -- é 鱼"))
    (build,) = builds(log, "Tarn perch 70")
    assert build.number == number
    assert (build.recipe_sha256, build.day, build.board) == ("ab12", DAY, "plank 3")
    assert build.expected == EXPECTED
    assert build.readings == (Reading("drilled", 9.8, DAY),)
    assert build.water_tests == (test,)
    assert build.remarks[0].text.startswith("runs true; 'quotes'; DROP TABLE")


def test_each_recipe_has_its_own_builds_and_the_whole_log_has_all(log):
    start_build(log, "perch", "a", DAY)
    start_build(log, "roach", "b", DAY)
    start_build(log, "perch' OR '1'='1", "c", DAY)
    assert [b.number for b in builds(log, "perch")] == [1]
    assert [b.number for b in builds(log)] == [1, 2, 3]


def test_of_two_readings_of_a_stage_the_later_counts_and_both_stay(log):
    number = start_build(log, "perch", "a", DAY)
    for mass in (9.8, 9.4):
        add_records(log, number, Reading("drilled", mass, DAY))
    (build,) = builds(log)
    assert build.weighed == {"drilled": 9.4}
    assert [r.mass_g for r in build.readings] == [9.8, 9.4]


def test_reading_makes_no_file(log):
    assert builds(log) == ()
    assert not log.exists()


WRITER = """
import sys
from pathlib import Path
from bodygen.log.record import Reading
from bodygen.log.store import add_records, start_build
log = Path(sys.argv[1])
number = start_build(log, "perch", "a", "2031-03-09")
for i in range(1, 10000):
    add_records(log, number, Reading("drilled", i / 100, "2031-03-09"))
    print(i, flush=True)
"""


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="this system has no kill that cannot be caught")
def test_what_was_written_before_a_kill_is_there_after_it(log):
    """The writer says each number after it is committed and is killed while it writes the next ones."""
    with subprocess.Popen([sys.executable, "-c", WRITER, log], stdout=subprocess.PIPE, text=True) as writer:
        told = 0
        for line in writer.stdout:
            told = int(line)
            if told == 12:
                os.kill(writer.pid, signal.SIGKILL)
        writer.wait()
    kept = [round(100 * r.mass_g) for r in builds(log)[0].readings]
    assert told >= 12
    assert kept[:told] == list(range(1, told + 1))
    assert len(kept) - told in (0, 1)  # one more may have been committed and not yet told
    add_records(log, 1, Reading("drilled", 1.0, DAY))


def test_two_programs_may_write_at_once(log):
    number = start_build(log, "perch", "a", DAY)

    def write(who):
        for i in range(1, 16):
            add_records(log, number, Reading("sealed", 10 * who + i / 10, DAY))

    with ThreadPoolExecutor(3) as pool:
        list(pool.map(write, (1, 2, 3)))
    assert len(builds(log)[0].readings) == 45


def test_two_programs_may_make_the_log_at_once(log):
    with ThreadPoolExecutor(4) as pool:
        numbers = list(pool.map(lambda i: start_build(log, f"bait {i}", "a", DAY), range(8)))
    assert sorted(numbers) == list(range(1, 9))


def test_a_file_that_is_held_by_another_program_is_named(log, monkeypatch):
    monkeypatch.setattr(store, "WAIT_S", 0.02)
    start_build(log, "perch", "a", DAY)
    with closing(sqlite3.connect(log, isolation_level=None)) as other:
        other.execute("BEGIN EXCLUSIVE")
        with pytest.raises(BodygenError, match=r"nothing was recorded: another program has been writing") as refused:
            start_build(log, "perch", "a", DAY)
    assert refused.value.exit_code == 3


def test_a_file_that_is_no_database_is_refused_and_left_alone(log):
    log.write_bytes(b"my notes\n" * 200)
    with pytest.raises(InputError, match=r"bench-log.sqlite: not a bench log, or a damaged one"):
        start_build(log, "perch", "a", DAY)
    assert log.read_bytes() == b"my notes\n" * 200


def test_a_damaged_log_is_refused(log):
    number = start_build(log, "perch", "a", DAY, expected=EXPECTED)
    for i in range(12):
        add_records(log, number, Remark(DAY, f"remark {i} " * 20))
    sound = log.read_bytes()
    for start in range(4096, len(sound), 4096):
        log.write_bytes(sound[:start] + b"\xa5" * 4096 + sound[start + 4096 :])
        with pytest.raises(InputError, match="the log is damaged"):
            builds(log)
    log.write_bytes(sound[: len(sound) // 2])
    with pytest.raises(InputError, match="damaged"):
        builds(log)


def test_another_program_s_database_is_refused(log):
    with closing(sqlite3.connect(log)) as base:
        base.execute("CREATE TABLE hens (name TEXT)")
    with pytest.raises(InputError, match="no bench log of bodygen's"):
        start_build(log, "perch", "a", DAY)
    with closing(sqlite3.connect(log)) as base:
        assert [row[0] for row in base.execute("SELECT name FROM sqlite_master")] == ["hens"]


def test_a_later_format_is_refused(log):
    start_build(log, "perch", "a", DAY)
    with closing(sqlite3.connect(log)) as base:
        base.execute("PRAGMA user_version = 99")
    with pytest.raises(InputError, match=r"format 99, made by a later bodygen; this one \(.*\) knows 3"):
        builds(log)


def test_an_older_format_is_brought_up_to_date_with_all_that_is_in_it(log, monkeypatch):
    start_build(log, "perch", "a", DAY)
    step = ("ALTER TABLE build ADD COLUMN knife TEXT NOT NULL DEFAULT ''",)
    monkeypatch.setattr(store, "MIGRATIONS", (*store.MIGRATIONS, step))
    assert builds(log)[0].recipe == "perch"
    with closing(sqlite3.connect(log)) as base:
        assert base.execute("PRAGMA user_version").fetchone() == (len(store.MIGRATIONS),)
        assert base.execute("SELECT knife FROM build").fetchall() == [("",)]


def test_a_step_that_fails_leaves_the_old_format(log, monkeypatch):
    start_build(log, "perch", "a", DAY)
    step = ("ALTER TABLE build ADD COLUMN knife TEXT", "ALTER TABLE nowhere ADD COLUMN knife TEXT")
    monkeypatch.setattr(store, "MIGRATIONS", (*store.MIGRATIONS, step))
    with pytest.raises(BodygenError):
        builds(log)
    monkeypatch.undo()
    assert builds(log)[0].recipe == "perch"


def test_a_folder_that_is_not_there_is_named(tmp_path):
    with pytest.raises(BodygenError, match="check that the folder is there"):
        start_build(tmp_path / "nowhere" / "log.sqlite", "perch", "a", DAY)


def test_a_build_that_is_not_there_takes_no_reading(log):
    with pytest.raises(InputError, match="no log here yet"):
        add_records(log, 1, Reading("drilled", 9.8, DAY))
    start_build(log, "perch", "a", DAY)
    with pytest.raises(InputError, match=r"build = 7: no such build in this log\n    builds: 1"):
        add_records(log, 7, Reading("drilled", 9.8, DAY))


@pytest.mark.parametrize(
    ("record", "says"),
    [
        (Reading("drilled", float("nan"), DAY), "mass_g = nan: no bench sees that"),
        (Reading("drilled", 0.0, DAY), "mass_g = 0.0: no bench sees that"),
        (Reading("driled", 9.8, DAY), 'stage = "driled": no such stage'),
        (Reading("drilled", 9.8, "9 March"), 'day = "9 March": no day of the calendar'),
        (Reading("drilled", 9.8, "2031-02-30"), 'day = "2031-02-30": no day of the calendar'),
        (Remark(DAY, "  "), "no words"),
        (Remark(DAY, "x" * 5000), "5000 characters"),
        (Remark(DAY, "a\0b"), "not text"),
        (WaterTest(DAY, "swims"), 'state = "swims": no such state'),
        (WaterTest(DAY, "floats", nose_deg=120.0), "nose_deg = 120.0"),
        (WaterTest(DAY, "floats", depth_m=1.4, line_mm=0.3), "a depth without its line_out_m"),
    ],
)
def test_what_cannot_be_is_refused_before_it_is_written(log, record, says):
    number = start_build(log, "perch", "a", DAY)
    with pytest.raises(InputError) as refused:
        add_records(log, number, record)
    assert says in str(refused.value)
    (build,) = builds(log)
    assert (build.readings, build.remarks, build.water_tests) == ((), (), ())


def test_of_several_records_all_are_written_or_none(log, monkeypatch):
    """A disk that fails at the third record leaves neither the build nor the two before it."""
    insert = store.insert

    def fails_at_the_last(base, build, records):
        insert(base, build, records[:2])
        raise sqlite3.OperationalError

    monkeypatch.setattr(store, "insert", fails_at_the_last)
    records = [Reading("drilled", 9.8, DAY), Remark(DAY, "pale"), WaterTest(DAY, "floats")]
    with pytest.raises(BodygenError, match="nothing was recorded"):
        start_build(log, "perch", "a", DAY, records=records)
    assert builds(log) == ()
    monkeypatch.undo()
    number = start_build(log, "perch", "a", DAY, records=records)
    monkeypatch.setattr(store, "insert", fails_at_the_last)
    with pytest.raises(BodygenError, match="nothing was recorded"):
        add_records(log, number, *records)
    (build,) = builds(log)
    assert [len(kind) for kind in (build.readings, build.water_tests, build.remarks)] == [1, 1, 1]


@pytest.mark.parametrize(
    ("edit", "says"),
    [
        ("UPDATE reading SET mass_g = 9e999 WHERE entry = 1", "build 1, reading 1, mass_g = inf"),
        ("UPDATE reading SET mass_g = 'heavy' WHERE entry = 1", 'build 1, reading 1, mass_g = "heavy"'),
        ("UPDATE reading SET stage = 'carved' WHERE entry = 1", 'build 1, reading 1, stage = "carved"'),
        ("UPDATE reading SET stage = x'fe' WHERE entry = 1", "build 1, reading 1, stage ="),
        ("UPDATE reading SET day = 7 WHERE entry = 1", 'build 1, reading 1, day = "7"'),
        ("UPDATE remark SET text = CAST(x'ff41' AS TEXT)", "build 1, remark 1, text ="),
        ("UPDATE remark SET text = char(27) || '[2J'", r'build 1, remark 1, text = "\x1b[2J'),
        ("UPDATE water_test SET nose_deg = -9e999", "build 1, water test 1, nose_deg = -inf"),
        ("UPDATE water_test SET depth_m = 2.0", "build 1, water test 1, depth_m = 2.0: a depth without its line_mm"),
        ("UPDATE expected SET mass_g = 9e999", "build 1, expected 1, mass = inf"),
        ("UPDATE build SET board = x'00' WHERE number = 1", "build 1, board ="),
        ("UPDATE build SET day = 'someday' WHERE number = 1", 'build 1, day = "someday"'),
    ],
)
def test_a_row_that_another_hand_edited_is_named_and_the_rest_is_read(log, edit, says):
    first = start_build(log, "perch", "a", DAY, "plank 3", EXPECTED[:1], [Reading("drilled", 9.8, DAY)])
    add_records(log, first, WaterTest(DAY, "floats"), Remark(DAY, "runs true"))
    start_build(log, "perch", "a", DAY, "plank 4", EXPECTED[:1], [Reading("drilled", 9.4, DAY)])
    with closing(sqlite3.connect(log)) as base:
        base.execute("PRAGMA ignore_check_constraints = ON")
        base.execute(f"{edit}{'' if 'WHERE' in edit else ' WHERE build = 1'}")
        base.commit()
    found, damage = read(log)
    assert found[-1].readings == (Reading("drilled", 9.4, DAY),)
    assert len(found) == (1 if "UPDATE build" in edit else 2)
    assert any(says in str(one) for one in damage)
    with pytest.raises(InputError) as refused:
        builds(log)
    assert "bench-log.sqlite" in str(refused.value)
    assert "\x1b" not in str(refused.value)
