"""``study.json``: of what a folder's table is, and what came out; and whether a run may write there."""

import json
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from hashlib import sha256
from pathlib import Path
from typing import Any

from bodygen.errors import InputError, Mistake
from bodygen.folder.publish import PLAIN_NAME
from bodygen.folder.single_file import write_whole
from bodygen.report.properties import as_json
from bodygen.study.rows.table import CSV, PARQUET, column_names
from bodygen.study.said.model import Row, Study
from bodygen.version import VERSION

DOCUMENT = "study.json"
FORMAT = 1
OTHER = "holds the table of another study, or of this one before it was changed."
_TOLD_EVERY = 0.02
"""Share of the rows after which a terminal is told again."""


@dataclass(slots=True)
class Tally:
    """Rows as they pass by: how many, and which failed."""

    say: Callable[[str], None]
    of: int
    rows: int = 0
    failures: Counter[str] = field(default_factory=Counter)

    def through(self, rows: Iterable[Row]) -> Iterator[Row]:
        """Count rows, and hand them on."""
        told = 0.0
        for row in rows:
            self.rows += 1
            if row["failed"] is not None:
                self.failures[str(row["failed"])] += 1
            if self.rows >= told:
                self.say(f"{self.rows} of {self.of} designs")
                told = self.rows + max(1.0, _TOLD_EVERY * self.of)
            yield row

    def document(self) -> dict[str, Any]:
        """Give the entries of ``study.json``."""
        failures = dict(sorted(self.failures.items()))
        return {"rows": self.rows, "failed": self.failures.total(), "failures": failures}


def head(study: Study) -> dict[str, Any]:
    """Give what a study's document begins with; ``input`` is the checksum of all that the table follows from."""
    sought = (study.search, study.aims, study.limits) if study.search else ()
    said = repr((study.sha256, study.plan, study.varied, study.boards, sought))
    return {
        "format": FORMAT,
        "name": study.name,
        "bodygen_version": VERSION,
        "input": sha256(said.encode()).hexdigest(),
        "recipe": study.recipe.name,
        "seed": study.seed,
        "how": study.plan.how if study.plan else "search",
        "designs": study.plan.designs if study.plan else study.search.designs if study.search else None,
        "columns": list(column_names(study)),
    }


def write_document(folder: Path, document: dict[str, Any]) -> None:
    """Write ``study.json``, whole or not at all."""
    write_whole(folder / DOCUMENT, as_json(document).encode(), "what the study is of")


def place_of(study: Study, out: Path, *, resume: bool, replace: bool) -> Path:
    """Find the study's own folder, and refuse what a run may not write over.

    Raises
    ------
    InputError
        A file's name that makes no folder's; another study's table, or an earlier run's, and nobody said what of it.
    """
    stem = study.path.stem
    if not PLAIN_NAME.fullmatch(stem):
        raise InputError([Mistake(str(study.path), 0, "", stem, "no name for a folder.", "a plain name of the file")])
    folder = out / stem
    for place in (out, folder):
        if place.exists() and not place.is_dir():
            raise InputError([Mistake(str(place), 0, "", "", "is not a folder.", "a place for a folder of this name")])
    mine, done = _there(study, folder)
    if replace or (resume and mine):
        return folder
    if mine:
        problem = f"holds {'the table' if done else 'the rows so far'} of this very study."
        accepted = "--resume goes on from them and works none out twice; --replace begins anew"
    elif any((folder / name).exists() for name in (CSV, PARQUET)):
        problem = OTHER
        accepted = "--replace, if it is not needed any more; else another --out, or another file name for the study"
    else:
        return folder
    raise InputError([Mistake(str(folder), 0, "", "", problem, accepted)])


def _there(study: Study, folder: Path) -> tuple[bool, bool]:
    """Whether what a folder holds is of this very study, and whether it is done; neither where nobody can tell."""
    try:
        there = json.loads((folder / DOCUMENT).read_text("utf-8"))
        return there["input"] == head(study)["input"], bool(there["done"])
    except (OSError, ValueError, KeyError, TypeError):
        return False, False


def refuse_other(study: Study, folder: Path) -> None:
    """Refuse to take a row of a table that is not this study's: its recipe would not be that of its figures.

    Raises
    ------
    InputError
        Another study's table, or this one's before it or its recipe was changed.
    """
    if (folder / CSV).exists() and not _there(study, folder)[0]:
        raise InputError([Mistake(str(folder), 0, "", "", OTHER, "work it out anew, or the --out that has its table")])
