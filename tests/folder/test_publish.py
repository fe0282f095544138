"""The build folder: all files or none, whatever goes wrong, and nothing left lying about."""

import errno
import hashlib
import json
import signal
import subprocess
import sys
import textwrap
from pathlib import Path

import pytest

from bodygen.errors import BodygenError, InputError
from bodygen.folder import publish as folder
from bodygen.folder.publish import publish

STEM = "tarn-perch-70"


def write_set(word):
    def write(draft):
        draft.add("body.stl", "the body").write_text(f"{word} body")
        draft.add("lip.dxf", "the lip").write_text(f"{word} lip")

    return write


def content(out, stem=STEM):
    return {path.name: path.read_text() for path in (out / stem).iterdir() if path.name != "manifest.json"}


def whole(word):
    return {"body.stl": f"{word} body", "lip.dxf": f"{word} lip"}


@pytest.fixture
def out(tmp_path):
    """With a first set in place."""
    publish(tmp_path / "out", STEM, write_set("old"))
    return tmp_path / "out"


def assert_only_the_set(out, word):
    assert content(out) == whole(word)
    assert [path.name for path in out.iterdir()] == [STEM]


def test_a_set_is_published_with_its_manifest(out):
    manifest = json.loads((out / STEM / "manifest.json").read_text())
    assert [row["name"] for row in manifest["files"]] == ["body.stl", "lip.dxf"]
    row = manifest["files"][0]
    assert row == {
        "name": "body.stl",
        "purpose": "the body",
        "bytes": len("old body"),
        "sha256": hashlib.sha256(b"old body").hexdigest(),
    }
    assert_only_the_set(out, "old")


def test_the_answer_is_the_manifest(tmp_path):
    manifest = publish(tmp_path, STEM, write_set("new"), {"recipe_sha256": "0" * 64})
    assert manifest.folder == tmp_path / STEM
    assert [(record.name, record.purpose) for record in manifest.files] == [
        ("body.stl", "the body"),
        ("lip.dxf", "the lip"),
    ]
    assert json.loads((tmp_path / STEM / "manifest.json").read_text())["recipe_sha256"] == "0" * 64


@pytest.mark.parametrize("swaps", [True, False], ids=["exchange", "two renames"])
def test_a_new_set_takes_the_old_ones_place(out, monkeypatch, swaps):
    if not swaps:
        monkeypatch.setattr(folder, "_exchange", lambda *_: False)
    publish(out, STEM, lambda draft: draft.add("body.stl", "the body").write_text("new"))
    assert content(out) == {"body.stl": "new"}
    assert [path.name for path in out.iterdir()] == [STEM]


def test_two_builds_are_byte_identical(tmp_path):
    for name in ("a", "b"):
        publish(tmp_path / name, STEM, write_set("same"))
    for path in (tmp_path / "a" / STEM).iterdir():
        assert path.read_bytes() == (tmp_path / "b" / STEM / path.name).read_bytes()


@pytest.mark.parametrize(
    "error", [RuntimeError("half way"), KeyboardInterrupt(), OSError(errno.ENOSPC, "No space left")]
)
def test_a_failure_half_way_leaves_the_old_set_and_nothing_else(out, error):
    def write(draft):
        draft.add("body.stl", "the body").write_text("half")
        raise error

    with pytest.raises(type(error)):
        publish(out, STEM, write)
    assert_only_the_set(out, "old")


@pytest.mark.parametrize("step", ["_write_manifest", "_flush", "_replace"])
def test_a_full_disk_at_any_later_step_leaves_the_old_set(out, monkeypatch, step):
    def full(*_):
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(folder, step, full)
    with pytest.raises(OSError, match="No space left"):
        publish(out, STEM, write_set("new"))
    assert_only_the_set(out, "old")


def test_a_rename_that_fails_between_the_two_puts_the_old_set_back(out, monkeypatch):
    rename = Path.rename

    def fails_for_the_new_set(self, target):
        if self.name.endswith(".new"):
            raise OSError(errno.EIO, "Input/output error")
        return rename(self, target)

    monkeypatch.setattr(folder, "_exchange", lambda *_: False)
    monkeypatch.setattr(Path, "rename", fails_for_the_new_set)
    with pytest.raises(OSError, match="Input/output"):
        publish(out, STEM, write_set("new"))
    assert_only_the_set(out, "old")


def test_a_file_system_that_is_really_full_leaves_the_old_set(tmp_path):
    """A 64 kB file system in memory; only root may mount one."""
    place = tmp_path / "small"
    place.mkdir()
    if subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=64k", "tmpfs", place], capture_output=True, check=False
    ).returncode:
        pytest.skip("may not mount a small file system here")
    try:
        publish(place, STEM, write_set("old"))
        with pytest.raises(OSError, match="No space left"):
            publish(place, STEM, lambda draft: draft.add("body.stl", "the body").write_bytes(bytes(1_000_000)))
        assert_only_the_set(place, "old")
    finally:
        subprocess.run(["umount", place], check=True)


