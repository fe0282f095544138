"""From what is asked to a run: boards laid out, wood held against the bands, boards shared out, pieces numbered.

The order of a run: what a board's wood weighs, how many blanks it gives, whether the ballast bore brings such wood into
the band, then who gets which board. What cannot be is told with the place in the study's file.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from hashlib import sha256
from math import ceil, prod

import numpy as np
from numpy.typing import NDArray

from bodygen.errors import InputError, Mistake
from bodygen.findings import Finding
from bodygen.log.record import Build
from bodygen.pipeline import assess, assess_quickly
from bodygen.recipe.keys import bounds
from bodygen.recipe.model import Point3, Recipe
from bodygen.study.batch.planning.assign import BoardOffer, assigned
from bodygen.study.batch.planning.ballasting import Ballasting, DepthLine, Drilled, ballast_bore, in_wood, lines_of
from bodygen.study.batch.planning.boards import BoardWood, wood_of_board
from bodygen.study.batch.planning.model import BatchRun, LotMade, Piece, Spared, Used, band_text
from bodygen.study.batch.planning.planks import BoardLayout, Plank, layout_of, share_of
from bodygen.study.batch.planning.sawing import Rectangle
from bodygen.study.said.batch import Batch, Lot, labels
from bodygen.study.said.model import Board
from bodygen.units import length_text
from bodygen.version import SHORT
from bodygen.weights.item import MM3_PER_CM3
from bodygen.weights.spread import scale_division

Counts = NDArray[np.int64]
"""Pieces, (boards, lots)."""
SURE = 2.0
"""How many standard deviations of a blank's density have to come into the band: 19 blanks in 20."""
Refuse = Callable[[str, str, str], Mistake]
"""Makes a mistake of a key, what is wrong, and what would do; it knows the file and its lines."""


@dataclass(frozen=True, slots=True, eq=False)
class _Looked:
    """A board as it was looked at: its wood, what it gives, the depth for each lot (None: its wood does not suit)."""

    board: Board
    wood: BoardWood
    layout: BoardLayout
    depths: tuple[Drilled | None, ...]
    why: str


def code_of_run(recipe: Recipe, batch: Batch, boards: Sequence[Board]) -> str:
    """What tells a run from another: it is of recipe, boards and what was asked."""
    return sha256(repr((recipe.sha256, batch, tuple(boards))).encode()).hexdigest()[:SHORT]


def planned(
    name: str, recipe: Recipe, batch: Batch, boards: Sequence[Board], builds: Sequence[Build], refuse: Refuse
) -> BatchRun:
    """Plan a run.

    Parameters
    ----------
    name : str
        The study's.
    recipe : Recipe
        Of the bait.
    batch : Batch
        How many pieces, with which reserve, by which saw.
    boards : sequence of Board
        The boards in hand.
    builds : sequence of Build
        The bench log: what its builds taught corrects what the next ones should weigh.
    refuse : callable
        Words a mistake with its place in the study's file.

    Returns
    -------
    BatchRun
        Every piece with its board and its depth.

    Raises
    ------
    InputError
        No ballast bore; boards that are too small, too few or of the wrong wood.
    DesignError
        No sound body can be made of the recipe.
    """
    place = ballast_bore(recipe, batch.bore)
    if place is None:
        known = ", ".join(bore.name for bore in recipe.bores if bore.kind == "ballast")
        accepted = f"one of {known}" if known else "a recipe with a bore of kind ballast: bodygen ballast finds one"
        raise InputError([refuse("batch.bore", "no such ballast bore in the recipe.", accepted)])
    middle = float(np.median([board.density for board in boards]))
    start = assess_quickly(in_wood(recipe, middle), (), builds)
    if start.measured.block is None:
        raise InputError([refuse("recipe", "nobody says how large its squared blank is.", "a recipe that is drawn")])
    block = start.measured.block.size
    ballasting = Ballasting(recipe, place, lambda changed: assess_quickly(changed, (), builds), middle)
    layouts = [_layout(board, batch, block) for board in boards]
    _refuse_small(boards, layouts, block, refuse, recipe)
    looked = [
        _looked(board, layout, recipe, batch, block, builds, ballasting)
        for board, layout in zip(boards, layouts, strict=True)
    ]
    shares = _shared(looked, batch, refuse, block, ballasting)
    used, pieces = _numbered(looked, shares, batch, builds, prod(block))
    spared = tuple(
        Spared(one.board.name, one.why or "not needed") for one, n in zip(looked, shares, strict=True) if not n.sum()
    )
    lines = _lines(used, batch, ballasting, prod(block))
    code = code_of_run(recipe, batch, boards)
    return BatchRun(name, code, recipe, batch, block, used, spared, pieces, lines, _findings(looked, used, boards))


def _layout(board: Board, batch: Batch, block: Point3) -> BoardLayout:
    """Lay blanks in a board."""
    flaws = tuple(Rectangle(x, y, x + long, y + wide) for x, y, long, wide in board.flaws)
    return layout_of(Plank(board.name, board.size, flaws, board.grain == "along"), block, batch.saw)


