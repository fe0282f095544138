"""The answers to a word: every key, finding, kind of file and file of a build that it may stand for."""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fnmatch import fnmatchcase
from pathlib import PurePath
from typing import Any

from bodygen import tables
from bodygen.errors import InputError, Mistake, did_you_mean
from bodygen.explain.feeds import keys_that_feed, kinds_fed_by
from bodygen.files.kinds import GROUPS, KINDS, WHOLE
from bodygen.recipe.about import accepted, every_key, example, left_out, names_of, unit_of
from bodygen.recipe.keys import Key, bounds
from bodygen.recipe.text.read_context import QUANTITIES
from bodygen.tables.told import told
from bodygen.units import INCH

KEYS: Mapping[str, Key] = dict(every_key())
_DIVE_WORDS: Mapping[str, Mapping[str, str]] = tables.load("fishing")["word"]
GROWS = {
    "": "stays as it is",
    "lengths": "grows with the bait",
    "x": "grows in its places along the body, where they are written as lengths",
    "drill": "grows to the nearest drill, but stays as it is if it holds wire",
    "eye": "grows to the nearest of the table if it is an eye, and else stays as it is",
    "wire": "grows if it is a wire, and else stays as it is",
    "reading": "is left out, being true of the old bait alone",
}


@dataclass(frozen=True, slots=True)
class Explained:
    """One meaning: ``lines`` are labels and texts for people, ``document`` the same for programs."""

    name: str
    about: str
    lines: tuple[tuple[str, str], ...]
    document: Mapping[str, Any]


def answers(word: str) -> tuple[Explained, ...]:
    """Find what a word stands for.

    Parameters
    ----------
    word : str
        A key (``bore.depth``, or the end of one: ``depth``; also as a finding writes it, ``bore[3] tail hanger``), a
        finding's code, a kind of file, a file of a build, or a word that a key takes.

    Returns
    -------
    tuple of Explained
        A key that the whole word names before those that it ends, then findings, kinds, files and values.

    Raises
    ------
    InputError
        The word is none of these; the nearest is told.
    """
    plain = re.sub(r"\[\d+\](?: .*)?|[\[\]]", "", PurePath(word.strip()).name).lower()
    found = (*_keys(plain), *_findings(plain), *_kinds(plain), *_files(plain), *_values(plain), *_dive_words(plain))
    if found:
        return found
    problem = f"nothing here has this name.{did_you_mean(plain, words(), nearness=0.5)}"
    accepts = (
        "a key of the recipe (bore.depth, or depth), a finding (bore-near-skin), a kind of file (gauges) or a file"
    )
    raise InputError([Mistake("command line", 0, "WORD", f'"{word}"', problem, accepts)])


def words() -> list[str]:
    """Every word that has an answer: keys, their last parts, findings, kinds and groups of kinds, files."""
    files = [name for row in tables.load("files")["file"].values() for name in row["names"] if "*" not in name]
    kinds = [*GROUPS, *(kind.name for kind in KINDS)]
    parts = [path.rpartition(".")[2] for path in KEYS]
    return list(dict.fromkeys([*KEYS, *parts, *tables.load("findings")["finding"], *kinds, *files, *_DIVE_WORDS]))


def _dive_words(word: str) -> tuple[Explained, ...]:
    """A word of the dive estimate that is no key."""
    row = _DIVE_WORDS.get(word)
    if row is None:
        return ()
    document = {"what": "word", "name": word, "about": row["what"], "source": row["source"]}
    return (Explained(word, row["what"], (("source", row["source"]),), document),)


def _keys(word: str) -> tuple[Explained, ...]:
    whole = [path for path in KEYS if path == word]
    ends = [path for path in KEYS if path.endswith(f".{word}")]
    return tuple(_key(path, KEYS[path]) for path in (*whole, *ends))


def _key(path: str, key: Key) -> Explained:
    span = bounds(key.bounds) if key.bounds else (None, None)
    fed = kinds_fed_by(path)
    missing = "it must be there" if key.required else left_out(path, key)
    document = {
        "what": "table" if key.table else "key",
        "name": path,
        "about": key.about.rstrip("."),
        "more": key.more,
        "kind": key.kind,
        "accepted": _at_length(key),
        "least": span[0],
        "most": span[1],
        "unit": unit_of(key),
        "choices": list(key.choices),
        "names": list(names_of(key)),
        "keys": list(key.table),
        "required": key.required,
        "left_out": missing,
        "example": example(path, key),
        "feeds": list(fed),
        "other_size": "" if key.table else GROWS[key.grows],
    }
    lines = (
        ("more", key.more),
        ("keys" if key.table else "accepted", ", ".join(key.table) or _at_length(key)),
        ("if left out", missing),
        ("written", example(path, key)),
        ("feeds", _fed(fed)),
        ("in a copy", f"of another size it {document['other_size']}" if not key.table else ""),
    )
    return Explained(path, key.about.rstrip("."), lines, document)