KILLED = """
    import os, signal, sys
    from pathlib import Path
    from bodygen.folder import publish as folder

    out, step, swaps = Path(sys.argv[1]), sys.argv[2], sys.argv[3] == "exchange"
    die = lambda *_: os.kill(os.getpid(), signal.SIGKILL)
    if not swaps:
        folder._exchange = lambda *_: False

    def write(draft):
        draft.add("body.stl", "the body").write_text("new body")
        if step == "write":
            die()
        draft.add("lip.dxf", "the lip").write_text("new lip")

    if step == "manifest":
        folder._write_manifest = die
    if step == "before":
        folder._replace = die
    if step == "between":
        rename = Path.rename
        Path.rename = lambda self, target: die() if self.name.endswith(".new") else rename(self, target)
    if step == "after":
        folder.retire = die
    folder.publish(out, "tarn-perch-70", write)
"""


@pytest.mark.parametrize(
    ("step", "way", "left"),
    [
        ("write", "exchange", "old"),
        ("manifest", "exchange", "old"),
        ("before", "exchange", "old"),
        ("after", "exchange", "new"),
        ("between", "renames", None),
        ("after", "renames", "new"),
    ],
)
@pytest.mark.skipif(sys.platform == "win32", reason="no SIGKILL there")
def test_a_kill_leaves_a_whole_set_and_the_next_build_clears_up(out, step, way, left):
    """As the table at the head of the module says; ``left`` None: away until the next build puts it back."""
    done = subprocess.run([sys.executable, "-c", textwrap.dedent(KILLED), out, step, way], check=False)
    assert done.returncode == -signal.SIGKILL
    if left is None:
        assert not (out / STEM).exists()
        with pytest.raises(RuntimeError):
            publish(out, STEM, fails)
        assert_only_the_set(out, "old")
    else:
        assert content(out) == whole(left)
    publish(out, STEM, write_set("next"))
    assert_only_the_set(out, "next")


def fails(draft):
    raise RuntimeError


MANY = """
    import sys, time
    from pathlib import Path
    from bodygen.folder.publish import publish

    def write(draft):
        for name in ("body.stl", "lip.dxf"):
            draft.add(name, "a file").write_text(sys.argv[2])
            time.sleep(0.01)

    for _ in range(10):
        publish(Path(sys.argv[1]), "tarn-perch-70", write)
"""


def test_builds_at_once_wait_for_each_other_and_none_is_mixed(tmp_path):
    builds = [subprocess.Popen([sys.executable, "-c", textwrap.dedent(MANY), tmp_path, word]) for word in "abc"]
    assert [build.wait(60) for build in builds] == [0, 0, 0]
    assert len(set(content(tmp_path).values())) == 1
    assert [path.name for path in tmp_path.iterdir()] == [STEM]


def test_a_build_of_another_recipe_does_not_wait(tmp_path):
    def write(draft):
        publish(tmp_path, "other", write_set("other"))  # would wait for ever if it took the same lock
        draft.add("body.stl", "the body").write_text("x")

    publish(tmp_path, STEM, write)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["other", STEM]


@pytest.mark.parametrize("stem", ["", ".", "..", ".hidden", "a/b", "../out", "a\\b", "a\0b", "end.", "end ", "x" * 200])
def test_a_stem_that_is_no_plain_name_is_refused(tmp_path, stem):
    with pytest.raises(InputError, match="no name for a folder"):
        publish(tmp_path / "out", stem, write_set("x"))
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("name", ["", "..", "../x.stl", "a/b.stl", ".dot", "manifest.json", "Body.STL"])
def test_a_file_name_that_is_not_plain_or_is_taken_is_refused(out, name):
    def write(draft):
        draft.add("body.stl", "the body").write_text("x")
        draft.add(name, "another")

    with pytest.raises(ValueError, match="plain file name"):
        publish(out, STEM, write)
    assert_only_the_set(out, "old")


def test_files_and_manifest_must_agree(out):
    with pytest.raises(BodygenError, match=r"differ: \['lip.dxf'\]"):
        publish(out, STEM, lambda draft: draft.add("lip.dxf", "never written"))
    with pytest.raises(BodygenError, match=r"differ: \['stray'\]"):
        publish(out, STEM, lambda draft: (draft.folder / "stray").write_text("x"))
    assert_only_the_set(out, "old")


