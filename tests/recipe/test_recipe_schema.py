"""The schema takes what ``check`` takes, and refuses what it refuses for a key's kind or bounds.

Held by a validator of JSON Schema that knows nothing of bodygen. What a text with a unit comes to, and which keys go
together, the schema does not know: there it may only be looser than ``check``.
"""

import re
import tomllib
from pathlib import Path

import numpy as np
import pytest
from jsonschema import Draft7Validator
from random_baits import random_bait

from bodygen import units
from bodygen.errors import InputError
from bodygen.recipe.about import every_key
from bodygen.recipe.keys import RECIPE, bounds
from bodygen.recipe.pattern import quantity
from bodygen.recipe.read import read_recipe, recipe_from_bytes
from bodygen.recipe.schema import is_ours, schema, schema_text
from bodygen.recipe.starter import starter_text
from bodygen.recipe.text.read_context import QUANTITIES, ReadContext, read_value

ROOT = Path(__file__).parents[2]
DEMOS = sorted([*(ROOT / "params").glob("*.toml"), *(ROOT / "tests" / "baits").glob("*.toml")])
BROKEN = (Path(__file__).parent / "broken" / "wordings.txt").read_text(encoding="utf-8").split("===\n")[1:]
GOOD = (
    'format = 1\nname = "Test perch"\nunits = "mm"\n\n[shape]\nlength = "70 mm"\ndepth = "22 mm"\nthickness = "16 mm"\n'
)
SCHEMA = schema()
VALIDATOR = Draft7Validator(SCHEMA)
SEEDS = range(300)
ODD = (
    True,
    7.5,
    3,
    -4,
    1e9,
    -1e9,
    "",
    "   ",
    "nonsense",
    "3 g",
    "12 mm",
    "1/2 in",
    "4 deg",
    "9 %",
    [],
    [1],
    {},
    {"a": 1},
)
"""Values that are of the right kind for some keys and of a wrong one for most."""


def refused(doc):
    return [error.message for error in VALIDATOR.iter_errors(doc)]


def test_the_schema_is_a_schema():
    Draft7Validator.check_schema(SCHEMA)
    assert is_ours(schema_text())
    assert not is_ours('{"$id": "urn:another"}')
    assert not is_ours("[1, 2]")
    assert not is_ours("no JSON")


@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
def test_the_schema_takes_the_demos(path):
    assert refused(tomllib.loads(path.read_text(encoding="utf-8"))) == []


@pytest.mark.parametrize("ruler", ["mm", "in"])
@pytest.mark.parametrize("length", [40.0, 110.0, 200.0])
def test_the_schema_takes_a_starter(ruler, length):
    assert refused(tomllib.loads(starter_text("A bait", ruler, length))) == []


def test_the_schema_takes_every_random_recipe_that_check_takes(tmp_path):
    taken = 0
    for seed in SEEDS:
        bait = random_bait(seed)
        try:
            read_recipe(bait.saved(tmp_path))
        except InputError:
            continue
        assert refused(tomllib.loads(bait.text())) == [], f"seed {seed}"
        taken += 1
    assert taken > len(SEEDS) / 2


def _places(doc, known, path=""):
    for name, value in doc.items():
        key = known[name]
        for table in value if key.kind == "tables" else [value] if key.kind == "table" else []:
            yield from _places(table, key.table, f"{path}{name}.")
        if key.kind != "other":
            yield f"{path}{name}", doc, name, key


@pytest.mark.parametrize("ruler", ["mm", "in"])
def test_the_schema_and_check_refuse_the_same_kinds_and_bounds(ruler):
    """Every key with values of a wrong kind, and just beyond and within its bounds."""
    tried = {True: 0, False: 0}
    for path, key in every_key():
        for value in (*ODD, *_about_the_bounds(key, ruler)):
            wrong = _is_wrong(path, key, value, ruler)
            if wrong is not None and path != "units":
                assert bool(_refused_at(path, value, ruler)) == wrong, f"{path} = {value!r}"
                tried[wrong] += 1
    assert min(tried.values()) > 400


@pytest.mark.parametrize("ruler", ["mm", "in"])
def test_the_schema_is_not_stricter_than_check_on_the_very_bounds(ruler):
    """Also where a bound in inches has no end: there the schema lies a hair outside."""
    for path, key in every_key():
        for value in _on_the_bounds(key, ruler):
            if _is_wrong(path, key, value, ruler) is False:
                assert _refused_at(path, value, ruler) == [], f"{path} = {value!r}"


def _refused_at(path, value, ruler):
    """What is said of one value in a recipe that has nothing else."""
    doc = value
    place = path.split(".")
    for step in reversed(place):
        doc = {step: doc}
    if RECIPE[place[0]].kind == "tables" and len(place) > 1:
        doc[place[0]] = [doc[place[0]]]
        place.insert(1, 0)
    errors = VALIDATOR.iter_errors({"units": ruler} | doc)
    return [error.message for error in errors if list(error.absolute_path)[: len(place)] == place]


