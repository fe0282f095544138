"""A run's readings written into the bench log: a build a piece, known by a remark, so that none is in it twice."""

from collections.abc import Sequence
from math import prod
from pathlib import Path

from bodygen.log.entry import today
from bodygen.log.record import Reading, Remark, State, WaterTest
from bodygen.log.several import Entry, book_all
from bodygen.log.store import Record
from bodygen.recipe.model import Point3
from bodygen.study.batch.planning.ballasting import Ballasting, Drilled, in_wood
from bodygen.study.batch.returned import Read
from bodygen.study.batch.told import depth_of
from bodygen.study.said.batch import Lot
from bodygen.weights.expected import Expectation, expectations


def mark_of(name: str, run: str, label: str) -> str:
    """The remark by which a piece of a run is known in the log."""
    return f"batch {name}, run {run}, piece {label}"


def booked(
    log: Path, name: str, reads: Sequence[Read], lots: Sequence[Lot], block: Point3, ballasting: Ballasting
) -> list[tuple[str, int, bool, int]]:
    """Write down every piece of which something was told, all in one transaction.

    Parameters
    ----------
    log : Path
        The log's file.
    name : str
        The run's.
    reads : sequence of Read
        A row a piece.
    lots, block, ballasting
        As for ``tell``.

    Returns
    -------
    list of (label, build, started, written)
        Of each piece its build's number, whether that is new, how many records went into it.

    Raises
    ------
    InputError, BodygenError
        As ``book_all``; nothing was recorded then.
    """
    recipe, day = ballasting.recipe, today()
    bands = {lot.name: lot.reserve for lot in lots}
    told = [read for read in reads if read.tells]
    known: dict[int, tuple[Expectation, ...]] = {}
    entries = []
    for read in told:
        made, _ = depth_of(read, bands[read.lot], prod(block), ballasting)
        made = made or ballasting.drilled(round(read.bore_expected / ballasting.step))
        if made is not None and made.steps not in known:
            known[made.steps] = _expected(made, ballasting)
        expected = known[made.steps] if made is not None else ()
        entries.append(Entry(mark_of(name, read.run, read.label), read.board, expected, _records(read, day)))
    done = book_all(log, recipe.name, recipe.sha256 or "", day, entries)
    return [(read.label, *one) for read, one in zip(told, done, strict=True)]


def _expected(made: Drilled, ballasting: Ballasting) -> tuple[Expectation, ...]:
    """What the tables say of the bait with this depth: the species' average, whatever wood it was planned in."""
    a = ballasting.ask(in_wood(made.recipe, ballasting.density))
    return expectations(a.recipe, a.measured)


def _records(read: Read, day: str) -> tuple[Record, ...]:
    records: list[Record] = [Reading(stage, grams, day) for stage, grams in read.read.items()]
    if read.reserve is not None or read.nose is not None or read.state is not None:
        state: State = read.state or ("floats" if read.reserve is None or read.reserve >= 0 else "sinks")
        records.append(WaterTest(day, state, nose_deg=read.nose, reserve_g=read.reserve))
    made_so = [f"bore {read.bore:.2f} mm" if read.bore is not None else ""]
    made_so += [f"metal {read.metal:.2f} g" if read.metal is not None else ""]
    if any(made_so):
        records.append(Remark(day, ", ".join(filter(None, made_so))))
    if read.remark:
        records.append(Remark(day, read.remark))
    return tuple(records)
