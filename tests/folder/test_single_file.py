"""One file by itself: whole or not at all, never over what nobody looked at, and open to the same people as before."""

import errno
import os

import pytest

from bodygen.errors import BodygenError
from bodygen.folder import single_file
from bodygen.folder.single_file import copy_new, write_whole


def refused(*_):
    raise OSError(errno.ENOTSUP, "not here")


def names(folder):
    return sorted(path.name for path in folder.iterdir())


def test_a_file_that_is_written_anew_stays_open_to_the_same_people(tmp_path):
    path = tmp_path / "private.toml"
    path.write_bytes(b"mine")
    path.chmod(0o600)
    write_whole(path, b"new", "it")
    assert (path.read_bytes(), path.stat().st_mode & 0o777) == (b"new", 0o600)


def test_what_came_there_while_it_was_written_stays(tmp_path):
    """By another program, after the last look: a new file takes no place that is taken."""
    path = tmp_path / "new.toml"

    def last_look():
        path.write_bytes(b"another's")
        return False

    with pytest.raises(BodygenError, match="File exists"):
        write_whole(path, b"mine", "it", last_look)
    assert (path.read_bytes(), names(tmp_path)) == (b"another's", ["new.toml"])


@pytest.mark.parametrize("linked", [True, False], ids=["with links", "where nothing has two names"])
def test_a_copy_is_there_whole_or_not_at_all_and_over_nothing(tmp_path, monkeypatch, linked):
    (tmp_path / "from").mkdir()
    (tmp_path / "to").mkdir()
    source = tmp_path / "from" / "table.csv"
    source.write_bytes(b"x,y\n")
    if not linked:
        monkeypatch.setattr(os, "link", refused)
    copy_new(source, tmp_path / "to")
    assert (tmp_path / "to" / "table.csv").read_bytes() == b"x,y\n"
    with pytest.raises(BodygenError, match="exists"):
        copy_new(source, tmp_path / "to")
    (tmp_path / "to" / "table.csv").unlink()
    monkeypatch.setattr(single_file.os, "fsync", refused)
    with pytest.raises(BodygenError, match="not here"):
        copy_new(source, tmp_path / "to")
    assert names(tmp_path / "to") == []


def test_what_a_killed_process_of_this_number_left_is_in_nobodys_way(tmp_path):
    """In a container every process begins with the same number."""
    (tmp_path / f".a.toml.{os.getpid()}.part").write_bytes(b"half")
    write_whole(tmp_path / "a.toml", b"whole", "it")
    assert names(tmp_path) == ["a.toml"]
