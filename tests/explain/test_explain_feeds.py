"""A key feeds the kinds of file that a change of it makes anew, and no others."""

import pytest
from random_baits import random_bait, toml

from bodygen.errors import BodygenError
from bodygen.explain.feeds import keys_that_feed, kinds_fed_by
from bodygen.files.kinds import KINDS, WHOLE, digest_of
from bodygen.recipe.about import every_key
from bodygen.recipe.keys import RECIPE
from bodygen.recipe.read import recipe_from_bytes

PLAIN = {path: key for path, key in every_key() if not key.table}
SEEDS = range(60)


def _changed(table, name, key):
    """The same value a little off, or another choice."""
    value = table[name]
    if key.kind == "choice":
        return [choice for choice in key.choices if choice != value]
    if isinstance(value, bool):
        return [not value]
    if isinstance(value, int | float):
        return [value + 1 if key.kind == "whole" else round(value * 1.01 + 1e-3, 6)]
    return [key.example] if key.example != value else []


def _places(doc, known, path=""):
    for name, value in doc.items():
        key = known[name]
        for table in value if key.kind == "tables" else [value] if key.kind == "table" else []:
            yield from _places(table, key.table, f"{path}{name}.")
        if not key.table:
            yield f"{path}{name}", doc, name, key


def test_a_change_of_a_key_touches_the_kinds_that_it_is_said_to_feed(tmp_path):
    """By the digests that decide what a second build makes anew, over random recipes: one key changed at a time."""
    held = set()
    for seed in SEEDS:
        bait = random_bait(seed)
        if bait.files:
            continue
        before = _read(bait.doc, tmp_path)
        if before is None:
            continue
        for path, table, name, key in list(_places(bait.doc, RECIPE)):
            if path in held:
                continue
            old = table[name]
            for new in _changed(table, name, key):
                table[name] = new
                after = _read(bait.doc, tmp_path)
                table[name] = old
                if after is None:
                    continue
                touched = {kind.name for kind in KINDS if digest_of(kind, before) != digest_of(kind, after)}
                assert touched <= set(kinds_fed_by(path)), path
                if touched == set(kinds_fed_by(path)):
                    held.add(path)
    assert len(held) > 110, sorted(set(PLAIN) - held)


def _read(doc, folder):
    try:
        return recipe_from_bytes(toml(doc).encode(), folder / "bait.toml")
    except BodygenError:
        return None


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.name)
def test_a_kind_is_made_from_the_keys_that_feed_it(kind):
    """Both ways round: each key lies in what the kind names, or in none of it."""
    named = keys_that_feed(kind)
    for path in PLAIN:
        within = any(path == one or path.startswith(f"{one}.") for one in named)
        assert (kind.name in kinds_fed_by(path)) == (within or WHOLE in kind.fields)


def test_a_table_feeds_what_any_of_its_keys_feeds():
    assert set(kinds_fed_by("shop")) >= {"cradles", "gcode", "mould", "templates"}
    assert kinds_fed_by("goal") == ("pictures", "card", "calendar")
    assert "block" in kinds_fed_by("wood.blank.width")
    assert "block" not in kinds_fed_by("wood.blank.mass")
