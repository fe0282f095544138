"""What lies in a folder of files, sorted for who opens it: files of one stem together, by the kind that made them.

Knows names and words. Knows no HTML.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fnmatch import fnmatchcase
from pathlib import PurePosixPath

from bodygen.recipe.model import Recipe
from bodygen.report.sheet import caution_keys
from bodygen.tables import load

ACTS = {
    "lip": ("laser", "cut", "saw", "rout", "drill"),
    "templates": ("saw", "rout"),
    "gauges": ("sand",),
    "block": ("drill", "saw"),
    "planks": ("saw",),
    "calendar": ("dip", "spray", "airbrush", "brush", "mix", "cure", "clean"),
    "gcode": ("rout",),
}
"""What is done with the files of a kind, in the words of ``cautions.toml``'s ``when``."""
PICTURES = (".svg", ".png")
AGAIN = "the same as a picture"
BESIDE = "to read at a terminal, and for programs"


@dataclass(frozen=True, slots=True)
class StemFiles:
    """Files of one stem: their names, what they are for, the picture of it ("": none in the folder)."""

    stem: str
    names: tuple[str, ...]
    purpose: str
    picture: str


@dataclass(frozen=True, slots=True)
class KindGroup:
    """A kind's files with its heading and the keys of the cautions that belong to it."""

    title: str
    entries: tuple[StemFiles, ...]
    cautions: tuple[str, ...]


def sections_of(
    recipe: Recipe, purposes: Mapping[str, str], kinds: Sequence[tuple[str, str, Sequence[str], Sequence[str]]]
) -> list[KindGroup]:
    """Sort a build's files; last those that every build has, which are for programs and the terminal.

    Parameters
    ----------
    recipe : Recipe
        Its wood, metals, sheet and finishes say which cautions there are.
    purposes : mapping
        What each file is for, by its name.
    kinds : sequence of (name, title, file names, keys of cautions)
        Every kind in the order of the page, with what it wrote and what that called for.
    """
    called, table = caution_keys(recipe), load("cautions")["caution"]
    taken = {name for _, _, names, _ in kinds for name in names}
    always = [name for name in purposes if name not in taken]
    made = list[KindGroup]()
    for kind, title, names, keys in kinds:
        if names:
            mine = [key for key in called if set(table[key]["when"]) & set(ACTS.get(kind, ()))]
            made.append(KindGroup(title, _entries(names, purposes), tuple(dict.fromkeys([*mine, *keys]))))
    return [*made, KindGroup(BESIDE, _entries(always, purposes), ())] if always else made


def listed(title: str, names: Sequence[str]) -> KindGroup:
    """List files of a folder in this order, with what ``files.toml`` says of them; "rows/" is a folder."""
    entries = _entries(names, {name: what_for(name.rstrip("/")) for name in names})
    return KindGroup(title, tuple(sorted(entries, key=lambda entry: names.index(entry.names[0]))), ())


def what_for(name: str) -> str:
    """What a file is for, as ``files.toml`` has it for all of its name; "" for one that it does not know."""
    rows = load("files")["file"].values()
    return next((str(row["what"]) for row in rows if any(fnmatchcase(name, one) for one in row["names"])), "")


def _entries(names: Sequence[str], purposes: Mapping[str, str]) -> tuple[StemFiles, ...]:
    stems: dict[str, list[str]] = {}
    for name in sorted(names, key=lambda name: (PurePosixPath(name).stem, name)):
        stems.setdefault(PurePosixPath(name).stem, []).append(name)
    return tuple(
        StemFiles(stem, tuple(mine), _purpose([purposes[name] for name in mine]), _picture(stem, mine, names))
        for stem, mine in stems.items()
    )


def _purpose(said: Sequence[str]) -> str:
    """Everything that is said of files of one stem, once; that one is the picture of another goes without saying."""
    plain = [text for text in dict.fromkeys(said) if not text.startswith(AGAIN)]
    kept = [
        text
        for text in plain
        if not any(other != text and text.startswith(f"{other}; as a picture") for other in plain)
    ]
    return "; ".join(kept or said[:1])


def _picture(stem: str, mine: Sequence[str], names: Sequence[str]) -> str:
    """The picture that a stem has, else that of the longest stem that it begins with: lip-cut is shown by lip.

    Else one that ends in its first word: gauges-a4 is shown by section-gauges.
    """
    for ending in PICTURES:
        if f"{stem}{ending}" in mine:
            return f"{stem}{ending}"
    begun = [n for n in names if n.endswith(PICTURES) and stem.startswith(f"{PurePosixPath(n).stem}-")]
    alike = [n for n in names if n.endswith(tuple(f"-{stem.partition('-')[0]}{ending}" for ending in PICTURES))]
    return max(begun, key=lambda name: (len(name), name.endswith(".svg")), default=min(alike, default=""))
