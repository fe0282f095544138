"""A build: build(recipe, out) -> the folder of files. It asks the CAD kernel for the second opinion on every volume."""

import gc
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any

from bodygen.assessment import Assessment
from bodygen.errors import DesignError
from bodygen.files.kinds import chosen
from bodygen.files.pages.overview import overview
from bodygen.files.writing import refuse_missing_extras, write_kinds
from bodygen.findings import Finding
from bodygen.folder.publish import Draft, Manifest, publish
from bodygen.pipeline import assess, by_severity
from bodygen.recipe.model import Recipe
from bodygen.recipe.rewrite import file_name
from bodygen.report.overview.page import FILE
from bodygen.report.properties import as_json, properties
from bodygen.report.sheet import build_sheet
from bodygen.report.summary import findings_text

SHEET_IS_FOR = "what to read at a terminal: weights, metal, floating, doubts, where the rest stands"


def refuse_errors(findings: Sequence[Finding], units: str) -> None:
    """A design that breaks a rule is not turned into files.

    Raises
    ------
    DesignError
        With every broken rule.
    """
    broken = [f for f in findings if f.severity == "error"]
    if broken:
        text = "\n".join(["no files were made:", *findings_text(tuple(broken), units)])
        raise DesignError(text, findings=[finding.document(units) for finding in broken])


@dataclass(frozen=True, slots=True)
class Made:
    """A finished build: its manifest, ``properties.json``, the build sheet, and the kinds that were made anew."""

    manifest: Manifest
    properties: dict[str, Any]
    sheet: str
    anew: tuple[str, ...]

    def __repr__(self) -> str:
        """One line: where, and how many files."""
        anew = ", ".join(self.anew) or "nothing"
        return f"<Made {self.manifest.folder.as_posix()}: {len(self.manifest.files)} files, anew {anew}>"


@contextmanager
def _uncollected() -> Iterator[None]:
    """Without the search for garbage in rings of objects: over the libraries' own, each takes a tenth of a second.

    What a build leaves behind of that kind is some 20 MB, and goes with the first search after it.
    """
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


def build(
    bait: Recipe | Assessment,
    out: Path | str = "out",
    stem: str | None = None,
    only: str | None = None,
    say: Callable[[str], None] = lambda _: None,
    *,
    replace_other: bool = False,
    coats_from: date | None = None,
) -> Made:
    """Every file of a bait in ``out/stem``, all or none.

    Parameters
    ----------
    bait : Recipe or Assessment
        An assessment is taken as it is, with the readings that it was told.
    out : Path or str
        The folder that the bait's own folder is made in.
    stem : str, optional
        Name of the bait's folder; left out, that of the recipe's file, or of the bait where it is in none.
    only : str, optional
        Kinds of files ("jigs,lip"); left out, all. What is there already and current stays, whatever is asked for.
    say : callable
        Is told what is under way.
    replace_other : bool
        Let it take the place of the files of a bait of another name.
    coats_from : date, optional
        Day of the first coat of a recipe; an assessment has its own.

    Returns
    -------
    Made
        Where the files lie and what each is for, their figures, the text of the build sheet.

    Raises
    ------
    DesignError
        The design breaks a rule of severity error, or the two kernels disagree about its volume.
    InputError, OSError
        As ``folder.publish``; or kinds that do not exist.
    MissingExtraError
        Kinds that need an extra of the installation which is not there; nothing was worked out yet.
    """
    wanted = chosen(only)
    refuse_missing_extras(wanted, bait if isinstance(bait, Recipe) else bait.recipe)
    say("weighing and floating")
    assessment = assess(bait, coats_from=coats_from) if isinstance(bait, Recipe) else bait
    recipe, out = assessment.recipe, Path(out)
    stem = stem or (Path(recipe.source.file).stem if recipe.source else file_name(recipe.name))
    refuse_errors(assessment.findings, recipe.units)
    about: dict[str, Any] = {"name": recipe.name, "recipe_sha256": recipe.sha256}
    kept: dict[str, Any] = {}

    def write(draft: Draft) -> None:
        outcome, kept["anew"] = write_kinds(assessment, draft, out / stem, wanted, say, about)
        whole = replace(assessment, findings=by_severity([*assessment.findings, *outcome.findings]))
        kept["properties"] = properties(whole, outcome.cad_volume)
        kept["sheet"] = build_sheet(whole, draft.purposes, outcome.cautions)
        for name, purpose, text in (
            ("properties.json", "every computed figure, for programs", as_json(kept["properties"])),
            ("build-sheet.txt", SHEET_IS_FOR, kept["sheet"]),
        ):
            draft.add(name, purpose).write_text(text, encoding="utf-8", newline="\n")
        page = overview(whole, draft, about, outcome)
        draft.add(FILE, "this folder with a picture of each file").write_text(page, encoding="utf-8", newline="\n")

    with _uncollected():
        manifest = publish(out, stem, write, about, replace=replace_other)
    return Made(manifest, kept["properties"], kept["sheet"], kept["anew"])
