"""Designs to rows: what was worked out before is taken, the rest is worked out and kept, a few designs at a time."""

from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from threading import Event, Thread
from time import monotonic

from bodygen.study.engine.hands import cores, hired
from bodygen.study.engine.jobs import TOLD_S, Jobs
from bodygen.study.engine.store import SCRATCH, keep, kept, name_of
from bodygen.study.plan.designs import in_parts
from bodygen.study.rows.row import files_named, row_of
from bodygen.study.said.model import Design, Row, Study

MOST = 16
"""Designs of a task: some two seconds of work, beside which handing it over costs nothing."""
EACH = 32
"""A small study still has so many tasks, so that no worker stands idle at its end."""
Run = Callable[[Iterable[Design]], Iterator[Row]]


def together(designs: int) -> int:
    """Say how many designs of so many make a task; the same whoever works, so that rows are found again."""
    return min(MOST, max(1, designs // EACH))


def run(
    study: Study,
    designs: Iterable[Design],
    folder: Path,
    *,
    at_once: int = 1,
    say: Callable[[str], None] = lambda _: None,
) -> Iterator[Row]:
    """Give the row of each design in their order, worked out in this process.

    A design that does not end is told and not given up: nothing stops it but whoever stops this process.

    Parameters
    ----------
    study : Study
    designs : iterable of Design
        Taken as they are needed, never all at once.
    folder : Path
        Where rows are kept, and found again.
    at_once : int
        Designs whose rows are kept together.
    say : callable
        Is told which design is long in coming.
    """
    for part in in_parts(designs, at_once):
        name = name_of(study, part)
        rows = kept(folder, name, len(part))
        if rows is None:
            with _telling(say) as begin:
                rows = [row_of(study, begin(design)) for design in part]
            keep(folder, name, rows)
        yield from rows


@contextmanager
def _telling(say: Callable[[str], None]) -> Iterator[Callable[[Design], Design]]:
    """Have a thread tell every ``TOLD_S`` which design takes long; what is yielded is told that one begins."""
    begun: list[tuple[int, float]] = []
    done = Event()

    def begin(design: Design) -> Design:
        begun[:] = [(design.number, monotonic())]
        return design

    def tell() -> None:
        while not done.wait(TOLD_S):
            number, since = begun[0]
            taken = monotonic() - since
            if taken >= TOLD_S:
                say(f"design {number} has taken {taken:.0f} s so far; Ctrl-C stops it")

    thread = Thread(target=tell, name="telling", daemon=True)
    thread.start()
    try:
        yield begin
    finally:
        done.set()
        thread.join()


@contextmanager
def engine(
    study: Study,
    folder: Path,
    designs: int,
    *,
    at_once: int | None = None,
    workers: int | None = None,
    scheduler: str | None = None,
    say: Callable[[str], None] = lambda _: None,
) -> Iterator[Run]:
    """Give what makes rows of designs, as often as it is asked: in this process, in several, or elsewhere.

    Parameters
    ----------
    study : Study
    folder : Path
        Where rows are kept, and found again.
    designs : int
        About how many will come in all.
    at_once : int, optional
        How many of them make a task.
    workers : int, optional
        Processes; left out, one for each core, as far as there is work for them. One is this very process.
    scheduler : str, optional
        Address of a scheduler whose workers do it instead.
    say : callable
        Is told what is waited for where it is long in coming.

    Yields
    ------
    callable
        Designs to their rows, in their order: the same whoever works. Each task's rows are kept in the folder at once.

    Raises
    ------
    InputError
        No scheduler there, or workers with another bodygen.
    LostError
        The scheduler or all workers are gone.
    """
    at_once = at_once or together(designs)
    hands = workers or min(cores(), -(-designs // MOST))
    if hands == 1 and scheduler is None:
        yield lambda some: run(study, some, folder, at_once=at_once, say=say)
        return
    sent = replace(study, recipe=study.recipe.resolve(), path=study.path.resolve(), lines={})
    with hired(hands, scheduler, files_named(study.text, study.recipe), (folder / SCRATCH).resolve()) as client:
        jobs = Jobs(sent, folder, client, say)
        try:
            yield lambda some: jobs.rows(in_parts(some, at_once))
        finally:
            jobs.stop()
