"""What a program calls: ``run_study`` from a study's file to its table, ``take_row`` from a row to its recipe."""

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from typing import Any

from bodygen.errors import BodygenError, InputError, Mistake
from bodygen.extras import refuse_missing
from bodygen.folder.single_file import copy_new
from bodygen.recipe.changes import changed_text
from bodygen.recipe.new import write_new
from bodygen.recipe.read import parse_recipe
from bodygen.recipe.rewrite import Copy
from bodygen.study.batch.files import run_document
from bodygen.study.batch.run import Returned, run_text, write_batch
from bodygen.study.batch.run import take_readings as batch_readings
from bodygen.study.engine.hands import LostError
from bodygen.study.engine.run import Run, engine
from bodygen.study.engine.store import ROWS, alone_in, clear
from bodygen.study.plan.designs import designs_of
from bodygen.study.record import DOCUMENT, Tally, head, place_of, refuse_other, write_document
from bodygen.study.report.results import results_of
from bodygen.study.report.text import document_of, text_of
from bodygen.study.report.told import StudyTold, tell
from bodygen.study.report.written import write_report
from bodygen.study.rows.row import files_named, recipe_text
from bodygen.study.rows.table import CSV, PARQUET, read_table, write_table
from bodygen.study.said.model import Design, Plan, Row, Study, StudySearch
from bodygen.study.said.read import read_study
from bodygen.study.searching import design_of_row, search, searched

SEARCHED_TOGETHER = 2
"""Designs of a search's task: its batches are small, and every worker is to have a part."""


class StoppedError(BodygenError):
    """Something could not be written, as a disk is full; rows that were kept are safe, and --resume goes on."""


@dataclass(frozen=True, slots=True)
class Studied:
    """A study's folder, ``study.json`` (of a run of pieces ``batch.json``) as data, and what it tells."""

    folder: Path
    document: dict[str, Any]
    says: str = ""

    def __repr__(self) -> str:
        """One line."""
        if "pieces" in self.document:
            return f"<Studied {self.folder}: {len(self.document['pieces'])} pieces>"
        return f"<Studied {self.folder}: {self.document['rows']} rows, {self.document['failed']} failed>"


def run_study(
    path: Path | str,
    out: Path | str = "out",
    *,
    workers: int | None = None,
    scheduler: str | None = None,
    resume: bool = False,
    replace: bool = False,
    allow_outside: bool = False,
    say: Callable[[str], None] = lambda _: None,
) -> Studied:
    """Work a study out into ``out/stem``: ``table.csv``, ``table.parquet``, ``report.html`` and ``study.json``.

    Parameters
    ----------
    path : Path or str
        The study's file.
    out : Path or str
        The folder that the study's own folder is made in.
    workers : int, optional
        Processes that work; left out, one for each core, and this one alone for a handful of designs.
    scheduler : str, optional
        Address of a dask scheduler whose workers do it instead.
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
    LostError
        The scheduler, or every worker of it, is gone; what was worked out is kept.
    StoppedError
        Rows, table or report cannot be written, as a disk is full; what was worked out is kept.
    """
    refuse_missing({"study": ("study",)})
    study = read_study(path, allow_outside=allow_outside)
    if study.batch is not None:
        made, place = write_batch(study, Path(out), replace=replace, say=say)
        return Studied(place, run_document(made), run_text(made, place))
    folder = place_of(study, Path(out), resume=resume, replace=replace)
    (folder / ROWS).mkdir(parents=True, exist_ok=True)
    with alone_in(folder / ROWS), _rows_kept():
        if not resume:
            clear(folder / ROWS)
        about = head(study)
        write_document(folder, about | {"done": False})
        designs = study.plan.designs if study.plan else _search(study).designs
        counted = Tally(say, designs)
        at_once = None if study.plan else SEARCHED_TOGETHER
        with engine(
            study, folder / ROWS, designs, at_once=at_once, workers=workers, scheduler=scheduler, say=say
        ) as run:
            if study.plan:
                told = _planned(study, study.plan, folder, counted, run)
            else:
                told = _looked_for(study, folder, counted, run)
        write_report(told, folder, (CSV, PARQUET, DOCUMENT, f"{ROWS}/"))
        document = about | {"done": True} | counted.document() | document_of(told)
        write_document(folder, document)
    return Studied(folder, document, text_of(told))


