"""The kinds of file that a build holds, and which of them a change of the recipe touches.

Each kind names what it is made from. The digest of that is printed in its files and kept in the manifest; with the same
digest, made with the same program and libraries, and the files still as they were written, a second build takes them
over as they are.
"""

import json
import shutil
from collections.abc import Callable, Iterator, Sequence
from dataclasses import asdict, dataclass, fields, is_dataclass
from functools import partial
from hashlib import sha256
from operator import attrgetter
from pathlib import Path
from typing import Any

from bodygen.assessment import Assessment
from bodygen.errors import InputError, Mistake
from bodygen.files.made_with import made_with
from bodygen.files.outcome import Listed, Outcome
from bodygen.findings import Finding
from bodygen.folder.own_files import MANIFEST
from bodygen.folder.publish import Draft
from bodygen.recipe.model import Recipe
from bodygen.version import VERSION

Say = Callable[[str], None]
Writer = Callable[[Assessment, Draft, str], Outcome]


@dataclass(frozen=True, slots=True)
class Kind:
    """A set of files that are made together: its name, what a person calls it, which recipe fields it is made from.

    A field within a table is written with a dot: ``shop.fit``. ``load`` gives what writes them; that may tell
    a ``Say`` how far it is.
    """

    name: str
    about: str
    fields: tuple[str, ...]
    load: Callable[[Say], Writer]


WHOLE = "sha256"
"""The field of a kind that hangs on the whole recipe: the hash of its file, or all that it says where it is in none."""
_WHERE_FROM = ("shape.file", "shape.lines", "shape.path")
"""The rows of a stations file are values of the shape themselves, and a mesh has the checksum of its content."""
_SHAPE = ("shape", "bores", "wire_slots", "lip")
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


def _solids(_: Say) -> Writer:
    from bodygen.files.solids import write_solids  # noqa: PLC0415  each kind loads what it needs

    return write_solids


def _lip(say: Say) -> Writer:
    from bodygen.files.lip import write_lip  # noqa: PLC0415

    return partial(write_lip, say=say)


def _pictures(_: Say) -> Writer:
    from bodygen.files.pictures import write_pictures  # noqa: PLC0415

    return write_pictures


def _of_paper(name: str) -> Callable[[Say], Writer]:
    def loaded(_: Say) -> Writer:
        from bodygen.files import paper  # noqa: PLC0415

        return {"templates": paper.write_templates, "gauges": paper.write_gauges, "carrier": paper.write_carrier}[name]

    return loaded


def _of_jigs(name: str) -> Callable[[Say], Writer]:
    def loaded(_: Say) -> Writer:
        from bodygen.files import jigs  # noqa: PLC0415

        return {
            "block": jigs.write_block,
            "cradles": jigs.write_cradles,
            "mould": jigs.write_mould,
            "masks": jigs.write_masks,
        }[name]

    return loaded


def _gcode(_: Say) -> Writer:
    from bodygen.files.router import write_gcodes  # noqa: PLC0415

    return write_gcodes


KINDS = (
    Kind(
        "solids",
        "body, cut body, halves and master as STL, 3MF and STEP",
        ("name", *_SHAPE, _BED, "shop.follower_allowance"),
        _solids,
    ),
    Kind("lip", "the lip to check, to cut, nested on its sheet", ("name", "units", "shape", "lip"), _lip),
    Kind("pictures", "three-view drawing, waterline, weights, righting curves", (WHOLE,), _pictures),
    Kind(
        "templates",
        "paper templates, cards and router templates",
        ("name", "units", *_SHAPE, _BLANK, *_BUSH),
        _of_paper("templates"),
    ),
    Kind(
        "gauges",
        "section gauges with their rack, edge, lip angle and eyes",
        ("name", "units", *_SHAPE, _BED, "fittings"),
        _of_paper("gauges"),
    ),
    Kind("block", "drill and slot block for the squared blank", ("units", *_SHAPE, _BLANK, _BED), _of_jigs("block")),
    Kind(
        "cradles", "cradles and vise jaws for the shaped body", ("name", *_SHAPE, _BED, "shop.fit"), _of_jigs("cradles")
    ),
    Kind("mould", "two-part mould", (*_SHAPE, _BED, "shop.shrink_percent"), _of_jigs("mould")),
    Kind("masks", "paint masks as shells and as films", (*_SHAPE, _BED, "masks"), _of_jigs("masks")),
    Kind("carrier", "frame to dip and dry by the eyes", ("name", *_SHAPE, _BED, "fittings"), _of_paper("carrier")),
    Kind("gcode", "programs for the router", (*_SHAPE, *_BUSH, *_ROUTER), _gcode),
)
JIGS = ("templates", "gauges", "block", "cradles", "mould", "masks", "carrier")
GROUPS = {"jigs": JIGS, "all": tuple(kind.name for kind in KINDS)}


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


