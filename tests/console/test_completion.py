"""What a shell offers at Tab: a real bash is asked, with the script that the program prints."""

import shutil
import subprocess
import sys

import pytest

from bodygen.cli import main
from bodygen.files.kinds import GROUPS, KINDS
from bodygen.log.store import start_build
from bodygen.tables import load

KINDS_OFFERED = {*GROUPS, *(kind.name for kind in KINDS)}
needs_bash = pytest.mark.skipif(shutil.which("bash") is None, reason="there is no bash here")


@pytest.fixture
def offers(tmp_path, capsys):
    """Ask bash what it would offer for the last of these words, in a folder with a recipe and a log."""
    main(["completion", "bash"])
    (tmp_path / "script").write_text(capsys.readouterr().out, encoding="utf-8")
    (tmp_path / "baits").mkdir()
    (tmp_path / "baits" / "roach.toml").write_text("format = 1", encoding="utf-8")
    start_build(tmp_path / "bench-log.sqlite", "perch", "a", "2031-03-09", "pale plank 3")
    start_build(tmp_path / "baits" / "bench-log.sqlite", "roach", "a", "2031-03-09", "old balsa")

    def ask(*words):
        quoted = " ".join(f"'{word}'" for word in ("bodygen", *words))
        code = (
            f"bodygen() {{ '{sys.executable}' -m bodygen \"$@\"; }}; compopt() {{ :; }}; source ./script;"
            f" COMP_WORDS=({quoted}); COMP_CWORD={len(words)}; _shtab_bodygen; printf '%s\\n' \"${{COMPREPLY[@]}}\""
        )
        done = subprocess.run(["bash", "-c", code], cwd=tmp_path, capture_output=True, text=True, check=True)
        return set(done.stdout.split("\n")) - {""}

    return ask


@needs_bash
def test_files_are_offered_where_a_recipe_belongs(offers):
    assert offers("weigh", "ba") == {"baits"}
    assert offers("weigh", "baits/") == {"baits/roach.toml", "baits/bench-log.sqlite"}
    assert offers("new", "x", "--from", "baits/ro") == {"baits/roach.toml"}


@needs_bash
def test_kinds_metals_and_boards_are_offered(offers):
    assert offers("build", "a.toml", "--only", "") == KINDS_OFFERED
    assert offers("build", "a.toml", "--only", "lip,ma") == {"lip,masks"}
    assert offers("ballast", "a.toml", "--metal", "") == set(load("metals")["metal"])
    assert offers("weigh", "a.toml", "--board", "") == {r"pale\ plank\ 3"}
    assert offers("weigh", "baits/roach.toml", "--board", "o") == {r"old\ balsa"}


@needs_bash
def test_words_to_explain_are_offered(offers):
    assert offers("explain", "bore.de") == {"bore.depth", "bore.depth_to"}
    assert offers("explain", "bore-meets-") == {"bore-meets-kerf", "bore-meets-slot"}
    assert offers("explain", "gaug") == {"gauges", "gauge-no-section", "gauges-a4.pdf", "gauges-letter.pdf"}


def test_without_a_log_no_board_is_offered(tmp_path, capsys):
    assert main(["completion", "bash", "--words", "boards", "--beside", str(tmp_path / "a.toml")]) == 0
    assert capsys.readouterr().out.strip() == ""


@pytest.mark.parametrize("shell", ["zsh", "tcsh"])
def test_the_other_shells_ask_for_the_same_words(shell, capsys):
    main(["completion", shell])
    script = capsys.readouterr().out
    assert all(
        f"--words {words}" in script or f"_bodygen_{words}" in script
        for words in ("kinds", "metals", "boards", "topics")
    )


@pytest.mark.parametrize("shell", ["bash", "zsh"])
def test_the_script_is_sound_for_its_shell(shell, tmp_path, capsys):
    if shutil.which(shell) is None:
        pytest.skip(f"there is no {shell} here")
    main(["completion", shell])
    (tmp_path / "script").write_text(capsys.readouterr().out, encoding="utf-8")
    assert subprocess.run([shell, "-n", tmp_path / "script"], check=False).returncode == 0
