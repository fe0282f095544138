"""What the table says of a finding is what findings say of themselves."""

from pathlib import Path

import pytest
from random_baits import random_bait

from bodygen import tables
from bodygen.errors import BodygenError
from bodygen.findings import Finding
from bodygen.pipeline import assess
from bodygen.recipe.read import read_recipe
from bodygen.tables.told import told

FINDINGS = tables.load("findings")["finding"]
DEMOS = sorted((Path(__file__).parents[2] / "params").glob("*.toml"))
SEEDS = range(2)


@pytest.mark.parametrize("code", FINDINGS)
def test_a_finding_says_what_it_is_what_to_do_and_where_its_limit_comes_from(code):
    row = FINDINGS[code]
    assert all(row[part] and not row[part].endswith(".") for part in ("what", "do", "limit", "source"))
    assert row["source"] in row.get("sources", [row["source"]])
    assert "{" not in told(row["limit"])


@pytest.mark.parametrize("code", FINDINGS)
def test_a_finding_made_without_a_source_has_the_tables(code):
    assert Finding(code, "note", "", "").source == FINDINGS[code]["source"]
    assert Finding(code, "note", "", "", source="computed").source == "computed"


def test_a_finding_that_the_table_lacks_must_say_its_source():
    with pytest.raises(KeyError, match="no-such-doubt"):
        Finding("no-such-doubt", "note", "", "")


def test_a_finding_names_a_source_that_the_table_knows(tmp_path):
    """Of the demos and of a few random baits: what they doubt is of every room up to flotation."""
    seen = set()
    for recipe in [*map(read_recipe, DEMOS), *_random(tmp_path)]:
        for finding in _findings(recipe):
            row = FINDINGS[finding.code]
            assert finding.source in row.get("sources", [row["source"]]), finding
            seen.add(finding.code)
    assert len(seen) >= 5


def _random(folder):
    for seed in SEEDS:
        try:
            yield read_recipe(random_bait(seed).saved(folder))
        except BodygenError:
            continue


def _findings(recipe):
    try:
        return assess(recipe).findings
    except BodygenError:
        return ()
