"""Write README's reference from the program: python .ci/reference.py (``--check`` only compares).

A block between ``<!-- WHAT: begin -->`` and ``<!-- WHAT: end -->`` is written anew, and what the commands of the walk
print; everything else is left alone.
"""

import os
import re
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Mapping
from pathlib import Path

from bodygen import tables
from bodygen.explain.feeds import keys_that_feed
from bodygen.files.kinds import KINDS
from bodygen.recipe.about import accepted, every_key, left_out, names_of
from bodygen.recipe.keys import RECIPE, Key
from bodygen.tables.told import told

ROOT = Path(__file__).parent.parent
README = ROOT / "README.md"
WALK = re.compile(r"^```\n((?:\$ [^\n]*\n)+)(.*?)^```\n", re.DOTALL | re.MULTILINE)
BLOCK = re.compile(r"(<!-- (?P<what>[\w ]+): begin -->\n)(.*?)(<!-- (?P=what): end -->)", re.DOTALL)
FEW = 8
"""Names of a table that a cell has room for; of more, ``bodygen explain`` tells them all."""
LINES = {"outline": "a family's name, or points, as said below", "widest": "points, as said below"}


def written(text: str) -> str:
    """The README with every block as the program has it now."""
    return BLOCK.sub(lambda found: "\n".join([found[1].strip(), *block(found["what"]), found[4]]), text)


def walked(text: str) -> str:
    """The text with what each command of it prints now; three dots at the end of a block leave the rest out."""
    return WALK.sub(lambda found: f"```\n{found[1]}{_printed(found[1], found[2])}```\n", text)


def _printed(typed: str, shown: str) -> str:
    """Run the lines of a block in a folder that has the demos, and give what a terminal would show."""
    script = "\n".join(line.removeprefix("$ ") for line in typed.splitlines())
    with tempfile.TemporaryDirectory() as folder:
        shutil.copytree(ROOT / "params", Path(folder) / "params")
        done = subprocess.run(
            ["/bin/bash", "-c", f'bodygen() {{ "{sys.executable}" -m bodygen "$@"; }}\n{script}'],
            cwd=folder,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            check=False,
            env=os.environ | {"COLUMNS": "100", "PYTHONPATH": str(ROOT)},
        )
    lines = done.stdout.rstrip("\n").splitlines()
    if shown.endswith("...\n"):
        lines = [*lines[: shown.count("\n") - 1], "..."]
    return "".join(f"{line.rstrip()}\n" for line in lines)


def block(what: str) -> Iterator[str]:
    """Lines of one block."""
    kind, _, name = what.partition(" ")
    if kind == "keys":
        yield from keys_of(name)
    elif kind == "findings":
        yield from findings()
    elif kind == "files":
        yield from files()


def files() -> Iterator[str]:
    """Every kind of file with what it is made from, then every file."""
    yield from ("", "| kind | what it is | made anew when these change |", "|---|---|---|")
    for one in KINDS:
        made_from = ", ".join(f"`{name}`" for name in keys_that_feed(one)) or "anything"
        yield f"| `{one.name}` | {one.about} | {made_from} |"
    yield from ("", "A `*` stands for a number or for a name of your own.", "")
    yield from ("| file | kind | what it is for |", "|---|---|---|")
    for row in tables.load("files")["file"].values():
        names = ", ".join(f"`{name}`" for name in row["names"])
        yield f"| {names} | {row['kind'] or row.get('by') or 'every'} | {row['what']} |"
    yield ""


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
            path = name if table == "top" else f"{table}.{name}"
            cells = (f"`{name}`", _what(key), _accepted(path, key), left_out(path, key) or "it must be there")
            yield f"| {' | '.join(cell.replace('|', '&#124;') for cell in cells)} |"
        else:
            yield f"| `{name}` | {key.about} | | |"
    yield ""


def _what(key: Key) -> str:
    return f"{key.about}. {key.more[:1].upper()}{key.more[1:]}" if key.more else key.about


def _accepted(path: str, key: Key) -> str:
    if key.form in LINES:
        return LINES[key.form]
    names = names_of(key) if key.names else ()
    if len(names) > FEW:
        return f"one of {len(names)} names: `bodygen explain {path}` tells them"
    if names or key.choices:
        return ", ".join(f"`{name}`" for name in (*names, *key.choices))
    return re.sub(r'("[^"]+")', r"`\1`", accepted(key))


if __name__ == "__main__":
    old = README.read_text(encoding="utf-8")
    new = walked(written(old))
    if "--check" in sys.argv:
        sys.exit("README.md is not what the program says: run .ci/reference.py" if new != old else 0)
    README.write_text(new, encoding="utf-8", newline="\n")
