"""A run in this very process: what it tells where files cannot be written, or a design does not end."""

import os
import re
import resource
import shutil
import threading
from contextlib import contextmanager
from time import monotonic, sleep

import pytest
from leaves import BAIT, STUDY

import bodygen
from bodygen.cli import main
from bodygen.errors import BodygenError
from bodygen.study.door import StoppedError
from bodygen.study.engine import run
from bodygen.study.engine.store import ROWS
from bodygen.study.plan.designs import designs_of
from bodygen.study.rows.table import write_table
from bodygen.study.said.read import read_study


@pytest.fixture(scope="module")
def place(tmp_path_factory):
    folder = tmp_path_factory.mktemp("alone")
    (folder / "leaf.toml").write_text(BAIT, encoding="utf-8")
    (folder / "leaves.toml").write_text(STUDY, encoding="utf-8")
    bodygen.run_study(folder / "leaves.toml", folder / "out", workers=1)
    return folder


def tables(folder):
    return [(folder / "leaves" / name).read_bytes() for name in ("table.csv", "table.parquet")]


def kept(folder):
    return {path.name: path.stat().st_mtime_ns for path in (folder / "leaves" / ROWS).glob("*.jsonl")}


@contextmanager
def room_for(size):
    """No file of this process grows past so many bytes, as on a disk that is full."""
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, before[1]))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, before)


@pytest.mark.parametrize(
    ("size", "what"), [(100, "study.json: what the study is of"), (900, ": the table"), (6000, "report.html: what")]
)
def test_where_a_file_cannot_be_written_the_rows_are_kept_and_the_way_on_is_told(size, what, place, tmp_path, capsys):
    shutil.copytree(place / "out" / "leaves", tmp_path / "leaves")
    rows, again = kept(tmp_path), ["study", str(place / "leaves.toml"), "--out", str(tmp_path), "--resume"]
    with room_for(size):
        assert main(again) == 3
    said = capsys.readouterr().err
    assert what in said
    assert said.endswith(
        " was not written: File too large; the rows so far are kept: "
        "the same command with --resume goes on from them, once it can be written\n"
    )
    assert main(again) == 0
    assert (kept(tmp_path), tables(tmp_path)) == (rows, tables(place / "out"))


def test_rows_that_cannot_be_kept_are_what_is_told_and_no_table_is_left(place, tmp_path):
    (tmp_path / "leaf.toml").write_text(BAIT, encoding="utf-8")
    many = tmp_path / "leaves.toml"
    many.write_text(STUDY.replace("designs = 6", "designs = 320"), encoding="utf-8")  # ten to a task
    with room_for(1500), pytest.raises(StoppedError, match=r"rows: the rows were not written: File too large"):
        bodygen.run_study(many, tmp_path, workers=1)
    assert {path.name for path in (tmp_path / "leaves").iterdir()} == {"rows", "study.json"}


def test_what_stopped_the_rows_is_told_though_closing_the_table_fails_after_it(place, tmp_path):
    """``/dev/full`` refuses whatever is written, which is the table's head when the table is closed."""
    (tmp_path / f".table.csv.{os.getpid()}.part").symlink_to("/dev/full")

    def stopped():
        msg = "no room for rows"
        raise BodygenError(msg)
        yield

    with pytest.raises(BodygenError, match=r"^no room for rows$"):
        write_table(stopped(), read_study(place / "leaves.toml"), tmp_path)


def test_a_design_that_is_long_in_coming_is_told_again_and_again_and_what_comes_soon_is_not(
    place, monkeypatch, tmp_path
):
    said, real = [], run.row_of

    def third_is_slow(study, design):
        if design.number == 3:
            until = monotonic() + 60
            while len(said) < 2 and monotonic() < until:
                sleep(0.01)
        return real(study, design)

    monkeypatch.setattr(run, "TOLD_S", 0.5)
    monkeypatch.setattr(run, "row_of", third_is_slow)
    study = read_study(place / "leaves.toml")
    rows = list(run.run(study, designs_of(study, study.plan), tmp_path, at_once=2, say=said.append))
    assert [row["number"] for row in rows] == [*range(1, 7)]
    assert len(said) == 2
    assert all(re.fullmatch(r"design 3 has taken \d+ s so far; Ctrl-C stops it", line) for line in said)
    assert "telling" not in {thread.name for thread in threading.enumerate()}
