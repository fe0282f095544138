"""The facts: one TOML file each, every value with its unit in the key and its source beside it.

Beside each lies the same as JSON, which is read: twenty times as fast. ``python .ci/tables.py`` writes it.
Knows where the files are. Knows nothing of what they mean; ``sources.toml`` says how to read ``source``.
"""

import json
from collections.abc import Callable, Mapping
from dataclasses import MISSING, fields
from functools import cache
from math import radians
from pathlib import Path
from typing import Any, TypeVar

COMMON_PRACTICE = "common practice, no published source"
Row = TypeVar("Row")


def _as_it_is(value: object) -> object:
    return tuple(value) if isinstance(value, list) else value


_READ: dict[str, Callable[[Any], Any]] = {
    **dict.fromkeys(("", "_mm", "_s", "_rpm", "_mm_s", "_mm_min", "_share"), _as_it_is),
    "_deg": radians,
    "_percent": lambda percent: percent / 100,
}
"""What may stand behind a field's name in a row's key, and what becomes of the value there."""


@cache
def load(name: str) -> dict[str, Any]:
    """All of ``tables/<name>.toml`` as plain dicts and lists; read once, and not to be changed by who gets it."""
    table: dict[str, Any] = json.loads((Path(__file__).parent / f"{name}.json").read_text(encoding="utf-8"))
    return table


def as_row(kind: type[Row], *rows: Mapping[str, Any], **given: object) -> Row:
    """Rows of a table as a frozen dataclass: each field by its own name, with the unit behind it that the key has.

    Angles become radians and percents shares, lists tuples. What no row holds keeps its default.

    Parameters
    ----------
    kind : type
        The dataclass.
    *rows : Mapping
        From tables; no two of them with the same field.
    **given
        Fields that are in no row under their own name.

    Raises
    ------
    KeyError
        If a field stands in none of the rows, or in them twice.

    Examples
    --------
    >>> from dataclasses import make_dataclass
    >>> as_row(make_dataclass("Peg", ["length", "draft"]), {"length_mm": 4.0, "draft_deg": 180.0})
    Peg(length=4.0, draft=3.141592653589793)
    """
    values = dict(given)
    names = {field.name for field in fields(kind)}  # type: ignore[arg-type]  # a bound to dataclasses has no public name
    for field in fields(kind):  # type: ignore[arg-type]  # as above
        if field.name in given:
            continue
        keys = {field.name + unit: read for unit, read in _READ.items() if unit == "" or field.name + unit not in names}
        found = [read(row[key]) for row in rows for key, read in keys.items() if key in row]
        if len(found) == 1:
            values[field.name] = found[0]
        elif found or field.default is MISSING:
            msg = f"{kind.__name__}.{field.name} stands {'twice' if found else 'nowhere'} in the rows"
            raise KeyError(msg)
    return kind(**values)
