"""Blanks in a plank: grain along the bait's length, kerf between, knots left out, in layers where it is thick enough.

Knows rectangles, a packing library and the saw. Knows no bait: a blank is three sizes. Where a plank has flaws it is
parted round them by edge-to-edge cuts first, so that the whole layout can be sawn.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import count, product
from math import ceil, floor

from bodygen.study.batch.planning.sawing import TOUCH_MM, Rectangle, Sawn, Way, sawn

PARTS = 1_000_000
"""The library counts in whole numbers: so many to the millimetre, of which 1/64 in is a whole number."""
WAYS = ("GuillotineBssfSas", "GuillotineBafMinas", "GuillotineBlsfLas")
SORTS = ("SORT_AREA", "SORT_LSIDE", "SORT_SSIDE")
"""Ways to lay, of the packing library; each leaves what edge-to-edge cuts can free."""
PATIENCE = 2000
"""Parts with flaws in them that are looked at with every cut."""
Size = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Plank:
    """A board as the saw sees it: length, width, thickness [mm], what to leave out, whether the grain runs along it.

    ``flaws`` are in the plane of the board, from its lower left corner.
    """

    name: str
    size: tuple[float, float, float]
    flaws: tuple[Rectangle, ...] = ()
    grain_along: bool = True

    @property
    def face(self) -> Rectangle:
        """Its face [mm]."""
        return Rectangle(0.0, 0.0, self.size[0], self.size[1])


@dataclass(frozen=True, slots=True)
class BoardLayout:
    """Where blanks lie in a plank, each place ``layers`` deep.

    ``side`` of a blank lies across the face, ``through`` goes through the thickness [mm]; ``over``: what is then planed
    off the thickness.
    """

    plank: Plank
    side: float
    through: float
    layers: int
    places: tuple[Rectangle, ...]
    over: float

    @property
    def pieces(self) -> int:
        """How many blanks it gives."""
        return len(self.places) * self.layers


def layout_of(plank: Plank, blank: tuple[float, float, float], kerf: float) -> BoardLayout:
    """Lay as many equal blanks as a plank gives.

    Parameters
    ----------
    plank : Plank
        The board.
    blank : (length, thickness, depth)
        Of the squared blank [mm]; its length lies along the grain, either of the others goes through the board.
    kerf : float
        Of the saw [mm].

    Returns
    -------
    BoardLayout
        Without places where the board is too small.

    Examples
    --------
    >>> layout_of(Plank("B1", (320.0, 70.0, 25.0)), (76.0, 22.0, 27.0), 2.0).pieces   # 4 long, 2 wide
    8
    """
    long, thick, deep = blank
    best: BoardLayout | None = None
    for through, side in ((thick, deep), (deep, thick)):
        layers = floor((plank.size[2] + kerf + TOUCH_MM) / (through + kerf))
        one = (long, side) if plank.grain_along else (side, long)
        places: list[Rectangle] = []
        if layers:
            for part in clear_parts(plank.face, plank.flaws, one, kerf):
                places += laid([one] * _grid(part, one, kerf), part, kerf)
        over = max(plank.size[2] - layers * through - max(layers - 1, 0) * kerf, 0.0)
        found = BoardLayout(plank, side, through, layers, tuple(sorted(places, key=lambda p: (p.y0, p.x0))), over)
        if best is None or (found.pieces, -found.over) > (best.pieces, -best.over):
            best = found
    assert best is not None  # noqa: S101  two ways were tried
    return best


def laid(sizes: Sequence[Size], plate: Rectangle, kerf: float) -> tuple[Rectangle, ...]:
    """Lay rectangles, none turned, on one plate, the kerf between them; those that the library finds room for.

    Sizes [mm], in any order; the answer is in the order of the sizes. Several of the library's ways are tried, and the
    one that fills most is taken, the first of equals.
    """
    import rectpack

    best: list[tuple[int, Rectangle]] = []
    filled = 0.0
    whole = tuple(round((side + kerf + TOUCH_MM) * PARTS) for side in plate.size)
    grown = [tuple(round((side + kerf) * PARTS) for side in size) for size in sizes]
    for way, sort in product(WAYS, SORTS):
        packer = rectpack.newPacker(
            mode=rectpack.PackingMode.Offline,
            pack_algo=getattr(rectpack, way),
            sort_algo=getattr(rectpack, sort),
            rotation=False,
        )
        for number, (wide, tall) in enumerate(grown):
            packer.add_rect(wide, tall, number)
        packer.add_bin(*whole)
        packer.pack()
        found = [
            (number, _at(plate, x / PARTS, y / PARTS, sizes[number])) for _, x, y, _, _, number in packer.rect_list()
        ]
        area = sum(rectangle.area for _, rectangle in found)
        if area > filled + TOUCH_MM:
            best, filled = found, area
        if len(found) == len(sizes):
            break
    return tuple(rectangle for _, rectangle in sorted(best, key=lambda one: one[0]))


def _at(plate: Rectangle, x: float, y: float, size: Size) -> Rectangle:
    x0, y0 = plate.x0 + x, plate.y0 + y
    return Rectangle(x0, y0, x0 + size[0], y0 + size[1])


def _grid(part: Rectangle, one: Size, kerf: float) -> int:
    """How many equal rectangles of one kind a clear part gives: whole rows of whole columns, none turned."""
    wide, tall = part.size
    return floor((wide + kerf + TOUCH_MM) / (one[0] + kerf)) * floor((tall + kerf + TOUCH_MM) / (one[1] + kerf))


def clear_parts(face: Rectangle, flaws: Sequence[Rectangle], one: Size, kerf: float) -> tuple[Rectangle, ...]:
    """Part a face by edge-to-edge cuts into rectangles without flaws that give most blanks ``one`` [mm].

    Cuts are tried where a whole number of blanks ends beside a flaw, from either side, and along the flaw. Of a board
    with many flaws, once so many parts were looked at, the most promising cut alone.
    """
    looked = count(1)

    @cache
    def most(part: Rectangle) -> tuple[int, tuple[Rectangle, ...]]:
        bound = _grid(part, one, kerf)
        inside = [flaw for flaw in flaws if flaw.overlaps(part)]
        if not bound or not inside:
            return bound, ((part,) if bound else ())
        tries = [(_grid(low, one, kerf) + _grid(high, one, kerf), low, high)
                 for low, high in _partings(part, inside, one, kerf)]  # fmt: skip
        tries.sort(key=lambda one: -one[0])
        best: tuple[int, tuple[Rectangle, ...]] = (0, ())
        for at_most, low, high in tries[: 1 if next(looked) > PATIENCE else None]:
            if at_most <= best[0]:
                break
            parts = [most(half) for half in (low, high)]
            gives = sum(n for n, _ in parts)
            if gives > best[0]:
                best = gives, tuple(p for _, clear in parts for p in clear)
        return best

    return most(face)[1]


def _partings(
    part: Rectangle, inside: Sequence[Rectangle], one: Size, kerf: float
) -> Iterator[tuple[Rectangle, Rectangle]]:
    """Both sides of each cut worth trying."""
    for flaw in inside:
        for at in _near((part.y0, part.y1), (flaw.y0, flaw.y1), one[1], kerf):
            yield Rectangle(part.x0, part.y0, part.x1, at), Rectangle(part.x0, at + kerf, part.x1, part.y1)
        for at in _near((part.x0, part.x1), (flaw.x0, flaw.x1), one[0], kerf):
            yield Rectangle(part.x0, part.y0, at, part.y1), Rectangle(at + kerf, part.y0, part.x1, part.y1)


def _near(ends: Size, flaw: Size, side: float, kerf: float) -> list[float]:
    """Near sides of cuts along one axis: where whole blanks end last before a flaw and first behind it, from each end.

    Also along the flaw's own edges, where the kerf falls into it.
    """
    (low, high), pitch = ends, side + kerf
    before, behind = floor((flaw[0] - low + kerf + TOUCH_MM) / pitch), ceil((flaw[1] - low - TOUCH_MM) / pitch)
    places = [low + n * pitch - kerf for n in (before, behind)]
    before, behind = ceil((high - flaw[0] - TOUCH_MM) / pitch), floor((high - flaw[1] + kerf + TOUCH_MM) / pitch)
    places += [*(high - n * pitch for n in (before, behind)), flaw[0], flaw[1] - kerf]
    return sorted({round(at, 6) for at in places if low < at < high - kerf})


@dataclass(frozen=True, slots=True)
class BoardShare:
    """The places of a layout that a run takes, in the order of the saw, and how to saw them out."""

    layout: BoardLayout
    places: tuple[Rectangle, ...]
    sawn: Sawn
    pieces: int

    @property
    def used(self) -> float:
        """Area of the blanks on the face over that of the plank; the kerf counts as lost [-]."""
        return sum(place.area for place in self.places) / self.layout.plank.face.area


def share_of(layout: BoardLayout, pieces: int, kerf: float) -> BoardShare:
    """Take so many blanks out of a layout, at the side where the offcut that stays whole gives most more of them.

    A plank is ripped before it is cut across where that costs no blank: a long piece is held more safely at a fence
    (common practice, no published source).
    """
    wanted = -(-pieces // layout.layers)
    best: BoardShare | None = None
    ways: tuple[Way, Way] = ("rip", "cross")
    for first in ways:
        rows = sorted(layout.places, key=lambda p: (p.y0, p.x0) if first == "rip" else (p.x0, p.y0))[:wanted]
        places = tuple(sorted(rows, key=lambda p: (p.y0, p.x0)))
        cuts = sawn(layout.plank.face, places, kerf, first)
        found = BoardShare(layout, places, cuts, pieces)
        if best is None or _left(found, kerf) > _left(best, kerf):
            best = found
    assert best is not None  # noqa: S101  two ways were tried
    return best


def _left(share: BoardShare, kerf: float) -> int:
    """How many more blanks the best offcut gives."""
    return max((_grid(left, share.places[0].size, kerf) for left in share.sawn.offcuts), default=0)
