"""Write README's reference from the program: python .ci/reference.py (``--check`` only compares).

A block between ``<!-- WHAT: begin -->`` and ``<!-- WHAT: end -->`` is written anew; everything else is left alone.
"""

import re
import sys
from collections.abc import Iterator, Mapping
from pathlib import Path

from bodygen import tables
from bodygen.recipe.about import accepted, every_key, left_out, names_of
from bodygen.recipe.keys import RECIPE, Key
from bodygen.tables.told import told

README = Path(__file__).parent.parent / "README.md"
BLOCK = re.compile(r"(<!-- (?P<what>[\w ]+): begin -->\n)(.*?)(<!-- (?P=what): end -->)", re.DOTALL)
FEW = 8
"""Names of a table that a cell has room for; of more, ``bodygen explain`` tells them all."""


def written(text: str) -> str:
    """The README with every block as the program has it now."""
    return BLOCK.sub(lambda found: "\n".join([found[1].strip(), *block(found["what"]), found[4]]), text)


def block(what: str) -> Iterator[str]:
    """Lines of one block."""
    kind, _, name = what.partition(" ")
    if kind == "keys":
        yield from keys_of(name)
    elif kind == "findings":
        yield from findings()


def findings() -> Iterator[str]:
    """Every code that a finding may carry."""
    yield from ("", "| code | what is doubted | what to do | the limit |", "|---|---|---|---|")
    for code, row in sorted(tables.load("findings")["finding"].items()):
        yield f"| `{code}` | {row['what']} | {row['do']} | {told(row['limit'])} |"
    yield ""


def keys_of(table: str) -> Iterator[str]:
    """The sentence and the keys of a table; of "top", the keys that lie in none."""
    yield ""
    if table == "top":
        keys: Mapping[str, Key] = {name: key for name, key in RECIPE.items() if not key.table}
    else:
        keys = RECIPE[table].table
        yield from (RECIPE[table].about, "")
    yield from ("| key | what it is | accepted | if left out |", "|---|---|---|---|")
    for name, key in every_key(keys):
        if not key.table:
            told = left_out(name if table == "top" else f"{table}.{name}", key) or "it must be there"
            cells = (f"`{name}`", _what(key), _accepted(key), told)
            yield f"| {' | '.join(cell.replace('|', '&#124;') for cell in cells)} |"
        else:
            yield f"| `{name}` | {key.about} | | |"
    yield ""


def _what(key: Key) -> str:
    return f"{key.about}. {key.more[:1].upper()}{key.more[1:]}" if key.more else key.about


def _accepted(key: Key) -> str:
    names = names_of(key) if key.names else ()
    if len(names) > FEW:
        return f"one of {len(names)} names; a wrong one is answered with them all"
    if names or key.choices:
        return ", ".join(f"`{name}`" for name in (*names, *key.choices))
    return re.sub(r'("[^"]+")', r"`\1`", accepted(key))


if __name__ == "__main__":
    old = README.read_text(encoding="utf-8")
    new = written(old)
    if "--check" in sys.argv:
        sys.exit("README.md is not what the program says: run .ci/reference.py" if new != old else 0)
    README.write_text(new, encoding="utf-8", newline="\n")