def test_a_random_recipe_with_one_wrong_value_is_refused_by_both(tmp_path):
    rng = np.random.default_rng(5)
    both = 0
    for seed in range(12):
        bait = random_bait(seed)
        table, name, key = rng.choice([place[1:] for place in _places(bait.doc, RECIPE)])
        for value in (*ODD, *_about_the_bounds(key, bait.doc["units"])):
            table[name] = value
            if _is_wrong("", key, value, bait.doc["units"]):
                with pytest.raises(InputError):
                    recipe_from_bytes(bait.text().encode(), tmp_path / "bait.toml")
                assert refused(tomllib.loads(bait.text())), f"seed {seed}: {name} = {value!r}"
                both += 1
    assert both > 80


def _on_the_bounds(key, ruler):
    """The least and the most, and the next number that a computer knows on either side."""
    if not key.bounds or key.kind in {"lengths", "numbers", "whole"}:
        return []
    by_ruler = (key.kind == "length" and not key.unit) or key.unit == "mm/min"
    ends = [bound / (25.4 if ruler == "in" and by_ruler else 1.0) for bound in bounds(key.bounds)]
    return [near for end in ends for near in (end, np.nextafter(end, -np.inf).item(), np.nextafter(end, np.inf).item())]


def _about_the_bounds(key, ruler):
    if not key.bounds or key.kind in {"lengths", "numbers"}:
        return ()
    least, most = bounds(key.bounds) if key.kind == "whole" else _on_the_bounds(key, ruler)[::3]
    step = 1 if key.kind == "whole" else (most - least) * 1e-6
    near = (least - step, least + step, most - step, most + step)
    return [round(value) for value in near] if key.kind == "whole" else near


def _is_wrong(path, key, value, ruler):
    """Whether the reader refuses a value; None where it knows more than a schema can."""
    ctx = ReadContext("x.toml", Path(), {}, units=ruler)
    if key.table:
        return not isinstance(value, dict | list) or None
    if isinstance(value, str) and key.kind in QUANTITIES:
        try:
            units.fraction(value, key.kind, "mm" if key.kind == "length" else units_of(key))
        except units.UnitError:
            return True
        return None if key.bounds else False
    if path == "format" or key.names or key.kind == "other":
        return None
    if key.kind == "whole" and isinstance(value, float) and value.is_integer():
        return None  # JSON has one kind of number
    read_value(ctx, path, value, key)
    return bool(ctx.mistakes)


def units_of(key):
    return {"mass": "g", "angle": "deg", "temperature": "degc", "speed": "m/s", "density": "g/cm3"}.get(key.kind, "%")


@pytest.mark.parametrize("block", BROKEN, ids=lambda block: block.split("\n---\n")[1].split("\n")[0])
def test_the_schema_refuses_a_broken_recipe_for_its_kind(block):
    """But for a number that is none, which JSON cannot write."""
    extra, message = block.split("\n---\n")
    try:
        doc = tomllib.loads(GOOD + extra)
    except ValueError:
        return
    problems = [line.rpartition(": ")[2] for line in message.splitlines() if line.startswith("perch.toml")]
    if any(re.match(r"no such key|not (a|true)\b|.*is no unit|.* where .* belongs", problem) for problem in problems):
        assert "not a finite" in message or refused(doc)


@pytest.mark.parametrize("kind", sorted(QUANTITIES))
def test_a_pattern_takes_the_texts_that_are_read_and_no_others(kind):
    """Every unit with its ways of writing, numbers as rulers show them, and near misses of all these."""
    names = [name for table in units.UNITS.values() for name in table]
    numbers = ("9.5", "3/8", "2-3/4", "2 3/4", ".5", "1e2", "-4", "\u22124", "+ 3", "\u00bd", "2\u00bd", "2 \u2013 1/2")
    wrong = ("", "1,5", "3/0", "1/2/3", "--4", "nan", "inf", "e5", "1e", "two", "1 2")
    validator = Draft7Validator({"type": "string", "pattern": quantity(kind)})
    base = {"length": "mm", "mass": "g", "angle": "deg", "temperature": "degc", "speed": "m/s", "density": "g/cm3"}
    for number in (*numbers, *wrong):
        for name in ("", *names):
            for text in (f"{number} {name}", f"{number}{name.upper()}.", f"  {number}{name.replace('u', chr(181))} "):
                try:
                    units.fraction(text, kind, base.get(kind, "%"))
                except units.UnitError:
                    assert not validator.is_valid(text), text
                else:
                    assert validator.is_valid(text), text


def test_a_bare_number_is_bounded_by_the_ruler_of_the_file():
    doc = tomllib.loads(GOOD.replace('"70 mm"', "15"))
    assert refused(doc)
    assert refused(doc | {"units": "in"}) == []
    assert refused(doc | {"units": "in", "shape": doc["shape"] | {"length": 70}})
    assert refused({key: value for key, value in doc.items() if key != "units"})


def test_the_schema_knows_every_key_with_its_words_and_an_example_that_it_takes():
    for path, key in every_key():
        place = SCHEMA
        for step in path.split("."):
            place = place.get("items", place)["properties"][step]
        assert key.about in place["description"]
        if not key.table:
            alone = Draft7Validator({**place, "definitions": SCHEMA["definitions"]})
            assert alone.is_valid(key.example), path