def _looked(
    board: Board,
    layout: BoardLayout,
    recipe: Recipe,
    batch: Batch,
    block: Point3,
    builds: Sequence[Build],
    ballasting: Ballasting,
) -> _Looked:
    blanks = [grams * MM3_PER_CM3 / prod(block) for grams in board.blanks]
    wood = wood_of_board(board.name, board.density, blanks, recipe.wood, builds, batch.varies)
    depths = tuple(_suiting(ballasting, wood, lot) for lot in batch.lots)
    why = _unsuited(ballasting, wood, batch) if all(depth is None for depth in depths) else ""
    return _Looked(board, wood, layout, depths, why)


def _suiting(ballasting: Ballasting, wood: BoardWood, lot: Lot) -> Drilled | None:
    """The depth for a board's usual blank, where its light and heavy blanks come into the band, too."""
    ends = [wood.density * (1 + by * SURE * wood.cov) for by in (-1, 1)]
    if any(ballasting.chosen(density, lot.reserve) is None for density in ends):
        return None
    return ballasting.chosen(wood.density, lot.reserve)


def _unsuited(ballasting: Ballasting, wood: BoardWood, batch: Batch) -> str:
    """Say why no depth brings a board's blanks into a band."""
    least, most = ballasting.reach(batch.lots[0].reserve)
    near = SURE * wood.cov
    light, heavy = least / (1 - near), most / (1 + near)
    is_ = "heavy" if wood.density > (light + heavy) / 2 else "light"
    band = band_text(batch.lots[0].reserve)
    if light >= heavy:
        return f"no depth of the bore brings its blanks, which differ by {100 * wood.cov:.1f} %, into {band}"
    return f"too {is_}: {wood.density:.3f} g/cm3, where {_densities(light, heavy)} comes to {band} for all its blanks"


def _densities(least: float, most: float) -> str:
    """A range of densities [g/cm3]; one that begins below any wood is told by its end."""
    lightest = bounds("wood_density_g_cm3")[0]
    return f"at most {most:.3f}" if least <= lightest else f"{least:.3f} to {most:.3f}"


def _refuse_small(
    boards: Sequence[Board], layouts: Sequence[BoardLayout], block: Point3, refuse: Refuse, recipe: Recipe
) -> None:
    """Refuse boards of which not one blank can be sawn, whatever the others give."""
    long, thick, deep = block
    through, side = min(thick, deep), max(thick, deep)
    would = " x ".join(length_text(size, recipe.units) for size in (long, side, through))
    mistakes = []
    for number, (board, layout) in enumerate(zip(boards, layouts, strict=True), 1):
        if layout.places:
            continue
        length, width, thickness = board.size if board.grain == "along" else _turned(board.size)
        short = [
            f"{word} {length_text(size, recipe.units)}, where a blank needs {length_text(needs, recipe.units)}"
            for word, size, needs in (("long", length, long), ("wide", width, through), ("thick", thickness, through))
            if size < needs
        ]
        problem = f"no blank can be sawn of {board.name}: {', '.join(short) or 'too small, or flaws all over it'}."
        mistakes.append(refuse(f"board[{number}].size", problem, f"a board of at least {would}, grain along the first"))
    if mistakes:
        raise InputError(mistakes)


def _turned(size: Point3) -> Point3:
    return size[1], size[0], size[2]


def _shared(looked: Sequence[_Looked], batch: Batch, refuse: Refuse, block: Point3, ballasting: Ballasting) -> Counts:
    """How many pieces of each lot each board gives, or why they do not suffice."""
    offers = [
        BoardOffer(
            one.layout.pieces,
            one.layout.plank.face.area,
            tuple(None if depth is None else depth.bore.mass_g for depth in one.depths),
        )
        for one in looked
    ]
    found = assigned([lot.pieces for lot in batch.lots], offers, batch.spare)
    if found is not None:
        return found
    mistakes = []
    for n, lot in enumerate(batch.lots):
        suits = [one for one in looked if one.depths[n] is not None]
        if suits and sum(one.layout.pieces for one in suits) >= lot.pieces:
            continue  # the lots together ask for too much
        least, most = ballasting.reach(lot.reserve)
        gives = ", ".join(f"{one.board.name} {one.layout.pieces}" for one in suits) or "none of them suits"
        problem = f"the boards give {sum(one.layout.pieces for one in suits)} ({gives})."
        others = "; ".join(f"{one.board.name} is {one.why}" for one in looked if one.depths[n] is None and one.why)
        lacks = lot.pieces - sum(one.layout.pieces for one in suits)
        would = _board_for(lacks, looked, block, batch.saw)
        bores = [bore.name for bore in ballasting.recipe.bores if bore.kind == "ballast"]
        more = [f'bore = "{name}"' for name in bores if name != ballasting.bore.name]
        other = f"; or find another bore's depth: {' or '.join(more)}" if more else ""
        accepted = f"fewer, or {would}, {_densities(least, most)} g/cm3{f' ({others})' if others else ''}{other}"
        mistakes.append(refuse(lot.key, problem, accepted))
    if not mistakes:
        total, gives_all = sum(lot.pieces for lot in batch.lots), sum(one.layout.pieces for one in looked)
        would = _board_for(max(total - gives_all, 1), looked, block, batch.saw)
        problem = f"{total} pieces in all, where the boards give {gives_all}, each to the lots that its wood suits."
        mistakes.append(refuse("batch", problem, f"fewer, or {would}"))
    raise InputError(mistakes)