def digest_of(kind: Kind, recipe: Recipe, told: tuple[object, ...] = ()) -> str:
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


def write_kinds(
    a: Assessment, draft: Draft, before: Path, wanted: Sequence[Kind], say: Callable[[str], None], about: dict[str, Any]
) -> tuple[Outcome, tuple[str, ...]]:
    """Write the wanted kinds, or take over what is unchanged from ``before``; other current kinds there stay.

    ``about`` gets the entry for the manifest that the next build reads. Returns all outcomes as one, and the names of
    the kinds that were made anew.
    """
    kept = _kept(before)
    outcomes: list[Outcome] = []
    made: list[str] = []
    entries: dict[str, Any] = {}
    for kind in KINDS:
        digest = digest_of(kind, a.recipe, a.told)
        old = kept.get(kind.name)
        if old is not None and old["digest"] == digest:
            for name, purpose in old["files"].items():
                shutil.copy2(before / name, draft.add(name, purpose))
            outcome = _outcome(old)
        elif kind in wanted:
            say(kind.about)
            already = set(draft.purposes)
            outcome = kind.load(say)(a, draft, f"bodygen {VERSION}, made from {digest[:8]}")
            made.append(kind.name)
            old = {"files": {n: p for n, p in draft.purposes.items() if n not in already}}
        else:
            continue
        outcomes.append(outcome)
        entries[kind.name] = {
            "digest": digest,
            "files": old["files"],
            "findings": [f.document(a.recipe.units) for f in outcome.findings],
            "listed": [asdict(line) for line in outcome.listed],
            "cad_volume": outcome.cad_volume,
            "cautions": outcome.cautions,
        }
    about["made_with"] = made_with()
    about["kinds"] = entries
    volumes = [o.cad_volume for o in outcomes if o.cad_volume is not None]
    whole = Outcome(
        tuple(f for o in outcomes for f in o.findings),
        volumes[0] if volumes else None,
        tuple(line for o in outcomes for line in o.listed),
        tuple(dict.fromkeys(key for o in outcomes for key in o.cautions)),
    )
    return whole, tuple(made)


def _outcome(entry: dict[str, Any]) -> Outcome:
    findings = tuple(Finding(**row) for row in entry["findings"])
    listed = tuple(Listed(**row) for row in entry["listed"])
    return Outcome(findings, entry["cad_volume"], listed, tuple(entry["cautions"]))


def _kept(before: Path) -> dict[str, Any]:
    """What the folder's manifest tells of its kinds: those made with what is here now, their files still as written."""
    try:
        manifest = json.loads((before / MANIFEST).read_text("utf-8"))
        if manifest["made_with"] != made_with():
            return {}
        sums = {row["name"]: row["sha256"] for row in manifest["files"]}
        kinds = manifest["kinds"]
        return {name: entry for name, entry in kinds.items() if _as_written(before, entry["files"], sums)}
    except (OSError, ValueError, KeyError, TypeError, AttributeError):  # none, or edited: everything is made anew
        return {}


def _as_written(folder: Path, names: Sequence[str], sums: dict[str, str]) -> bool:
    return all(sha256((folder / name).read_bytes()).hexdigest() == sums[name] for name in names)
