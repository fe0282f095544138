"""What a program calls: ``run_study`` from a study's file to its table, ``take_row`` from a row to its recipe."""

import tomllib
from collections.abc import Callable
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from typing import Any

from bodygen.errors import InputError, Mistake
from bodygen.extras import refuse_missing
from bodygen.folder.single_file import copy_new
from bodygen.recipe.changes import changed_text
from bodygen.recipe.new import write_new
from bodygen.recipe.read import parse_recipe
from bodygen.recipe.rewrite import Copy
from bodygen.study.engine.run import run
from bodygen.study.engine.store import ROWS, alone_in, clear
from bodygen.study.plan.designs import designs_of
from bodygen.study.record import Tally, head, place_of, write_document
from bodygen.study.rows.row import recipe_text
from bodygen.study.rows.table import write_table
from bodygen.study.said.model import Plan, Study
from bodygen.study.said.read import read_study


@dataclass(frozen=True, slots=True)
class Studied:
    """A study's folder, and ``study.json`` as data."""

    folder: Path
    document: dict[str, Any]

    def __repr__(self) -> str:
        """One line."""
        return f"<Studied {self.folder}: {self.document['rows']} rows, {self.document['failed']} failed>"


def run_study(
    path: Path | str,
    out: Path | str = "out",
    *,
    resume: bool = False,
    replace: bool = False,
    allow_outside: bool = False,
    say: Callable[[str], None] = lambda _: None,
) -> Studied:
    """Work a study out into ``out/stem``: ``table.csv``, ``table.parquet`` and ``study.json``.

    Parameters
    ----------
    path : Path or str
        The study's file.
    out : Path or str
        The folder that the study's own folder is made in.
    resume : bool
        Go on from what an earlier run left there; no row is worked out twice.
    replace : bool
        Let the table of another study, or an earlier one, go.
    allow_outside : bool
        Let the study name a recipe anywhere, and that one files outside its folder.
    say : callable
        Is told what is under way.

    Returns
    -------
    Studied

    Raises
    ------
    InputError
        Mistakes in the study's file or its recipe; a folder that has another study's table, or an earlier run's.
    DesignError
        No sound body can be made of the recipe itself.
    MissingExtraError
        The extra ``study`` is not installed.
    """
    refuse_missing({"study": ("study",)})
    study = read_study(path, allow_outside=allow_outside)
    plan = _plan(study)
    folder = place_of(study, Path(out), resume=resume, replace=replace)
    (folder / ROWS).mkdir(parents=True, exist_ok=True)
    with alone_in(folder / ROWS):
        if not resume:
            clear(folder / ROWS)
        about = head(study)
        write_document(folder, about | {"done": False})
        counted = Tally(say, plan.designs)
        write_table(counted.through(run(study, designs_of(study, plan), folder / ROWS)), study, folder)
        document = about | {"done": True} | counted.document()
        write_document(folder, document)
    return Studied(folder, document)


def take_row(path: Path | str, row: int, folder: Path | str = ".", *, allow_outside: bool = False) -> Path:
    """Write the recipe of one of a study's rows, ``STEM-ROW.toml``.

    Parameters
    ----------
    path : Path or str
        The study's file.
    row : int
        Its number in the table.
    folder : Path or str
        Where it goes, with the stations or the mesh that it names.
    allow_outside : bool
        As for ``run_study``.

    Returns
    -------
    Path
        Of the recipe.

    Raises
    ------
    InputError
        No such row; a file of that name is there already.
    """
    refuse_missing({"study": ("study",)})
    study, folder = read_study(path, allow_outside=allow_outside), Path(folder)
    plan = _plan(study)
    if not 1 <= row <= plan.designs:
        raise InputError([
            Mistake("command line", 0, "--take", str(row), "no such row.", f"a number from 1 to {plan.designs}")
        ])
    design = next(islice(designs_of(study, plan), row - 1, None))
    text = recipe_text(study, design)
    recipe = parse_recipe(text, study.recipe, allow_outside=allow_outside)
    named = changed_text(text, {"name": f"{recipe.name}, row {row}"})
    made = write_new(folder, f"{study.path.stem}-{row}", Copy(named))
    _bring_along(text, study.recipe.parent, folder)
    return made


def _bring_along(text: str, source: Path, folder: Path) -> None:
    """Take along the stations or the mesh that a recipe names beside itself."""
    shape = tomllib.loads(text)["shape"]
    file = source / shape.get("stations", shape.get("mesh", ""))
    if file.is_file() and file.parent == source and not (folder / file.name).exists():
        copy_new(file, folder)


def _plan(study: Study) -> Plan:
    if study.plan is None:
        lines = study.lines
        raise InputError([Mistake(str(study.path), lines.get("plan", 1), "plan", "", "missing.", "a table [plan]")])
    return study.plan