@contextmanager
def _rows_kept() -> Iterator[None]:
    """Tell what stops a run for want of room, or the like, from what is wrong with the study."""
    try:
        yield
    except LostError:
        raise
    except (BodygenError, OSError) as error:
        if isinstance(error, BodygenError) and error.exit_code != BodygenError.exit_code:
            raise
        raise StoppedError(str(error)) from error


def _planned(study: Study, plan: Plan, folder: Path, counted: Tally, run: Run) -> StudyTold:
    write_table(counted.through(run(designs_of(study, plan))), study, folder)
    return tell(study, results_of(study, read_table(folder)), out=folder.parent.as_posix())


def _looked_for(study: Study, folder: Path, counted: Tally, run: Run) -> StudyTold:
    def rows_of(designs: Sequence[Design]) -> list[Row]:
        return list(counted.through(run(designs)))

    found, rows = search(study, rows_of)
    write_table(rows, study, folder)
    return tell(study, results_of(study, rows), searched(study, found), folder.parent.as_posix())


def take_readings(path: Path | str, readings: Path | str, *, allow_outside: bool = False) -> Returned:
    """Take the filled-in readings of a run of pieces back, and write every piece into the bench log, each once.

    Parameters
    ----------
    path : Path or str
        The study's file.
    readings : Path or str
        The run's ``readings.csv``, filled in.
    allow_outside : bool
        As for ``run_study``.

    Returns
    -------
    Returned
        What they tell of the run, and which builds of the log they are.

    Raises
    ------
    InputError
        A study without ``[batch]``; every cell that cannot be read.
    BodygenError
        The log cannot be written; then nothing was.
    """
    return batch_readings(read_study(path, allow_outside=allow_outside), Path(readings))


def take_row(
    path: Path | str, row: int, folder: Path | str = ".", *, out: Path | str = "out", allow_outside: bool = False
) -> Path:
    """Write the recipe of one of a study's rows, ``STEM-ROW.toml``.

    Parameters
    ----------
    path : Path or str
        The study's file.
    row : int
        Its number in the table.
    folder : Path or str
        Where it goes, with the stations or the mesh that it names.
    out : Path or str
        Where the study was worked out: a search's rows are in its table alone.
    allow_outside : bool
        As for ``run_study``.

    Returns
    -------
    Path
        Of the recipe.

    Raises
    ------
    InputError
        No such row; a table of another study where this one's is; a file of that name is there already.
    """
    refuse_missing({"study": ("study",)})
    study, folder = read_study(path, allow_outside=allow_outside), Path(folder)
    refuse_other(study, Path(out) / study.path.stem)
    design = _design(study, row, Path(out))
    text = recipe_text(study, design)
    recipe = parse_recipe(text, study.recipe, allow_outside=allow_outside)
    named = changed_text(text, {"name": f"{recipe.name}, row {row}"})
    made = write_new(folder, f"{study.path.stem}-{row}", Copy(named))
    _bring_along(text, study.recipe, folder)
    return made


def _design(study: Study, row: int, out: Path) -> Design:
    """The design of a row: by the plan, or from the table that a search left."""
    if study.plan is not None:
        most, found = study.plan.designs, islice(designs_of(study, study.plan), max(row, 1) - 1, None)
        design = next(found, None) if row >= 1 else None
    else:
        folder = out / study.path.stem
        if not (folder / PARQUET).exists():
            accepted = "bodygen study looks for designs first; --out says where it did"
            raise InputError([Mistake(str(folder), 0, "--take", str(row), "there is no table here.", accepted)])
        rows = list(read_table(folder))
        most, design = len(rows), design_of_row(study, rows[row - 1]) if 1 <= row <= len(rows) else None
    if design is None:
        raise InputError([Mistake("command line", 0, "--take", str(row), "no such row.", f"a number from 1 to {most}")])
    return design


def _bring_along(text: str, source: Path, folder: Path) -> None:
    """Take along the stations or the mesh that a recipe names beside itself."""
    for file in files_named(text, source):
        if file.is_file() and file.parent == source.parent and not (folder / file.name).exists():
            copy_new(file, folder)


def _search(study: Study) -> StudySearch:
    """What the reader has seen to: a study without a plan has a search."""
    if study.search is None:
        msg = f"{study.path}: neither a plan nor a search"
        raise ValueError(msg)
    return study.search