def _fed(kinds: tuple[str, ...]) -> str:
    """Say what a key feeds: the kinds of its own, and what is made anew at any change."""
    always = [kind.name for kind in KINDS if WHOLE in kind.fields]
    own = ", ".join(kind for kind in kinds if kind not in always)
    return f"{f'{own}; and ' if own else ''}{', '.join(always)}, build sheet and figures, as every key does"


def _at_length(key: Key) -> str:
    """What a key takes, lengths on both rulers, and what a bare number is in."""
    short = accepted(key)
    if key.form == "outline":
        return f"{short}; families: {', '.join(names_of(key))}"
    if key.kind in {"length", "lengths"} and not key.unit:
        least, most = (one / float(INCH) for one in bounds(key.bounds))
        return f"{short} ({least:.4g} to {most:.4g} in); a bare number is in the file's units"
    unit = "mm/min, or in/min where units are in" if key.unit == "mm/min" else unit_of(key)
    return f"{short}; a bare number is in {unit}" if key.kind in QUANTITIES else short


def _findings(word: str) -> Iterator[Explained]:
    row = tables.load("findings")["finding"].get(word)
    if row is None:
        return
    ids = row.get("sources", [row["source"]])
    known = tables.load("sources")
    sources = [{"source": one, "title": known[one]["title"] if one in known else one} for one in ids]
    limit = told(row["limit"])
    document = {"what": "finding", "name": word, "about": row["what"], "to_do": row["do"], "limit": limit}
    lines = (("to do", row["do"]), ("limit", limit), ("source", "; ".join(one["title"] for one in sources)))
    yield Explained(word, row["what"], lines, document | {"sources": sources})


def _kinds(word: str) -> Iterator[Explained]:
    for kind in KINDS:
        if kind.name == word:
            made_from = keys_that_feed(kind)
            files = [
                name for row in tables.load("files")["file"].values() if row["kind"] == word for name in row["names"]
            ]
            document = {"what": "kind", "name": word, "about": kind.about, "made_from": list(made_from)}
            lines = (
                ("alone", f"bodygen build RECIPE --only {word}"),
                ("made from", ", ".join(made_from) or "the whole recipe"),
                ("files", ", ".join(files)),
                ("needs", f"the extra {' and '.join(kind.needs)} of the installation" if kind.needs else ""),
            )
            more = {"files": files, "needs": list(kind.needs)}
            yield Explained(word, f"files of this kind: {kind.about}", lines, document | more)
    if word in GROUPS:
        about = f"kinds of file together: {', '.join(GROUPS[word])}"
        document = {"what": "group", "name": word, "about": about, "kinds": list(GROUPS[word])}
        yield Explained(word, about, (("alone", f"bodygen build RECIPE --only {word}"),), document)


def _files(word: str) -> Iterator[Explained]:
    # a set that needs several sheets numbers them: section-gauges-2.svg is of section-gauges.svg
    asked = {word, re.sub(r"-\d+(?=\.\w+$|$)", "", word)}
    for row in tables.load("files")["file"].values():
        stems = {name.rpartition(".")[0] for name in row["names"]}
        if asked & stems or any(fnmatchcase(one, name) for one in asked for name in row["names"]):
            names = ", ".join(row["names"])
            made = row.get("by") or (f"bodygen build RECIPE --only {row['kind']}" if row["kind"] else "every build")
            document = {"what": "file", "name": names, "about": row["what"], "kind": row["kind"], "made_by": made}
            yield Explained(names, row["what"], (("made by", made),), document)


def _values(word: str) -> Iterator[Explained]:
    keys = [path for path, key in KEYS.items() if word in key.choices or word in names_of(key)]
    if keys:
        about = "a word that these keys take"
        lines = tuple((path, KEYS[path].about) for path in keys)
        yield Explained(word, about, lines, {"what": "value", "name": word, "about": about, "keys": keys})
