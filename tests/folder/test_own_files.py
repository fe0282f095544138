"""What a maker saves in a build folder while a build ends is there afterwards, wherever in the change it fell."""

import os
import subprocess
import sys
import textwrap
from pathlib import Path

import pytest

from bodygen.folder import own_files
from bodygen.folder import publish as folder
from bodygen.folder.publish import publish

STEM = "tarn-perch-70"


@pytest.fixture(params=["links", "copies"])
def bait(request, tmp_path, monkeypatch):
    """A set with a note of the maker's own; on a file system with hard links, and on one without."""
    if request.param == "copies":

        def none(*_, **__):
            raise PermissionError

        monkeypatch.setattr(os, "link", none)
    publish(tmp_path, STEM, write)
    (tmp_path / STEM / "note.txt").write_text("first\n")
    return tmp_path / STEM


def write(draft):
    draft.add("body.stl", "the body").write_text("body")


def build_while(bait, monkeypatch, happens, when):
    """Build again; ``happens`` comes between the bringing along and the exchange, or just after it."""
    replace = folder._replace

    def with_a_maker_at_work(target, fresh, old):
        if when == "before":
            happens(target)
        replace(target, fresh, old)
        if when == "after":
            happens(
                next(left for left in (fresh, old) if left.exists())
            )  # a program that still has the old folder open

    monkeypatch.setattr(folder, "_replace", with_a_maker_at_work)
    publish(bait.parent, STEM, write)
    assert [path.name for path in bait.parent.iterdir()] == [STEM]


@pytest.mark.parametrize("swaps", [True, False], ids=["exchange", "two renames"])
@pytest.mark.parametrize("when", ["before", "after"])
def test_what_is_saved_while_the_sets_change_places_is_kept(bait, monkeypatch, when, swaps):
    if not swaps:
        monkeypatch.setattr(folder, "_exchange", lambda *_: False)

    def works(at):
        with (at / "note.txt").open("a") as note:
            note.write("second\n")
        (at / "scale.txt").write_text("14.2 g")
        (at / "photos").mkdir()
        (at / "photos" / "one.jpg").write_text("...")
        (at / ".draft").write_text("an editor's way to save")
        (at / ".draft").rename(at / "sketch.txt")

    build_while(bait, monkeypatch, works, when)
    assert (bait / "note.txt").read_text() == "first\nsecond\n"
    assert (bait / "scale.txt").read_text() == "14.2 g"
    assert (bait / "photos" / "one.jpg").read_text() == "..."
    assert (bait / "sketch.txt").read_text() == "an editor's way to save"


@pytest.mark.parametrize("when", ["before", "after"])
def test_a_note_that_an_editor_replaces_meanwhile_is_the_new_one(bait, monkeypatch, when):
    def works(at):
        (at / "note.new").write_text("first, and a second\n")
        (at / "note.new").replace(at / "note.txt")

    build_while(bait, monkeypatch, works, when)
    assert (bait / "note.txt").read_text() == "first, and a second\n"


def test_a_note_that_is_deleted_meanwhile_stays_deleted(bait, monkeypatch):
    build_while(bait, monkeypatch, lambda at: (at / "note.txt").unlink(), "before")
    assert not (bait / "note.txt").exists()


def test_of_two_notes_that_both_changed_both_stay(bait, monkeypatch):
    def works(at):
        (at / "note.new").write_text("one way")
        (at / "note.new").replace(at / "note.txt")
        (bait / "note.new").write_text("the other way")
        (bait / "note.new").replace(bait / "note.txt")

    build_while(bait, monkeypatch, works, "after")
    assert (bait / "note.txt").read_text() == "the other way"
    assert (bait / "note (kept 1).txt").read_text() == "one way"


def test_an_empty_folder_of_the_makers_own_stays(bait):
    (bait / "photos" / "spring").mkdir(parents=True)
    publish(bait.parent, STEM, write)
    assert (bait / "photos" / "spring").is_dir()


def test_what_fails_in_the_old_set_s_removal_is_taken_by_the_next_build(bait, monkeypatch):
    """A note that turned up in the old set just before a kill is brought along when the next build clears up."""

    def dies(old, *_):
        (old / "late.txt").write_text("late")
        raise OSError

    monkeypatch.setattr(folder, "retire", dies)
    publish(bait.parent, STEM, write)
    assert not (bait / "late.txt").exists()
    monkeypatch.setattr(folder, "retire", own_files.retire)
    publish(bait.parent, STEM, write)
    assert (bait / "late.txt").read_text() == "late"
    assert (bait / "note.txt").read_text() == "first\n"
    assert [path.name for path in bait.parent.iterdir()] == [STEM]


BUILDS = """
    import sys
    from pathlib import Path
    from bodygen.folder.publish import publish

    print("begun", flush=True)
    for i in range(60):
        publish(Path(sys.argv[1]), "tarn-perch-70", lambda draft: draft.add("a.stl", "a body").write_text(str(i)))
"""


def test_no_line_of_a_note_is_lost_over_sixty_builds(tmp_path):
    """Lines appended by path, as a program that logs does; and files written by name from within the folder."""
    publish(tmp_path, STEM, write)
    note = tmp_path / STEM / "note.txt"
    note.write_text("")
    code = textwrap.dedent(BUILDS)
    with subprocess.Popen([sys.executable, "-c", code, tmp_path], stdout=subprocess.PIPE) as builds:
        builds.stdout.readline()
        count = 0
        while builds.poll() is None:
            with note.open("a") as stream:
                stream.write(f"{count}\n")
            (note.parent / f"{count % 50}.txt").write_text(str(count))
            count += 1
    assert builds.returncode == 0
    assert note.read_text().split() == [str(i) for i in range(count)]
    last = {i % 50: i for i in range(count)}
    assert {name: int((note.parent / f"{name}.txt").read_text()) for name in last} == last
    assert Path(tmp_path / STEM / "a.stl").read_text() == "59"
