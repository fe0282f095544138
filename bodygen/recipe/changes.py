"""What a hand or a study changed, put into the recipe's text; comments and all else stay as the maker wrote them."""

import re
import tomllib
from collections.abc import Mapping, Sequence
from decimal import Decimal
from functools import lru_cache
from typing import Any

from bodygen.errors import InputError, Mistake
from bodygen.recipe.about import toml
from bodygen.recipe.keys import RECIPE, Key
from bodygen.recipe.rewrite import rewritten
from bodygen.recipe.text.read_context import QUANTITIES
from bodygen.recipe.text.source_positions import spans

LONGEST_VALUE = 4000
"""Characters of one changed value: a drawn outline of a hundred points has fewer."""
_NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d{1,2})?")
_STEP = re.compile(r"\[\d+\]|[^.\[\]]+")
_INDEX = re.compile(r"\[\d+\]")


def changed_text(text: str, changes: Mapping[str, str | None]) -> str:
    r"""Put changes into a recipe's text.

    Parameters
    ----------
    text : str
        The recipe.
    changes : Mapping[str, str or None]
        Key path to what a person wrote there ("2-3/4 in", "lead", "true", a list as TOML has it); None takes it out.

    Raises
    ------
    InputError
        The text is not TOML, or a key leads nowhere.

    Examples
    --------
    >>> changed_text('[shape]\nlength = "3 in"  # of basswood\n', {"shape.length": "2-3/4 in"})
    '[shape]\nlength = "2-3/4 in"  # of basswood\n'
    """
    return changed(text, changes)[0]


def changed(text: str, changes: Mapping[str, str | None]) -> tuple[str, dict[str, Any] | None]:
    """``changed_text``, and what ``toml_of`` reads from it where that is known without reading all of it again.

    Raises
    ------
    InputError
        As ``changed_text``.
    """
    if not changes:
        return text, None
    try:
        places, raw = _read(text)
    except (ValueError, RecursionError) as error:
        raise InputError([Mistake("recipe.toml", 0, "", "", f"not TOML: {error}.")]) from None
    values = {key: None if written is None else toml_value(key, written) for key, written in changes.items()}
    there = {key for key, value in values.items() if value is not None and key in places}
    # the last in the text first, so that the others stay where they are; one within another is for the long way
    order = sorted(there, key=lambda key: places[key], reverse=True)
    for key, after in zip(order, ["", *order], strict=False):
        start, end = places[key]
        if after and places[after][0] < end:
            there.discard(key)
            continue
        text = text[:start] + toml(values[key]) + text[end:]
    rest = {key: value for key, value in values.items() if key not in there}
    return (rewritten(text, rest), None) if rest else (text, _put_in(raw, values))


@lru_cache(maxsize=8)  # a hand that drags changes one text again and again
def _read(text: str) -> tuple[dict[str, tuple[int, int]], dict[str, Any]]:
    """Where each value stands in a text, and what all of it says."""
    raw = tomllib.loads(text, parse_float=Decimal)
    return spans(text), raw


def _put_in(raw: dict[str, Any], values: Mapping[str, object]) -> dict[str, Any] | None:
    """The same with other values at some keys; None where a key or a value is not so plain."""
    for key, value in values.items():
        if '"' in key:
            return None
        try:
            only = tomllib.loads(f"value = {toml(value)}", parse_float=Decimal)
        except (ValueError, RecursionError):  # the reader says what is wrong with it
            return None
        way = [int(step[1:-1]) - 1 if step[0] == "[" else step for step in _STEP.findall(key)]
        raw = _put(raw, way, only["value"])
    return raw


def _put(into: Any, way: Sequence[str | int], value: object) -> Any:  # noqa: ANN401  a table or a list of TOML
    copy = into.copy()
    copy[way[0]] = _put(into[way[0]], way[1:], value) if len(way) > 1 else value
    return copy


def toml_value(key: str, written: str) -> object:
    """What a person wrote, in TOML's own types: a number where it is one, a list or table where it looks like one.

    >>> toml_value("bore[1].depth", "3/8 in"), toml_value("bore[1].depth", "9.5"), toml_value("bore[1].mirror", "true")
    ('3/8 in', 9.5, True)
    """
    if len(written) > LONGEST_VALUE:
        raise InputError([Mistake("recipe.toml", 0, key, "", f"longer than {LONGEST_VALUE} characters.")])
    plain, about = written.strip(), key_of(key)
    kind = about.kind if about else "other"
    if kind == "flag" and plain in {"true", "false"}:
        return plain == "true"
    if (kind in QUANTITIES or kind in {"number", "whole", "other"}) and _NUMBER.fullmatch(plain):
        return float(plain) if re.search(r"[.eE]", plain) else int(plain)
    if plain[:1] in {"[", "{"} and kind not in {"text", "choice"}:
        try:
            return tomllib.loads(f"value = {plain}")["value"]
        except (ValueError, RecursionError):  # the reader says what is wrong with it
            return plain
    return plain


def key_of(path: str) -> Key | None:
    """The key at a path of a recipe, ``bore[2].fill.metal``; None where there is none, as in a list of points.

    >>> key_of("bore[2].fill.metal").names
    'metal'
    """
    if _INDEX.search(path) and path.endswith("]"):
        return None
    table: Mapping[str, Key] = RECIPE
    found: Key | None = None
    for name in _INDEX.sub("", path).split("."):
        found = table.get(name)
        if found is None:
            return None
        table = found.table
    return found
