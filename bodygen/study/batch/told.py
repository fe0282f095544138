"""What a run's readings tell: how far each stage came out from what was expected, who passed, board by board.

A piece is held against its own blank: a heavier one gets less metal and has more wood, and neither is an error.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from math import prod
from statistics import fmean, stdev
from typing import Any

from bodygen.recipe.keys import STAGES
from bodygen.recipe.model import Point3
from bodygen.study.batch.planning.ballasting import Ballasting, Band, Drilled
from bodygen.study.batch.returned import Read
from bodygen.study.said.batch import Lot
from bodygen.tables import load
from bodygen.weights.item import MM3_PER_CM3

Depth = Callable[[Read], Drilled | None]


@dataclass(frozen=True, slots=True)
class Off:
    """How ``count`` readings lie against what was expected of them: mean and standard deviation of the difference."""

    name: str
    unit: str
    count: int
    mean: float
    deviation: float | None


@dataclass(frozen=True, slots=True)
class OfBoard:
    """A board's blanks: how many were weighed, their mean density [g/cm^3] and how they differ [-]; who passed."""

    name: str
    pieces: int
    weighed: int
    density: float | None
    cov: float | None
    floated: int
    passed: int


@dataclass(frozen=True, slots=True)
class RunTold:
    """What a sheet of readings tells.

    ``missed``: label, reserve [g] and band [g] of each that did not pass; ``swapped``: labels of two pieces of
    different boards, of which each blank weighs what the other's should.
    """

    name: str
    pieces: int
    told: int
    floated: int
    passed: int
    missed: tuple[tuple[str, float, Band], ...]
    stages: tuple[Off, ...]
    boards: tuple[OfBoard, ...]
    swapped: tuple[tuple[str, str], ...] = ()


def tell(name: str, reads: Sequence[Read], lots: Sequence[Lot], block: Point3, ballasting: Ballasting) -> RunTold:
    """Hold readings against what the sheet said.

    Parameters
    ----------
    name : str
        The run's.
    reads : sequence of Read
        A row a piece.
    lots : sequence of Lot
        Their bands.
    block : (length, thickness, depth)
        Of the squared blank [mm].
    ballasting : Ballasting
        Of the bait, for what another blank or another depth should weigh.
    """
    bands = {lot.name: lot.reserve for lot in lots}
    offs: dict[str, list[float]] = {}
    for read in reads:
        for stage, off in stage_offs(read, bands[read.lot], prod(block), ballasting).items():
            offs.setdefault(stage, []).append(off)
        for key, got, wanted in (
            ("reserve", read.reserve, read.reserve_expected),
            ("nose", read.nose, read.nose_expected),
        ):
            if got is not None and wanted is not None:
                offs.setdefault(key, []).append(got - wanted)
    floated = [read for read in reads if read.reserve is not None]
    missed = [read for read in floated if not _passes(read, bands[read.lot])]
    boards = [_of_board(board, [r for r in reads if r.board == board], bands, prod(block)) for board in
              dict.fromkeys(read.board for read in reads)]  # fmt: skip
    return RunTold(
        name,
        len(reads),
        sum(read.tells for read in reads),
        len(floated),
        len(floated) - len(missed),
        tuple((read.label, read.reserve or 0.0, bands[read.lot]) for read in missed),
        tuple(
            _off(key, "deg" if key == "nose" else "g", offs[key]) for key in (*STAGES, "reserve", "nose") if key in offs
        ),
        tuple(boards),
        tuple(_swapped(reads)),
    )


def _swapped(reads: Sequence[Read]) -> Iterator[tuple[str, str]]:
    """Pairs of which each is two deviations off its own expected blank, and within one of the other's."""
    cov = float(load("batch")["board"]["within_cov"])
    told = [(read, read.read["squared"], read.expected["squared"]) for read in reads if "squared" in read.read]
    off = [one for one in told if abs(one[1] / one[2] - 1) > 2 * cov]
    for (one, got, due), (other, others, theirs) in combinations(off, 2):
        if one.board != other.board and abs(got / theirs - 1) < cov and abs(others / due - 1) < cov:
            yield one.label, other.label


