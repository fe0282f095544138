"""A run of pieces as data: what was asked of it, what each board gives, and each piece by its number."""

from dataclasses import dataclass

from bodygen.assessment import Assessment
from bodygen.ballast.bore_report import BoreReport, bore_report_of
from bodygen.findings import Finding
from bodygen.recipe.model import Point3, Recipe
from bodygen.study.batch.planning.ballasting import Band, DepthLine, Drilled
from bodygen.study.batch.planning.boards import BoardWood
from bodygen.study.batch.planning.planks import BoardShare
from bodygen.study.batch.planning.sawing import Rectangle
from bodygen.study.said.batch import Batch, Lot


@dataclass(frozen=True, slots=True, eq=False)
class LotMade:
    """What a lot's pieces of one board get: the depth for a blank of the board's own density, and how they then lie.

    ``likely`` is the share of such pieces whose reserve comes out in the band, over all that varies after the blank is
    weighed [-]; None where nothing varies.
    """

    lot: Lot
    drilled: Drilled
    density: float
    assessment: Assessment
    likely: float | None

    @property
    def masses(self) -> dict[str, float]:
        """What the scale should read at each stage [g]."""
        return self.drilled.masses_at(self.density)


@dataclass(frozen=True, slots=True, eq=False)
class Piece:
    """One piece: its number on everything, where it lies in its board, what it gets."""

    number: int
    label: str
    board: str
    place: Rectangle
    layer: int
    made: LotMade


@dataclass(frozen=True, slots=True, eq=False)
class Used:
    """A board that is sawn: its wood, its share of the run, what each lot's pieces of it get."""

    name: str
    wood: BoardWood
    share: BoardShare
    made: tuple[LotMade, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Spared:
    """A board that is not sawn, and why."""

    name: str
    why: str


@dataclass(frozen=True, slots=True, eq=False)
class BatchRun:
    """All of it. ``block`` is the squared blank [mm], ``lines`` the table from blank to depth of each lot.

    ``code`` tells this run from another of the same name: it is of recipe, boards and what was asked.
    """

    name: str
    code: str
    recipe: Recipe
    batch: Batch
    block: Point3
    used: tuple[Used, ...]
    spared: tuple[Spared, ...]
    pieces: tuple[Piece, ...]
    lines: tuple[tuple[Lot, tuple[DepthLine, ...]], ...]
    findings: tuple[Finding, ...]

    @property
    def used_share(self) -> float:
        """Area of the blanks over that of the faces of all planks that are sawn, the kerf counted as lost [-]."""
        planks = sum(one.share.layout.plank.face.area for one in self.used)
        return sum(place.area for one in self.used for place in one.share.places) / planks

    @property
    def volume_share(self) -> float:
        """Volume of the blanks over that of the planks that are sawn [-]."""
        block = self.block[0] * self.block[1] * self.block[2]
        return (
            len(self.pieces)
            * block
            / sum(one.share.layout.plank.face.area * one.share.layout.plank.size[2] for one in self.used)
        )

    @property
    def beside(self) -> tuple[BoreReport, ...]:
        """Every other bore for ballast: drilled and filled alike in all pieces, as the recipe has it."""
        made = self.pieces[0].made
        recipe, a = made.drilled.recipe, made.assessment
        places = [n for n, bore in enumerate(recipe.bores) if bore.kind == "ballast" and bore.fill is not None]
        reports = [bore_report_of(n, recipe, a.weighed.items, a.shaped.sizes[0]) for n in places]
        found = made.drilled.bore
        return tuple(one for one in reports if (one.name, one.x_mm) != (found.name, found.x_mm))

    @property
    def stages(self) -> tuple[str, ...]:
        """The weigh-ins of a piece, in shop order."""
        return tuple(self.pieces[0].made.masses)


def beside_words(run: BatchRun) -> list[str]:
    """Which bore's depth is found, and what goes into each other one; nothing of a bait with one for ballast."""
    if not run.beside:
        return []
    others = [
        f"{one.name} stays as the recipe has it, {one.depth_text}, {one.mass_g:.2f} g of {one.metal.replace('_', ' ')}"
        for one in run.beside
    ]
    return [f"the depth of {run.pieces[0].made.drilled.bore.name} is found for each piece; {'; '.join(others)}"]


def boards_text(count: int) -> str:
    """So many boards.

    >>> boards_text(1), boards_text(6)
    ('1 board', '6 boards')
    """
    return f"{count} {'board' if count == 1 else 'boards'}"


def band_text(band: Band) -> str:
    """A band of reserves [g] in words."""
    return f"{band[0]:+.2f} to {band[1]:+.2f} g"


def share_text(likely: float) -> str:
    """A share of draws in words: never all of them."""
    return "more than 99 in 100" if likely > 0.99 else f"{100 * likely:.0f} in 100"
