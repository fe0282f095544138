"""What is dropped and is not what its name says: refused in the terminal's own sentences, and the server lives on."""

import os
from pathlib import Path

import pytest
from amount import only_with_more
from spoilt import SPOILT, bomb
from tab import PERCH, memory_mb

from bodygen.cli import main

TEXT = PERCH.read_text(encoding="utf-8")
WAYS = {".jpg": ["photo", "--page", "a4"], ".png": ["photo", "--page", "a4"], ".csv": ["stations"]}


def drop(page, name, content, headers=None):
    return page.send("POST", f"{page.below}drop?name={name}", content, headers or {})


def terminal(name, content, folder, capsys):
    """What the command says of the same file."""
    (folder / name).write_bytes(content)
    here = Path.cwd()
    os.chdir(folder)  # so that it is named as the maker names it
    try:
        way = WAYS.get(Path(name).suffix, ["scan"])
        code = main(["trace", *way, name, "--name", "x"])
    finally:
        os.chdir(here)
    assert code == 2
    return capsys.readouterr().err.strip()


@only_with_more
@pytest.mark.parametrize("name", SPOILT)
def test_a_spoilt_file_is_refused_in_the_words_of_the_terminal(page, name, tmp_path, capsys):
    before = sorted(path.name for path in page.folder.iterdir())
    reply = drop(page, name, SPOILT[name])
    assert (reply.status, bool(reply.json()["refused"])) == (200, True)
    assert reply.json()["message"] == terminal(name, SPOILT[name], tmp_path, capsys)
    assert sorted(path.name for path in page.folder.iterdir()) == before


@only_with_more
@pytest.mark.parametrize("megabytes", [300, 1100])
def test_what_unpacks_to_very_much_is_refused_within_the_bounds_of_memory(page, megabytes):
    reply = drop(page, "bomb.3mf", bomb(megabytes))
    assert (reply.status, bool(reply.json()["refused"])) == (200, True)
    assert page.ask(TEXT)[0]["refused"] is None


def test_a_file_of_no_known_kind_is_told_which_are(page):
    told = drop(page, "tool.exe", b"MZ").json()
    assert told["message"].startswith("tool.exe: not a kind of file that is taken here.")
    assert ".stl" in told["message"]


@pytest.mark.parametrize("name", ["", "a%00.stl", "x" * 200 + ".stl"])
def test_a_file_without_a_name_is_not_taken(page, name):
    assert drop(page, name, b"solid").status == 400


def test_more_than_an_upload_may_be_is_not_even_read(page):
    assert drop(page, "vast.stl", b"", {"content-length": "200000000"}).status == 413


def test_a_recipe_far_too_large_is_told_so_and_not_kept_in_memory(page):
    before = memory_mb(page.process)
    reply = drop(page, "vast.toml", b"# x\n" * 15_000_000)
    assert (reply.status, "at most a megabyte" in reply.json()["error"]) == (400, True)
    assert memory_mb(page.process) - before < 30  # of the 60 MB that came in
