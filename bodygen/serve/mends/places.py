"""Which keys of a recipe could mend a doubt, the likeliest first, each with the way to go: by ``tables/mends.toml``."""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from bodygen.findings import Finding
from bodygen.recipe.model import Bore, Recipe, WireSlot
from bodygen.tables import load

_INDEXED = re.compile(r"(bore|fitting|wire_slot|coat)\[(\d+)\]")
_MANY = ("bore", "fitting", "wire_slot", "coat")


@dataclass(frozen=True, slots=True)
class MendWay:
    """A key's path in a recipe, and where to go from what is written there.

    ``way``: "less", "more", "either", "other" (name or size), "without" (the key), or "=" with the ``word`` to write.
    """

    key: str
    way: str
    word: str = ""


def ways(finding: Finding, recipe: Recipe) -> Iterator[MendWay]:
    """Every way that the table has for a doubt, for every part that it is about."""
    for line in load("mends")["mend"].get(finding.code, ()):
        words, _, word = line.partition(" = ")
        way, _, path = ("= " + words if word else words).partition(" ")
        first, _, rest = path.partition(".")
        for place in _places(first, finding, recipe):
            yield MendWay(f"{place}.{rest}", way, word)


def _places(first: str, finding: Finding, recipe: Recipe) -> Iterator[str]:
    """The tables of a recipe that the first word of a path stands for."""
    if first in {"ballast", "tie"}:
        for number, bore in enumerate(recipe.bores, 1):
            if bore.kind == first and (first == "tie" or bore.fill is not None):
                yield f"bore[{number}]"
    elif first in _MANY:
        yield from (f"{first}[{place + 1}]" for place in _parts(first, finding, recipe))
    else:
        yield first


def _parts(table: str, finding: Finding, recipe: Recipe) -> list[int]:
    """Places in a table that a doubt is about; of a fitting also the bore or kerf that it is in; else all of them."""
    named = [(name, int(number) - 1) for name, number in _INDEXED.findall(finding.where)]
    about = list(dict.fromkeys([*finding.about, *named]))
    found = [place for name, place in about if name == table]
    if table in {"bore", "wire_slot"}:
        there: Sequence[Bore | WireSlot] = recipe.bores if table == "bore" else recipe.wire_slots
        on = {recipe.fittings[place].on for name, place in about if name == "fitting"}
        found += [place for place, one in enumerate(there) if one.name in on and place not in found]
    if not found and not about and table != "coat":
        found = list(range(len({"bore": recipe.bores, "wire_slot": recipe.wire_slots}.get(table, ()))))
    return found
