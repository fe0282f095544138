"""A study with ``[batch]`` from its file to a folder, and from its filled-in readings to the bench log."""

import json
from collections.abc import Callable
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from typing import Any

from bodygen.errors import InputError, Mistake
from bodygen.folder.own_files import MANIFEST
from bodygen.folder.publish import publish
from bodygen.log import store
from bodygen.pipeline import assess_quickly
from bodygen.recipe.model import Recipe
from bodygen.recipe.read import read_recipe
from bodygen.report.card.words import blank_of_bait
from bodygen.report.overview.page import FILE as INDEX
from bodygen.study.batch.booked import booked
from bodygen.study.batch.files import READINGS, write_run
from bodygen.study.batch.overview import head_line, run_lines
from bodygen.study.batch.planning.ballasting import Ballasting, ballast_bore, in_wood
from bodygen.study.batch.planning.model import BatchRun
from bodygen.study.batch.planning.plan import code_of_run, planned
from bodygen.study.batch.returned import returned
from bodygen.study.batch.told import RunTold, tell, told_document, told_text
from bodygen.study.said.batch import Batch
from bodygen.study.said.model import Study
from bodygen.version import code_of


@dataclass(frozen=True, slots=True, eq=False)
class Returned:
    """What readings tell, and what was written down: label, build, whether it was new, how many records.

    ``run`` is that of the table, ``planned`` the one that the study's file asks for as it is now.
    """

    told: RunTold
    log: Path
    booked: tuple[tuple[str, int, bool, int], ...]
    run: str
    planned: str


def run_of(study: Study) -> BatchRun:
    """Plan the run that a study asks for.

    Raises
    ------
    InputError
        Boards that are too small or too few, or wood that no depth brings into the band; where it stands.
    DesignError
        No sound body can be made of the recipe.
    """
    recipe, batch = _recipe(study), _batch(study)
    builds = store.builds(store.log_beside(study.recipe))
    return planned(study.name, recipe, batch, study.boards, builds, lambda *said: _mistake(study, *said))


def write_batch(
    study: Study, out: Path, *, replace: bool = False, say: Callable[[str], None] = lambda _: None
) -> tuple[BatchRun, Path]:
    """Plan a run and write its files into ``out/stem``, all or none; the run, and the folder.

    Raises
    ------
    InputError, DesignError
        As ``run_of``; or what lies in the folder is another's.
    """
    if not replace:
        _refuse_filled(out / study.path.stem)
    say("boards, depths, who gets which")
    run = run_of(study)
    say("sheet, labels, planks, lips")
    about = {"name": run.name, "run": run.code}
    return run, publish(out, study.path.stem, lambda draft: write_run(run, draft), about, replace=replace).folder


def _refuse_filled(folder: Path) -> None:
    """Refuse to write over readings that somebody filled in where they lay."""
    file = folder / READINGS
    try:
        rows = json.loads((folder / MANIFEST).read_text("utf-8"))["files"]
        was = next(row["sha256"] for row in rows if row["name"] == READINGS)
        same = sha256(file.read_bytes()).hexdigest() == was
    except (OSError, ValueError, KeyError, TypeError, StopIteration):
        return
    if not same:
        accepted = "take it back by --readings and move it away, or --replace lets it go"
        raise InputError([Mistake(file.as_posix(), 0, "", "", "something was written into it.", accepted)])


def take_readings(study: Study, file: Path) -> Returned:
    """Take a filled-in ``readings.csv`` back: what it tells, and every piece of it in the log, each once.

    Raises
    ------
    InputError
        Cells that cannot be read.
    BodygenError
        The log cannot be written now; then nothing was.
    """
    recipe, batch = _recipe(study), _batch(study)
    place = ballast_bore(recipe, batch.bore)
    if place is None:
        raise InputError([_mistake(study, "batch.bore", "no such ballast bore in the recipe.", "a ballast bore of it")])
    density = study.boards[0].density
    start = assess_quickly(in_wood(recipe, density))
    block = blank_of_bait(start).size
    ballasting = Ballasting(recipe, place, assess_quickly, density)
    reads = returned(file, code_of(recipe.sha256), batch.lots)
    told = tell(study.name, reads, batch.lots, block, ballasting)
    log = store.log_beside(study.recipe)
    rows = tuple(booked(log, study.name, reads, batch.lots, block, ballasting))
    return Returned(told, log, rows, reads[0].run, code_of_run(recipe, batch, study.boards))


def _recipe(study: Study) -> Recipe:
    """The recipe as its file has it; one that breaks a rule as it stands is no bait to make many of."""
    return read_recipe(study.recipe, allow_outside=study.allow_outside)


def _batch(study: Study) -> Batch:
    if study.batch is None:
        raise InputError([_mistake(study, "batch", "missing.", "a table [batch] with pieces, reserve and saw")])
    return study.batch


def _mistake(study: Study, key: str, problem: str, accepted: str) -> Mistake:
    """A mistake with the line of the nearest key that the study's file has."""
    near = key
    while near and near not in study.lines:
        near = near[: max(near.rfind("."), near.rfind("["), 0)]
    return Mistake(study.path.as_posix(), study.lines.get(near, 0), key, "", problem, accepted)


def run_text(run: BatchRun, folder: Path) -> str:
    """A run in a few lines."""
    lines = [f"{run.name}: {head_line(run)}", *(f"  {line}" for line in run_lines(run))]
    lines += [
        f"  {f.severity}  {f.where}: {f.told(run.recipe.units)}" for f in run.findings if f.code.startswith("board-")
    ]
    return "\n".join([*lines, f"{folder / INDEX}"])


def returned_text(back: Returned) -> str:
    """What came back, and what the log has of it, in words."""
    new = [build for _, build, started, _ in back.booked if started]
    more = sum(written for *_, started, written in back.booked if not started)
    lines = [told_text(back.told)]
    if back.run != back.planned:
        lines.append(
            f"the table is of run {back.run}, and the study's file asks for run {back.planned} now:"
            " who passes is judged by the file"
        )
    if new:
        lines.append(f"log: builds {min(new)} to {max(new)} started, {len(new)} in all")
    lines.append(f"log: {more} new records in builds that were there" if more else "log: nothing else was new")
    return "\n".join(lines)


def returned_document(back: Returned) -> dict[str, Any]:
    """The same for programs."""
    rows = [
        {"label": label, "build": build, "started": started, "written": written}
        for label, build, started, written in back.booked
    ]
    return told_document(back.told) | {"run": back.run, "run_planned": back.planned, "booked": rows}
