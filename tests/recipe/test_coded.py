"""A recipe is found by the code on its card: by every command that takes one, told where it is unclear."""

import json
import shutil
from pathlib import Path

import pytest

from bodygen.cli import main
from bodygen.errors import InputError
from bodygen.recipe.coded import recipe_file
from bodygen.recipe.read import read_recipe
from bodygen.version import code_of

PARAMS = Path(__file__).parents[2] / "params"
PERCH = code_of(read_recipe(PARAMS / "tarn-perch-70.toml").sha256)
DACE = code_of(read_recipe(PARAMS / "beck-dace-80.toml").sha256)


@pytest.fixture
def bench(tmp_path, monkeypatch):
    """A folder with three recipes, one of which names another file."""
    for name in ("tarn-perch-70.toml", "fell-reed-110.toml", "beck-dace-80.toml", "beck-dace-80.csv"):
        shutil.copy(PARAMS / name, tmp_path)
    monkeypatch.chdir(tmp_path)
    return tmp_path


def refused(asked, folder, built=()):
    with pytest.raises(InputError) as told:
        recipe_file(Path(asked), folder, built)
    return str(told.value)


def test_a_code_its_first_digits_and_capitals_of_it_name_the_recipe(bench):
    for written in (PERCH, PERCH[:4], PERCH.upper()):
        assert recipe_file(Path(written), bench) == bench / "tarn-perch-70.toml"
    assert recipe_file(Path(DACE), bench) == bench / "beck-dace-80.toml"


def test_what_is_a_file_or_looks_like_none_of_a_code_stays_as_it_was_written(bench):
    (bench / PERCH).write_text("a file of that name", encoding="utf-8")
    for written in (PERCH, "tarn-perch-70.toml", f"recipes/{PERCH}", "perch", "no such thing"):
        assert recipe_file(Path(written), bench) == Path(written)


def test_a_slip_in_a_code_is_told_the_nearest(bench):
    slip = f"{PERCH[:5]}0{PERCH[6:]}"
    assert f"{PERCH} (tarn-perch-70.toml)" in refused(slip, bench)


def test_a_code_that_two_recipes_have_is_not_guessed(bench):
    shutil.copy(bench / "tarn-perch-70.toml", bench / "copy.toml")
    told = refused(PERCH, bench)
    assert "copy.toml" in told
    assert "tarn-perch-70.toml" in told


def test_the_card_of_a_recipe_that_was_changed_since_is_told_as_such(bench):
    told = refused("abcd1234", bench, [("Tarn perch 70", "abcd1234ef")])
    assert "Tarn perch 70 had it, and was changed since" in told


def test_one_stands_at_the_bench_with_the_card_in_hand(bench, capsys):
    assert main(["log", PERCH, "--start", "the pale board", "--weighed", "drilled=4.6 g"]) == 0
    assert f"code {PERCH}" in capsys.readouterr().out
    assert main(["log", PERCH, "--json"]) == 0
    builds = json.loads(capsys.readouterr().out)["builds"]
    assert [build["code"] for build in builds] == [PERCH]
    assert (bench / "bench-log.sqlite").exists()
    with Path("tarn-perch-70.toml").open("a", encoding="utf-8") as recipe:
        recipe.write("# another word\n")
    assert main(["log", PERCH]) == 2
    assert "was changed since" in capsys.readouterr().err