def depth_of(read: Read, band: Band, block: float, ballasting: Ballasting) -> tuple[Drilled | None, float]:
    """The bait as a piece was made: its depth, as told or as the table has it for its blank; its wood [g/cm^3]."""
    blank = read.read.get("squared", read.expected["squared"])
    density = blank * MM3_PER_CM3 / block
    if read.bore is not None:
        return ballasting.drilled(round(read.bore / ballasting.step)), density
    if "squared" in read.read:
        return ballasting.chosen(density, band), density
    return ballasting.drilled(round(read.bore_expected / ballasting.step)), density


def stage_offs(read: Read, band: Band, block: float, ballasting: Ballasting) -> dict[str, float]:
    """How far each weigh-in lies from what the sheet said, after its own blank and depth are allowed for [g]."""
    made, density = depth_of(read, band, block, ballasting)
    planned = ballasting.drilled(round(read.bore_expected / ballasting.step))
    before = read.expected["squared"] * MM3_PER_CM3 / block
    more: Mapping[str, float] = {}
    if made is not None and planned is not None:
        now, then = made.masses_at(density), planned.masses_at(before)
        more = {stage: now[stage] - then[stage] for stage in now if stage in then and stage != "squared"}
    return {
        stage: grams - read.expected[stage] - more.get(stage, 0.0)
        for stage, grams in read.read.items()
        if stage in read.expected
    }


def _passes(read: Read, band: Band) -> bool:
    return read.reserve is not None and band[0] <= read.reserve <= band[1]


def _off(name: str, unit: str, values: Sequence[float]) -> Off:
    return Off(name, unit, len(values), fmean(values), stdev(values) if len(values) > 1 else None)


def _of_board(name: str, reads: Sequence[Read], bands: Mapping[str, Band], block: float) -> OfBoard:
    woods = [read.read["squared"] * MM3_PER_CM3 / block for read in reads if "squared" in read.read]
    mean = fmean(woods) if woods else None
    floated = [read for read in reads if read.reserve is not None]
    return OfBoard(
        name,
        len(reads),
        len(woods),
        mean,
        stdev(woods) / mean if len(woods) > 1 and mean else None,
        len(floated),
        sum(_passes(read, bands[read.lot]) for read in floated),
    )


def told_text(told: RunTold) -> str:
    """The same in words."""
    lines = [f"{told.name}: {told.told} of {told.pieces} pieces were told, {told.floated} floated, {told.passed} pass"]
    for label, reserve, band in told.missed:
        lines.append(f"  {label}  reserve {reserve:+.2f} g, wanted {band[0]:+.2f} to {band[1]:+.2f} g")
    for one, other in told.swapped:
        lines.append(f"  {one} and {other}: each blank weighs what the other's should; were they swapped?")
    if told.stages:
        lines.append("Against what the sheet said, each piece's own blank allowed for")
    for off in told.stages:
        spread = "" if off.deviation is None else f", they differ by {off.deviation:.2f} {off.unit} (one deviation)"
        lines.append(f"  {off.name:<10}{off.mean:+.2f} {off.unit} on average of {off.count}{spread}")
    if told.boards:
        lines.append("Board by board")
    for board in (one for one in told.boards if one.floated or one.weighed):
        wood = ""
        if board.density is not None:
            differ = "" if board.cov is None else f", they differ by {100 * board.cov:.1f} %"
            wood = f"; {board.weighed} blanks of {board.density:.3f} g/cm3{differ}"
        lines.append(f"  {board.name}: {board.passed} of {board.floated} that floated pass{wood}")
    return "\n".join(lines)


def told_document(told: RunTold) -> dict[str, Any]:
    """The same for programs; each key that carries a unit ends in it."""
    return {
        "format": 1,
        "name": told.name,
        "pieces": told.pieces,
        "told": told.told,
        "floated": told.floated,
        "passed": told.passed,
        "missed": [{"label": label, "reserve_g": reserve, "band_g": band} for label, reserve, band in told.missed],
        "swapped": [list(pair) for pair in told.swapped],
        "stages": [
            {
                "name": off.name,
                "count": off.count,
                f"mean_off_{off.unit}": off.mean,
                f"deviation_{off.unit}": off.deviation,
            }
            for off in told.stages
        ],
        "boards": [
            {
                "name": board.name,
                "pieces": board.pieces,
                "weighed": board.weighed,
                "density_g_cm3": board.density,
                "cov": board.cov,
                "floated": board.floated,
                "passed": board.passed,
            }
            for board in told.boards
        ],
    }
