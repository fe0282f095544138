"""``bodygen new``: the schema lies beside the recipe, its first line names it, and nothing of the maker's is lost."""

import json
import tomllib
from pathlib import Path

import pytest
from jsonschema import Draft7Validator

from bodygen.cli import main
from bodygen.errors import InputError
from bodygen.recipe.new import new_recipe
from bodygen.recipe.read import read_recipe
from bodygen.recipe.schema import FILE, ID, schema_text

PARAMS = Path(__file__).parents[2] / "params"
LINE = f"#:schema ./{FILE}"


@pytest.mark.parametrize("source", [None, PARAMS / "tarn-perch-70.toml", PARAMS / "beck-dace-80.toml"])
def test_a_new_recipe_names_the_schema_beside_it_which_takes_it(tmp_path, source):
    path = new_recipe("Evening bleak", tmp_path, source=source)
    text = path.read_text(encoding="utf-8")
    assert text.splitlines()[0] == LINE
    named = tmp_path / text.splitlines()[0].removeprefix("#:schema ")
    Draft7Validator(json.loads(named.read_text(encoding="utf-8"))).validate(tomllib.loads(text))
    assert read_recipe(path).name == "Evening bleak"


def test_a_copy_of_a_recipe_that_names_a_schema_names_one(tmp_path):
    first = new_recipe("First", tmp_path)
    second = new_recipe("Second", tmp_path, source=first, size="80 mm")
    assert [line for line in second.read_text(encoding="utf-8").splitlines() if line.startswith("#:")] == [LINE]
    assert second.read_text(encoding="utf-8").startswith(f"{LINE}\n# A copy of first.toml")


def test_a_schema_of_ours_that_is_another_gives_way_and_the_same_is_left(tmp_path):
    old = tmp_path / FILE
    old.write_text(json.dumps({"$id": ID, "title": "of an older version"}), encoding="utf-8")
    new_recipe("First", tmp_path)
    assert old.read_text(encoding="utf-8") == schema_text()
    before = old.stat()
    new_recipe("Second", tmp_path)
    assert (old.stat().st_ino, old.stat().st_mtime_ns) == (before.st_ino, before.st_mtime_ns)
    assert {path.name for path in tmp_path.iterdir()} == {FILE, "first.toml", "second.toml"}


@pytest.mark.parametrize("content", ["my own notes", '{"$id": "urn:another"}', "[]", ""])
def test_a_file_of_the_makers_under_that_name_stays_and_is_not_named(content, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    Path(FILE).write_text(content, encoding="utf-8")
    assert main(["new", "First"]) == 0
    assert Path(FILE).read_text(encoding="utf-8") == content
    assert "#:schema" not in Path("first.toml").read_text(encoding="utf-8")
    told = capsys.readouterr()
    assert f"{FILE} here is not bodygen's: it stays as it is" in told.err
    assert told.out == "first.toml\n"


def test_what_is_no_file_stays_too(tmp_path):
    (tmp_path / FILE).mkdir()
    (tmp_path / "elsewhere").mkdir()
    (tmp_path / "elsewhere" / FILE).symlink_to(tmp_path / "nowhere.json")
    for folder in (tmp_path, tmp_path / "elsewhere"):
        assert "#:schema" not in new_recipe("First", folder).read_text(encoding="utf-8")
    assert not (tmp_path / "nowhere.json").exists()


def test_a_recipe_that_is_refused_leaves_no_schema(tmp_path):
    (tmp_path / "first.toml").write_text("mine", encoding="utf-8")
    with pytest.raises(InputError, match="is there already; nothing was written"):
        new_recipe("First", tmp_path)
    assert [path.name for path in tmp_path.iterdir()] == ["first.toml"]


@pytest.mark.parametrize("name", ["", "  ", "two\nlines"])
def test_a_name_that_names_no_bait_is_refused(tmp_path, name):
    with pytest.raises(InputError, match=r"^command line: NAME = .*: no name for a bait"):
        new_recipe(name, tmp_path)
    assert list(tmp_path.iterdir()) == []


def test_a_copy_is_not_asked_for_units_of_its_own(tmp_path):
    with pytest.raises(InputError, match=r"^command line: --units = in: a copy keeps the units of its source"):
        new_recipe("Evening bleak", tmp_path, source=PARAMS / "tarn-perch-70.toml", ruler="in")
