"""What reaches a terminal: nothing that it would obey; and a plain word where a stream is closed or poor in letters."""

import json
import subprocess
import sys
from pathlib import Path

import pytest
from amount import only_with_more

from bodygen.cli import main
from bodygen.console.terminal import show_json

DEMO = Path(__file__).parents[2] / "params" / "tarn-perch-70.toml"
CLEAR = "\x1b[2J"


def run(words, redirect="", **environment):
    """The program as a shell starts it, with the shell's redirections."""
    line = " ".join(f"'{word}'" for word in (sys.executable, "-m", "bodygen", *words))
    return subprocess.run(
        ["bash", "-c", f"{line} {redirect}"],
        capture_output=True,
        env={"PATH": "/usr/bin:/bin", **environment},
        check=False,
    )


@pytest.fixture
def hostile(tmp_path):
    """The demo under a name that would clear the screen."""
    path = tmp_path / f"a{CLEAR}\u202eb.toml"
    path.write_text(DEMO.read_text(encoding="utf-8").replace('name   = "Tarn perch 70"\n', ""), encoding="utf-8")
    return path


@pytest.mark.parametrize("command", ["check", "weigh", "build"])
def test_a_file_s_name_never_draws_on_the_screen(command, hostile, tmp_path, capsys):
    main([command, str(hostile), *(["--out", str(tmp_path / "out"), "--only", "lip"] if command == "build" else [])])
    main([command, str(hostile.with_name(f"none{CLEAR}.toml"))])
    told = capsys.readouterr()
    assert "\x1b" not in told.out + told.err
    assert "\u202e" not in told.out + told.err
    assert "none\\x1b[2J.toml" in told.err


@pytest.mark.parametrize(
    "written", ['name = "a\\u001b[2Jb"', '"\\u001b[2J" = 3', 'units = "\\u001b[2J"', "name = 'a\x1b[2J'"]
)
def test_what_a_recipe_says_is_shown_and_not_obeyed(written, tmp_path, capsys):
    path = tmp_path / "a.toml"
    path.write_text(f"format = 1\n{written}\n", encoding="utf-8")
    assert main(["check", str(path)]) == 2
    told = capsys.readouterr()
    assert "\x1b" not in told.out + told.err


def test_a_remark_that_a_terminal_would_obey_is_refused(tmp_path, capsys):
    log = ["log", str(DEMO), "--log", str(tmp_path / "log.sqlite"), "--start"]
    for words in ([f"pale{CLEAR}"], ["pale", "--remark", f"ran{CLEAR} well"]):
        assert main([*log, *words]) == 2
        told = capsys.readouterr()
        assert "\x1b" not in told.out + told.err
        assert "\\x1b[2J" in told.err
    assert main([*log, "pale"]) == 0


def test_the_json_of_an_odd_name_is_plain_and_reads_back(capsys):
    name = f"Bråthen {CLEAR} \u202e 鱼 𝄞"
    show_json(json.dumps({"name": name}, ensure_ascii=False))
    told = capsys.readouterr().out
    assert "\u202e" not in told
    assert json.loads(told) == {"name": name}


@pytest.mark.parametrize("encoding", ["ascii", "utf-8"])
def test_a_stream_with_few_letters_is_enough(encoding, tmp_path):
    path = tmp_path / "a.toml"
    path.write_text(DEMO.read_text(encoding="utf-8").replace("Tarn perch 70", "Tarn pérch 鱼"), encoding="utf-8")
    text = run(["weigh", path], PYTHONIOENCODING=encoding)
    assert (text.returncode, text.stderr) == (0, b"")
    document = run(["weigh", path, "--json"], PYTHONIOENCODING=encoding)
    assert (document.returncode, document.stderr) == (0, b"")
    assert json.loads(document.stdout.decode(encoding))["name"] == "Tarn pérch 鱼"


def test_a_closed_stdout_is_told_and_a_closed_stderr_does_not_talk_into_the_answer(tmp_path):
    nothing_told = run(["weigh", DEMO], ">&-")
    assert (nothing_told.returncode, nothing_told.stdout) == (3, b"")
    assert nothing_told.stderr == b"stdout is closed: the answer could not be printed\n"
    no_talk = run(["weigh", DEMO, "--json"], "2>&-")
    assert (no_talk.returncode, no_talk.stderr) == (0, b"")
    assert json.loads(no_talk.stdout)["name"] == "Tarn perch 70"
    wrong = run(["weigh", tmp_path / "none.toml", "--json"], "2>&-")
    assert (wrong.returncode, wrong.stdout) == (2, b"")
    assert run(["weigh", tmp_path / "none.toml"], "<&- >&- 2>&-").returncode == 2


@only_with_more
def test_a_build_with_closed_streams_writes_the_same_files(tmp_path):
    """A file that got the number of a closed stream would take what the kernel prints."""
    main(["build", str(DEMO), "--only", "solids", "--out", str(tmp_path / "a")])
    run(["build", DEMO, "--only", "solids", "--out", tmp_path / "b"], "<&- >&- 2>&-")
    sets = [{p.name: p.read_bytes() for p in (tmp_path / folder / DEMO.stem).iterdir()} for folder in "ab"]
    assert sets[0] == sets[1]


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="this system has no full device")
def test_a_full_disk_behind_stdout_is_told():
    done = run(["weigh", DEMO], ">/dev/full")
    assert done.returncode == 3
    assert done.stderr.startswith(b"the answer could not be printed: No space left")
    assert b"Traceback" not in done.stderr


def test_an_answer_that_nobody_reads_to_its_end_is_no_complaint():
    done = run(["weigh", DEMO, "--json"], "| head -c 5; exit ${PIPESTATUS[0]}")
    assert done.stderr == b""
    assert done.returncode in (0, 3)
