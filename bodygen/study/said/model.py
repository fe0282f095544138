"""What a study's file said, checked: which keys vary and how, which figures are kept, how designs are chosen.

Data alone. Numbers of a varied key are in its ``unit``, as people write recipes; figures in the unit of their name.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Literal

from bodygen.study.said.batch import Batch

How = Literal["grid", "latin_hypercube", "sobol", "monte_carlo"]
Value = float | int | str | bool | None
Row = dict[str, Value]
"""One design: ``number``, ``seed``, ``board``, the varied keys, the kept figures, ``state``, ``findings`` (codes with
a blank between), ``failed`` (a code), ``where`` and ``why``; None where there is no such figure."""


@dataclass(frozen=True, slots=True)
class Range:
    """Anything from ``low`` to ``high`` alike, or ``steps`` values evenly between, both ends among them."""

    low: float
    high: float
    steps: int | None = None


@dataclass(frozen=True, slots=True)
class Values:
    """One of these, each as often as another, as written in a recipe; ``numbers`` in the key's unit, if it has one."""

    texts: tuple[str, ...]
    numbers: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Normal:
    """Normally distributed, cut off below ``low`` and above ``high``."""

    mean: float
    deviation: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Varied:
    """A key of the recipe and what it becomes; ``column`` is its name in the table, which ends in its unit."""

    key: str
    spread: Range | Values | Normal
    unit: str
    column: str
    whole: bool = False


@dataclass(frozen=True, slots=True)
class Board:
    """A weighed board: its length, width and thickness [mm], and what it weighs [g].

    For a run of pieces also ``flaws`` (from the left end, from the lower edge, long, wide [mm]), which way its grain
    runs against its length, and what squared ``blanks`` of it weighed [g].
    """

    name: str
    size: tuple[float, float, float]
    mass: float
    flaws: tuple[tuple[float, float, float, float], ...] = ()
    grain: Literal["along", "across"] = "along"
    blanks: tuple[float, ...] = ()

    @property
    def density(self) -> float:
        """Of its wood [g/cm^3]."""
        length, width, thickness = self.size
        return self.mass / (length * width * thickness) * 1000


@dataclass(frozen=True, slots=True)
class Column:
    """A kept figure: its name in the table, and the steps to it in ``properties.json``."""

    name: str
    path: str
    steps: tuple[str | int, ...]
    kind: Literal["number", "text", "flag"]


@dataclass(frozen=True, slots=True)
class Plan:
    """How the designs are chosen, and how many.

    ``base`` is how many each of the samples has that Sobol' indices are told from, 0 where they are not asked for.
    """

    how: How
    designs: int
    base: int = 0


@dataclass(frozen=True, slots=True)
class Limit:
    """What a figure may be; ``column`` is the table's."""

    figure: str
    least: float | None = None
    most: float | None = None
    column: str = ""


@dataclass(frozen=True, slots=True)
class StudyAim:
    """What a figure is to be: near a ``target`` (``within`` counts as met), or as little or as much as can be."""

    figure: str
    target: float | None
    within: float
    sense: Literal["least", "most"] | None
    column: str


@dataclass(frozen=True, slots=True)
class StudySearch:
    """In place of a plan: designs are looked for, at most so many."""

    designs: int


@dataclass(frozen=True, slots=True)
class Design:
    """One of a study's designs: changes of the recipe as texts, and the board that it is made of."""

    number: int
    changes: tuple[tuple[str, str], ...]
    board: str | None = None


@dataclass(frozen=True, slots=True)
class Study:
    """A study's file, and the recipe that it is about.

    ``text`` is the recipe's, ready to be changed: every varied key stands in it. ``sha256`` is of all that a row
    follows from besides its design; ``lines`` are those of the study's file, for messages.
    """

    path: Path
    name: str
    recipe: Path
    text: str
    sha256: str
    seed: int
    plan: Plan | None
    varied: tuple[Varied, ...]
    boards: tuple[Board, ...]
    columns: tuple[Column, ...]
    limits: tuple[Limit, ...] = ()
    search: StudySearch | None = None
    aims: tuple[StudyAim, ...] = ()
    batch: Batch | None = None
    allow_outside: bool = False
    lines: Mapping[str, int] = field(default_factory=dict, compare=False)
