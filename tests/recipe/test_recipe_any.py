"""Any recipe that holds reads; any that does not is refused by the key that is wrong, never otherwise."""

from contextlib import suppress
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from recipe_strategies import broken_recipe_text, random_recipe_text, seeded

from bodygen.errors import InputError
from bodygen.recipe.read import recipe_from_bytes

SEEDS = st.integers(0, 10**9)


@settings(max_examples=300)
@given(SEEDS)
def test_a_plausible_recipe_reads(seed):
    text = random_recipe_text(seeded(seed))
    recipe = recipe_from_bytes(text.encode(), Path("any.toml"))
    assert len(recipe.bores) == text.count("[[bore]]")
    assert (recipe.lip is not None) == ("[lip]" in text)


@settings(max_examples=300)
@given(SEEDS)
def test_one_mistake_is_refused_by_the_key_it_stands_at(seed):
    text, key = broken_recipe_text(seeded(seed))
    with pytest.raises(InputError) as caught:
        recipe_from_bytes(text.encode(), Path("any.toml"))
    assert any(mistake.key.startswith(key) for mistake in caught.value.mistakes)
    assert all(mistake.line > 0 and mistake.problem for mistake in caught.value.mistakes)


@settings(max_examples=150)
@given(SEEDS, st.integers(0, 10**6), st.binary(min_size=1, max_size=6))
def test_damaged_bytes_are_read_or_refused_and_nothing_else(seed, place, damage):
    content = bytearray(random_recipe_text(seeded(seed)).encode())
    at = place % len(content)
    content[at : at + len(damage)] = damage
    with suppress(InputError):
        recipe_from_bytes(bytes(content), Path("any.toml"))


VALUES = st.recursive(
    st.one_of(
        st.sampled_from([
            '"x"',
            '"3 mm"',
            '"-3 in"',
            "nan",
            "-inf",
            "true",
            "0",
            "-1",
            "7.5",
            "1e400",
            "1979-05-27",
            '"#6"',
            '""',
        ])
    ),
    lambda inner: (
        st.lists(inner, max_size=4).map(lambda items: f"[{', '.join(items)}]")
        | st.dictionaries(st.sampled_from(["points", "fractions", "a", "mass", "back"]), inner, max_size=2).map(
            lambda table: "{" + ", ".join(f"{key} = {value}" for key, value in table.items()) + "}"
        )
    ),
    max_leaves=6,
)


@settings(max_examples=300)
@given(SEEDS, st.integers(0, 10**6), VALUES)
def test_any_value_at_any_key_is_read_or_refused_and_nothing_else(seed, place, value):
    lines = random_recipe_text(seeded(seed)).split("\n")
    written = [number for number, line in enumerate(lines) if " = " in line]
    number = written[place % len(written)]
    lines[number] = f"{lines[number].split(' = ')[0]} = {value}"
    with suppress(InputError):
        recipe_from_bytes("\n".join(lines).encode(), Path("any.toml"))
