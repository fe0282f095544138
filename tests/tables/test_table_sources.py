"""Every fact names where it comes from, and every source is used."""

from collections.abc import Iterator
from importlib.resources import files

import pytest

from bodygen import tables

NAMES = sorted(
    file.name.removesuffix(".toml") for file in files("bodygen.tables").iterdir() if file.name.endswith(".toml")
)
FACTS = [name for name in NAMES if name != "sources"]
SOURCES = {key: row for key, row in tables.load("sources").items() if isinstance(row, dict)}


# Read for the depth estimate, whose own table will name them: take a line out when it does.
AWAITED = {
    "aero_data_book",
    "eiffel_1911",
    "fisheries_science_2002",
    "hoerner_drag_1965",
    "joessel_secondary",
    "lamb_hydrodynamics",
    "naca_1048",
    "naca_184",
    "ortiz_2015",
    "white_viscous",
}


def named(value: object) -> Iterator[str]:
    """Every source id that a table names, in `source`, `<name>_source` or `sources`."""
    if isinstance(value, dict):
        for key, inner in value.items():
            if (key == "source" or key.endswith("_source")) and isinstance(inner, str):
                yield inner
            elif key == "sources" and isinstance(inner, list):
                yield from inner
            else:
                yield from named(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from named(inner)


@pytest.mark.parametrize("name", FACTS)
def test_every_source_named_in_a_table_is_in_the_bibliography(name):
    assert set(named(tables.load(name))) - {tables.COMMON_PRACTICE} <= set(SOURCES)


@pytest.mark.parametrize("name", FACTS)
def test_every_table_of_facts_has_a_source(name):
    """A section whose rows are tables carries the source in each row; any other carries its own."""
    for key, section in tables.load(name).items():
        if isinstance(section, dict):
            rows = list(section.values()) if all(isinstance(row, dict) for row in section.values()) else [section]
            assert all("source" in row for row in rows), f"{name}: [{key}]"


def test_no_source_is_listed_without_being_used():
    used = {source for name in FACTS for source in named(tables.load(name))}
    assert set(SOURCES) - used <= AWAITED


def test_every_table_says_its_format():
    assert all(tables.load(name)["format"] == 1 for name in NAMES)


def test_a_table_is_read_once():
    assert tables.load("limits") is tables.load("limits")
