"""Changes to a recipe as text to paste: new tables, and keys in the place of those that are there.

Knows TOML's writing. Knows no file (``rewrite.py`` changes one).
"""

import re
from collections.abc import Mapping

_ELEMENT = re.compile(r"(\w+)\[\d+\]")


def pasted(changes: Mapping[str, object]) -> str:
    """Write changes as ``rewrite`` takes them: a whole table as it is appended, single keys under their table's head.

    Parameters
    ----------
    changes : Mapping[str, object]
        Key paths to new values in TOML's own types; None: the key goes out.

    Examples
    --------
    >>> print(pasted({"bore[2].fill.mass": "3 g", "bore[2].depth": None}), end="")
    [bore.fill]  # of bore[2], the rest of it as it is
    mass = "3 g"
    [[bore]]  # bore[2], the rest of it as it is
    # depth goes out
    """
    tables: dict[str, list[str]] = {}
    for path, value in changes.items():
        if isinstance(value, Mapping):
            tables[path] = table_text(path.partition("[")[0], value).splitlines()
            continue
        table, _, key = path.rpartition(".")
        rows = tables.setdefault(table, [_head(table)])
        rows.append(f"# {key} goes out" if value is None else f"{key} = {value_text(value)}")
    return "".join(f"{line}\n" for rows in tables.values() for line in rows)


def table_text(array: str, table: Mapping[str, object]) -> str:
    """Write one element of an array of tables, with the tables in it.

    Examples
    --------
    >>> print(table_text("bore", {"name": "keel", "fill": {"metal": "tin"}, "x": 30.0}), end="")
    [[bore]]
    name = "keel"
    x = 30
    [bore.fill]
    metal = "tin"
    """
    inner = {key: value for key, value in table.items() if isinstance(value, Mapping)}
    lines = [f"[[{array}]]", *(f"{key} = {value_text(value)}" for key, value in table.items() if key not in inner)]
    for key, rows in inner.items():
        lines += [f"[{array}.{key}]", *(f"{row} = {value_text(value)}" for row, value in rows.items())]
    return "\n".join(lines) + "\n"


def value_text(value: object) -> str:
    r"""A value in TOML's own writing.

    Examples
    --------
    >>> value_text(["1/2 in", 2.5, True, 'a "b" \\'])
    '["1/2 in", 2.5, true, "a \\"b\\" \\\\"]'
    """
    if isinstance(value, str):
        quoted = value.replace("\\", "\\\\").replace('"', '\\"')
        return f'"{quoted}"'
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, list | tuple):
        return f"[{', '.join(value_text(one) for one in value)}]"
    return f"{value:.10g}" if isinstance(value, float) else str(value)


def _head(table: str) -> str:
    """The line above keys that belong into a table that is there."""
    element, _, inner = table.partition(".")
    found = _ELEMENT.fullmatch(element)
    if found is None:
        return f"[{table}]"
    if inner:
        return f"[{found[1]}.{inner}]  # of {element}, the rest of it as it is"
    return f"[[{found[1]}]]  # {element}, the rest of it as it is"
