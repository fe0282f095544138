"""Nothing that a maker wrote is lost: not by saving over it, not by two pages, not by a demo."""

import hashlib
import os

import pytest
from tab import PARAMS, PERCH

from bodygen.folder import single_file
from bodygen.serve.saving import ConflictError, save

TEXT = PERCH.read_text(encoding="utf-8")


def test_a_file_is_saved_whole_and_only_over_what_the_page_read(page):
    first = page.post("save", {"file": "mine.toml", "text": TEXT, "sha256_before": None})
    assert first.status == 200
    assert (page.folder / "mine.toml").read_text(encoding="utf-8") == TEXT
    again = page.post("save", {"file": "mine.toml", "text": TEXT + "# more\n", "sha256_before": first.json()["sha256"]})
    assert again.status == 200
    late = page.post("save", {"file": "mine.toml", "text": "lost", "sha256_before": first.json()["sha256"]})
    assert (late.status, late.json()["conflict"]["text"]) == (409, TEXT + "# more\n")
    assert late.json()["conflict"]["sha256"] == again.json()["sha256"]
    assert (page.folder / "mine.toml").read_text(encoding="utf-8") == TEXT + "# more\n"
    assert not list(page.folder.glob(".*.part"))


def test_an_editor_that_changed_the_file_wins(page):
    saved = page.post("save", {"file": "edited.toml", "text": TEXT, "sha256_before": None}).json()
    (page.folder / "edited.toml").write_text("by hand", encoding="utf-8")
    reply = page.post("save", {"file": "edited.toml", "text": TEXT, "sha256_before": saved["sha256"]})
    assert (reply.status, reply.json()["conflict"]["text"]) == (409, "by hand")
    (page.folder / "edited.toml").unlink()
    gone = page.post("save", {"file": "edited.toml", "text": TEXT, "sha256_before": saved["sha256"]})
    assert (gone.status, gone.json()["conflict"]["text"]) == (409, "")


def test_what_is_there_already_is_saved(page):
    """The answer to a first try got lost, or two hands wrote the same: nobody is asked."""
    for before in (None, None, "0" * 64):
        assert page.post("save", {"file": "twice.toml", "text": TEXT, "sha256_before": before}).status == 200


def test_a_file_that_is_protected_or_no_recipe_is_not_written_over(page):
    path = page.folder / "kept.toml"
    path.write_bytes(b"kept")
    path.chmod(0o444)
    said = {"file": "kept.toml", "text": TEXT, "sha256_before": hashlib.sha256(b"kept").hexdigest()}
    protected = page.post("save", said)
    assert (protected.status, "protected against writing" in protected.json()["error"]) == (400, True)
    path.chmod(0o644)
    with path.open("wb") as stream:
        stream.truncate(1 << 31)  # to be read by nobody
    large = page.post("save", said)
    assert (large.status, "larger than a recipe" in large.json()["error"]) == (400, True)
    path.unlink()


def test_a_file_changed_while_the_new_one_is_flushed_is_not_lost(tmp_path, monkeypatch):
    path = tmp_path / "perch.toml"
    path.write_bytes(b"read")
    monkeypatch.setattr(single_file.os, "fsync", lambda _: path.write_bytes(b"by an editor"))
    said = {"file": "perch.toml", "text": TEXT, "sha256_before": hashlib.sha256(b"read").hexdigest()}
    with pytest.raises(ConflictError, match="changed on disk"):
        save(said, tmp_path)
    assert [path.read_bytes() for path in tmp_path.iterdir()] == [b"by an editor"]


def test_a_new_file_never_takes_the_place_of_another(page):
    reply = page.post("save", {"file": "perch.toml", "text": "mine", "sha256_before": None})
    assert (reply.status, reply.json()["conflict"]["text"]) == (409, TEXT)


@pytest.mark.parametrize(
    ("file", "status"),
    [("demo:tarn-perch-70", 400), ("../x.toml", 404), ("x.txt", 404), ("no/such/x.toml", 400), ("", 404), (5, 400)],
)
def test_it_is_saved_nowhere_else(page, file, status):
    reply = page.post("save", {"file": file, "text": TEXT, "sha256_before": None})
    assert (reply.status, bool(reply.json()["error"])) == (status, True)


def test_a_copy_of_a_measured_demo_takes_its_table_along(page):
    text = page.get("recipe", file="demo:beck-dace-80").json()["text"]
    told = {"file": "dace.toml", "text": text, "sha256_before": None, "from": "demo:beck-dace-80"}
    assert page.post("save", told).status == 200
    assert (page.folder / "beck-dace-80.csv").read_bytes() == (PARAMS / "beck-dace-80.csv").read_bytes()
    shown, _ = page.ask(text, file="dace.toml")
    assert shown["refused"] is None


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes have names here")
def test_a_pipe_that_is_called_a_recipe_holds_up_nobody(page):
    os.mkfifo(page.folder / "pipe.toml")
    said = {"text": PERCH.read_text(encoding="utf-8"), "sha256_before": None, "from": ""}
    assert page.post("save", {"file": "pipe.toml"} | said).status == 400
    assert page.post("save", {"file": "after-it.toml"} | said).status == 200
    (page.folder / "pipe.toml").unlink()