def _board_for(pieces: int, looked: Sequence[_Looked], block: Point3, kerf: float) -> str:
    """A board that would give so many more, as wide and thick as the widest in hand."""
    widest = max(looked, key=lambda one: one.layout.plank.size[1])
    side, layers = widest.layout.side, widest.layout.layers
    rows = int((widest.layout.plank.size[1] + kerf) / (side + kerf)) or 1
    columns = ceil(pieces / max(layers * rows, 1))
    long = columns * (block[0] + kerf) - kerf
    width, thick = widest.layout.plank.size[1:]
    return f"one more board {long:.0f} mm long, {width:g} mm wide and {thick:g} mm thick"


def _numbered(
    looked: Sequence[_Looked],
    shares: Counts,
    batch: Batch,
    builds: Sequence[Build],
    block: float,
) -> tuple[tuple[Used, ...], tuple[Piece, ...]]:
    """Saw the boards in hand order and number the pieces as they come off the saw."""
    used: list[Used] = []
    pieces: list[Piece] = []
    called = labels(int(shares.sum()))
    for one, counts in zip(looked, shares, strict=True):
        if not counts.sum():
            continue
        share = share_of(one.layout, int(counts.sum()), batch.saw)
        made = tuple(
            _made(lot, depth, one, builds, block)
            for lot, depth, count in zip(batch.lots, one.depths, counts, strict=True)
            if count and depth is not None
        )
        used.append(Used(one.board.name, one.wood, share, made))
        whose = [m for m, count in zip(made, (c for c in counts if c), strict=True) for _ in range(count)]
        spots = [(place, layer) for place in share.places for layer in range(one.layout.layers)]
        for (place, layer), mine in zip(spots, whose, strict=False):
            number = len(pieces) + 1
            pieces.append(Piece(number, called[number - 1], one.board.name, place, layer, mine))
    return tuple(used), tuple(pieces)


def _made(lot: Lot, depth: Drilled, one: _Looked, builds: Sequence[Build], block: float) -> LotMade:
    """Weigh and float a piece of a board's usual wood, its blank weighed, and count how many such come out right."""
    density = one.wood.density
    blank = [("squared", density * block / MM3_PER_CM3)]
    a = assess(depth.recipe_at(density), blank, builds, one.board.name)
    drawn = None if a.spread is None else a.spread.reserves
    likely = None if drawn is None else float(np.mean((drawn >= lot.reserve[0]) & (drawn <= lot.reserve[1])))
    return LotMade(lot, depth, density, a, likely)


def _lines(
    used: Sequence[Used], batch: Batch, ballasting: Ballasting, block: float
) -> tuple[tuple[Lot, tuple[DepthLine, ...]], ...]:
    """Each lot's table, over all blanks of the boards that it gets."""
    division = scale_division()
    tables = []
    for lot in batch.lots:
        woods = [one.wood for one in used if any(made.lot is lot for made in one.made)]
        least = min(wood.density * (1 - (SURE + 1) * wood.cov) for wood in woods) * block / MM3_PER_CM3
        most = max(wood.density * (1 + (SURE + 1) * wood.cov) for wood in woods) * block / MM3_PER_CM3
        tables.append((lot, lines_of(ballasting, block, (least, most), lot.reserve, division)))
    return tuple(tables)


def _findings(looked: Sequence[_Looked], used: Sequence[Used], boards: Sequence[Board]) -> tuple[Finding, ...]:
    """Doubts about boards, and those about the bait that its pieces share."""
    places = {board.name: f"board[{number}]" for number, board in enumerate(boards, 1)}
    found = [
        Finding("board-unsuited", "warning", places[one.board.name], f"{one.board.name} is left out: {one.why}")
        for one in looked
        if one.why
    ]
    for one in used:
        layout = one.share.layout
        if layout.layers > 1:
            remedy = (
                f"{one.name} is thick enough for {layout.layers} layers: resaw the strips before they are cut across"
            )
            found.append(Finding("board-resawn", "note", places[one.name], remedy, float(layout.layers), 1.0, ""))
    bait = dict.fromkeys(f for one in used for made in one.made for f in made.assessment.findings)
    return (*found, *{(f.code, f.where): f for f in bait}.values())
