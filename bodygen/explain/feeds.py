"""Which kinds of file a key of the recipe feeds, and from which keys a kind of file is made.

A kind names the fields of the read recipe (``files/kinds.py``); here they meet the keys that a maker writes.
"""

from bodygen.files.kinds import KINDS, WHOLE, Kind
from bodygen.recipe.about import every_key

TABLES = {"bore": "bores", "wire_slot": "wire_slots", "fitting": "fittings", "coat": "coats", "mask": "masks"}
FIELDS = {
    "wood.blank.mass": "wood.blank_mass",
    **{f"wood.blank.{side}": "wood.blank_size" for side in ("length", "width", "height")},
}


def kinds_fed_by(path: str) -> tuple[str, ...]:
    """Name the kinds of file that a change of this key or table touches, in the order of a build.

    >>> kinds_fed_by("shop.fit")
    ('pictures', 'cradles', 'card', 'calendar')
    """
    fields = {_field(one) for one, key in every_key() if one == path or one.startswith(f"{path}.")}
    return tuple(kind.name for kind in KINDS if any(_feeds(field, kind) for field in fields))


def keys_that_feed(kind: Kind) -> tuple[str, ...]:
    """Name the keys that a kind of file is made from: a table where it is made from all of it; () is the whole recipe.

    >>> [keys_that_feed(kind) for kind in KINDS if kind.name == "cradles"]
    [('name', 'shape', 'bore', 'wire_slot', 'lip', 'shop.printer_bed', 'shop.fit')]
    """
    if WHOLE in kind.fields:
        return ()
    fed = {path: _feeds(_field(path), kind) for path, key in every_key() if not key.table}
    whole = {
        path: all(on for one, on in fed.items() if one.startswith(f"{path}.")) for path, k in every_key() if k.table
    }
    found: list[str] = []
    for path, _ in every_key():
        if whole.get(path, fed.get(path, False)) and not any(path.startswith(f"{above}.") for above in found):
            found.append(path)
    return tuple(found)


def _feeds(field: str, kind: Kind) -> bool:
    """Whether a kind is made from a field of the read recipe, or from something within it or around it."""
    return WHOLE in kind.fields or any(
        field == one or field.startswith(f"{one}.") or one.startswith(f"{field}.") for one in kind.fields
    )


def _field(path: str) -> str:
    """Where the reader puts a key."""
    first, dot, rest = path.partition(".")
    return FIELDS.get(path, f"{TABLES.get(first, first)}{dot}{rest}")
