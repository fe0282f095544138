"""The kinds of file that a build holds: their names, what each is made from, and who writes it. The one list of them.

Command line, completion, the README's table and the digests follow from it. Each kind names the recipe fields that it
is made from. The digest of that is printed in its files and kept in the manifest; with the same digest, made with the
same program and libraries, and the files still as they were written, a second build takes them over as they are.
Loads nothing that writes (``writing.py``).
"""

import json
from collections.abc import Iterator
from dataclasses import dataclass, fields, is_dataclass
from hashlib import sha256
from operator import attrgetter
from typing import TYPE_CHECKING

from bodygen.errors import InputError, Mistake

if TYPE_CHECKING:
    from bodygen.recipe.model import Recipe


@dataclass(frozen=True, slots=True)
class Kind:
    """A set of files that are made together: its name, what a person calls it, which recipe fields it is made from.

    A field within a table is written with a dot: ``shop.fit``. ``writer`` is its function in ``bodygen.files``, by
    module and name; one that ``tells`` says how far it is. ``jig``: whether ``--only jigs`` asks for it too.
    ``needs``: the extras of the installation that it takes.
    """

    name: str
    about: str
    fields: tuple[str, ...]
    writer: str
    jig: bool = False
    tells: bool = False
    needs: tuple[str, ...] = ()


WHOLE = "sha256"
"""The field of a kind that hangs on the whole recipe: the hash of its file, or all that it says where it is in none."""
_WHERE_FROM = ("shape.file", "shape.lines", "shape.path")
"""The rows of a stations file are values of the shape themselves, and a mesh has the checksum of its content."""
_SHAPE = ("shape", "bores", "wire_slots", "lip")
_PAPER = ("paper",)
_BED = "shop.printer_bed"
_BLANK = "wood.blank_size"
_BUSH = ("shop.bush", "shop.cutter")
_ROUTER = tuple(
    f"shop.{key}"
    for key in (
        *("stock_thickness", "roughing", "finishing", "profile_cutter", "scallop"),
        *("spindle_speeds", "fastest_feed", "fastest_plunge", "clamp_height"),
    )
)


KINDS = (
    Kind(
        "solids",
        "body, cut body, halves and master as STL, 3MF and STEP",
        ("name", *_SHAPE, _BED, "shop.follower_allowance"),
        "solids.write_solids",
        needs=("cad",),
    ),
    Kind(
        "lip",
        "the lip to check, to cut, nested on its sheet",
        ("name", "units", "shape", "lip"),
        "lip.write_lip",
        tells=True,
        needs=_PAPER,
    ),
    Kind(
        "pictures",
        "three-view drawing, waterline, weights, righting curves, the forces as it runs, its colours",
        (WHOLE,),
        "pictures.write_pictures",
        needs=_PAPER,
    ),
    Kind(
        "templates",
        "paper templates, cards and router templates",
        ("name", "units", *_SHAPE, _BLANK, *_BUSH),
        "paper.write_templates",
        jig=True,
        needs=_PAPER,
    ),
    Kind(
        "gauges",
        "section gauges with their rack, edge, lip angle and eyes",
        ("name", "units", *_SHAPE, _BED, "fittings"),
        "paper.write_gauges",
        jig=True,
        needs=_PAPER,
    ),
    Kind(
        "block",
        "drill and slot block for the squared blank",
        ("units", *_SHAPE, _BLANK, _BED),
        "jigs.write_block",
        jig=True,
    ),
    Kind(
        "cradles",
        "cradles and vise jaws for the shaped body",
        ("name", *_SHAPE, _BED, "shop.fit"),
        "jigs.write_cradles",
        jig=True,
    ),
    Kind("mould", "two-part mould", (*_SHAPE, _BED, "shop.shrink_percent"), "jigs.write_mould", jig=True),
    Kind(
        "masks",
        "paint masks as shells and as films",
        (*_SHAPE, _BED, "masks"),
        "jigs.write_masks",
        jig=True,
        needs=_PAPER,
    ),
    Kind(
        "carrier",
        "frame to dip and dry by the hanger eyes",
        ("name", *_SHAPE, _BED, "fittings"),
        "paper.write_carrier",
        jig=True,
        needs=_PAPER,
    ),
    Kind(
        "card", "the card for the wall and the bench, on A4 and Letter", (WHOLE,), "pages.card.write_card", needs=_PAPER
    ),
    Kind("calendar", "the coats by the day", (WHOLE,), "pages.calendar.write_calendar"),
    Kind(
        "wire",
        "template and bending block of bent wires",
        ("name", "units", *_SHAPE, _BED, "fittings"),
        "paper.write_wire",
        jig=True,
        needs=_PAPER,
    ),
    Kind("gcode", "programs for the router", (*_SHAPE, *_BUSH, *_ROUTER), "router.write_gcodes", needs=("mill",)),
)
GROUPS = {"jigs": tuple(kind.name for kind in KINDS if kind.jig), "all": tuple(kind.name for kind in KINDS)}


def chosen(only: str | None) -> tuple[Kind, ...]:
    """The kinds of ``--only jigs,lip,...``; all of them for None.

    Raises
    ------
    InputError
        A word that is neither a kind nor a group of kinds.
    """
    if only is None:
        return KINDS
    words = [word.strip() for word in only.split(",") if word.strip()]
    known = [*GROUPS, *(kind.name for kind in KINDS)]
    wrong = [word for word in words if word not in known]
    if wrong or not words:
        problem = f"no such kind of file: {', '.join(wrong)}" if wrong else "names no kind of file"
        raise InputError([Mistake("command line", 0, "--only", f'"{only}"', problem, f"of {', '.join(known)}")])
    names = {name for word in words for name in GROUPS.get(word, (word,))}
    return tuple(kind for kind in KINDS if kind.name in names)


def digest_of(kind: Kind, recipe: "Recipe", told: tuple[object, ...] = ()) -> str:
    """Checksum of everything a kind is made from: key paths and values, and a named mesh by its content.

    ``told`` is what the assessment knows besides the recipe; what hangs on the whole recipe hangs on it, too.
    """
    parts: list[tuple[str, object]] = [("kind", kind.name)]
    for field in kind.fields:
        value = attrgetter(field)(recipe)
        parts += _values(field, recipe if field == WHOLE and value is None else value)
        parts += [("told", repr(told))] if field == WHOLE and told else []
    return sha256(json.dumps(parts).encode()).hexdigest()


def _values(path: str, value: object) -> Iterator[tuple[str, object]]:
    """Every plain value below a key path, with its own path; where a file lay and what it was called are none."""
    if is_dataclass(value):
        for part in fields(value):
            if f"{path}.{part.name}" not in _WHERE_FROM:
                yield from _values(f"{path}.{part.name}", getattr(value, part.name))
    elif isinstance(value, tuple):
        yield path, len(value)
        for number, row in enumerate(value, start=1):
            yield from _values(f"{path}[{number}]", row)
    else:
        yield path, value