def test_what_the_maker_put_there_moves_on_into_the_new_set(out):
    (out / STEM / "note.txt").write_text("painted on a Sunday")
    (out / STEM / "photos").mkdir()
    (out / STEM / "photos" / "one.jpg").write_text("...")
    publish(out, STEM, lambda draft: draft.add("body.stl", "the body").write_text("new"))
    assert (out / STEM / "note.txt").read_text() == "painted on a Sunday"
    assert (out / STEM / "photos" / "one.jpg").exists()
    assert not (out / STEM / "lip.dxf").exists()
    named = [row["name"] for row in json.loads((out / STEM / "manifest.json").read_text())["files"]]
    assert named == ["body.stl"]


def test_a_file_of_the_makers_own_is_never_overwritten(out):
    (out / STEM / "halves.3mf").write_text("mine")
    with pytest.raises(InputError, match="no build made"):
        publish(out, STEM, lambda draft: draft.add("halves.3mf", "the halves").write_text("ours"))
    assert (out / STEM / "halves.3mf").read_text() == "mine"


@pytest.mark.skipif(sys.platform == "win32", reason="making a link takes rights there")
def test_a_link_in_the_folders_place_is_not_followed(tmp_path):
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    (elsewhere / "precious").write_text("x")
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / STEM).symlink_to(elsewhere)
    with pytest.raises(InputError, match="is not a folder"):
        publish(tmp_path / "out", STEM, write_set("new"))
    assert [path.name for path in elsewhere.iterdir()] == ["precious"]


def test_the_set_of_another_bait_is_not_replaced_unless_asked(out):
    publish(out, STEM, write_set("perch"), {"name": "Tarn perch"})
    with pytest.raises(InputError) as refused:
        publish(out, STEM, write_set("roach"), {"name": "Tarn roach"})
    assert 'holds the files of "Tarn perch"; this recipe is "Tarn roach"' in str(refused.value)
    assert "--replace" in str(refused.value)
    assert_only_the_set(out, "perch")
    publish(out, STEM, write_set("roach"), {"name": "Tarn roach"}, replace=True)
    assert_only_the_set(out, "roach")
    publish(out, STEM, write_set("same"), {"name": "Tarn roach"})


@pytest.mark.skipif(sys.platform == "win32", reason="no SIGKILL there")
@pytest.mark.parametrize(
    ("step", "way", "left"),
    [
        ("write", "exchange", "old"),
        ("before", "exchange", "old"),
        ("after", "exchange", "new"),
        ("between", "renames", "old"),
    ],
)
def test_what_a_kill_left_is_cleared_by_a_build_of_another_recipe(out, step, way, left):
    """A recipe that is renamed after the kill never comes back under the old name."""
    done = subprocess.run([sys.executable, "-c", textwrap.dedent(KILLED), out, step, way], check=False)
    assert done.returncode == -signal.SIGKILL
    publish(out, "renamed", write_set("renamed"))
    assert content(out) == whole(left)
    assert sorted(path.name for path in out.iterdir()) == ["renamed", STEM]


def test_a_build_that_is_alive_is_not_cleared_away(tmp_path):
    def write(draft):
        draft.add("body.stl", "the body").write_text("x")
        publish(tmp_path, "other", write_set("other"))
        assert draft.folder.exists()

    publish(tmp_path, STEM, write)
    assert content(tmp_path) == {"body.stl": "x"}


def test_folders_that_only_look_like_leavings_are_let_alone(out):
    (out / ".garden.new").mkdir()
    (out / ".garden.new" / "beans").write_text("x")
    publish(out, STEM, write_set("new"))
    assert (out / ".garden.new" / "beans").read_text() == "x"


@pytest.mark.skipif(sys.platform == "win32", reason="making a link takes rights there")
@pytest.mark.parametrize("there", [True, False], ids=["a file", "nothing yet"])
def test_a_lock_that_leads_elsewhere_is_refused(tmp_path, there):
    elsewhere = tmp_path / "elsewhere.txt"
    if there:
        elsewhere.write_text("precious")
    out = tmp_path / "out"
    out.mkdir()
    (out / f".{STEM}.lock").symlink_to(elsewhere)
    with pytest.raises(InputError, match=r"\.tarn-perch-70\.lock: is a link"):
        publish(out, STEM, write_set("new"))
    assert elsewhere.exists() is there
    assert [path.name for path in out.iterdir()] == [f".{STEM}.lock"]
    publish(out, "other", write_set("new"))
    assert elsewhere.exists() is there


@pytest.mark.parametrize("deeper", ["", "deeper"])
def test_an_out_that_is_a_file_is_named(tmp_path, deeper):
    (tmp_path / "out").write_text("my notes")
    with pytest.raises(InputError, match=r'--out = ".*": is a file'):
        publish(tmp_path / "out" / deeper, STEM, write_set("new"))
    assert (tmp_path / "out").read_text() == "my notes"
