"""The JSON that is read holds what the TOML beside it says."""

import json
import tomllib
from pathlib import Path

import pytest

import bodygen.tables as package

TABLES = sorted(Path(package.__file__).parent.glob("*.toml"))


@pytest.mark.parametrize("path", TABLES, ids=lambda path: path.stem)
def test_each_table_is_read_as_it_is_written(path):
    """``python .ci/tables.py`` writes the JSON anew."""
    facts = tomllib.loads(path.read_text(encoding="utf-8"))
    read = package.load(path.stem)
    assert read == facts
    assert json.dumps(read) == json.dumps(facts)  # 1 is not 1.0 there, and the order counts


def test_no_table_is_left_of_which_the_facts_are_gone():
    assert {path.stem for path in TABLES} == {path.stem for path in TABLES[0].parent.glob("*.json")}
