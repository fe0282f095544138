"""Router cutters, what they may bite of which material, and the feed that follows.

Knows the table ``cutters.toml``, all of it common practice. Knows no path. Chip load is what one tooth takes at each
turn: feed / (speed x flutes).
"""

from dataclasses import dataclass
from math import sqrt
from typing import Literal

from bodygen.errors import DesignError
from bodygen.findings import Finding
from bodygen.tables import load


@dataclass(frozen=True, slots=True)
class Cutter:
    """A cutter: ``diameter``, and ``reach``: the greatest depth it can cut to below the stock's top [mm].

    ``number`` is its place in the machine's tool list.
    """

    name: str
    shape: Literal["flat", "ball"]
    diameter: float
    reach: float
    flutes: int
    number: int

    @property
    def radius(self) -> float:
        """[mm]."""
        return self.diameter / 2


@dataclass(frozen=True, slots=True)
class Material:
    """What is cut. ``chip_load`` least, usual, most, ``bite`` and ``step``, all as shares of the cutter's diameter [-].

    ``cautions`` are keys of ``tables/cautions.toml``.
    """

    name: str
    chip_load: tuple[float, float, float]
    bite: float
    step: float
    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Machine:
    """The router: spindle speeds [1/min], feeds [mm/min], ``clearance`` of sideways rapids [mm]."""

    slowest: float
    usual: float
    fastest_feed: float
    rapid: float
    plunge_share: float
    clearance: float


@dataclass(frozen=True, slots=True)
class Feeds:
    """Spindle ``speed`` [1/min], ``feed`` and ``plunge`` [mm/min], ``chip_load`` [mm], ``bite`` and ``step`` [mm]."""

    speed: float
    feed: float
    plunge: float
    chip_load: float
    bite: float
    step: float


def cutter_named(key: str) -> Cutter:
    """A cutter of the table.

    Raises
    ------
    DesignError
        If the table has no such cutter.

    Examples
    --------
    >>> cutter_named("ball_3").diameter
    3.175
    """
    rows = load("cutters")["cutter"]
    if key not in rows:
        msg = f'no cutter "{key}" in tables/cutters.toml; there are {", ".join(rows)}'
        raise DesignError(msg)
    row = rows[key]
    return Cutter(row["name"], row["shape"], row["diameter_mm"], row["reach_mm"], row["flutes"], row["number"])


def material_named(key: str) -> Material:
    """A material of the table.

    Raises
    ------
    DesignError
        If the table has no such material.
    """
    rows = load("cutters")["material"]
    if key not in rows:
        msg = f'no material "{key}" in tables/cutters.toml; there are {", ".join(rows)}'
        raise DesignError(msg)
    row = rows[key]
    low, usual, high = row["chip_load_share"]
    return Material(row["name"], (low, usual, high), row["bite_share"], row["step_share"], tuple(row["cautions"]))


def usual_machine() -> Machine:
    """The small table router of ``tables/cutters.toml``: common practice, no published source."""
    row = load("cutters")["machine"]
    return Machine(
        row["slowest_rpm"],
        row["usual_rpm"],
        row["fastest_feed_mm_min"],
        row["rapid_mm_min"],
        row["plunge_share"],
        row["clearance_mm"],
    )


def feeds_of(
    cutter: Cutter, material: Material, machine: Machine, feed: float | None = None, speed: float | None = None
) -> tuple[Feeds, tuple[Finding, ...]]:
    """Speed and feed for a cutter, and a doubt where its chips come out too thin or too thick.

    Parameters
    ----------
    cutter : Cutter
        Which.
    material : Material
        What it cuts.
    machine : Machine
        Its limits.
    feed, speed : float, optional
        As the maker wants them [mm/min, 1/min]; left out: the usual speed, slowed down where the usual chip would need
        a faster feed than the machine has.

    Examples
    --------
    >>> found, _ = feeds_of(cutter_named("flat_3"), material_named("wood"), usual_machine())
    >>> found.feed   # 16000 / min x 2 flutes x 0.014 x 3.175 mm
    1422.4
    """
    least, usual, most = (share * cutter.diameter for share in material.chip_load)
    turns = speed or min(machine.usual, max(machine.slowest, machine.fastest_feed / (usual * cutter.flutes)))
    wanted = feed or usual * cutter.flutes * turns
    runs = min(wanted, machine.fastest_feed)
    chip = runs / (turns * cutter.flutes)
    doubts: list[Finding] = []
    if not least <= chip <= most:
        limit = least if chip < least else most
        what = "rubs and burns: turn slower or feed faster" if chip < least else "may snap the cutter: feed slower"
        doubts.append(Finding("chip-load", "warning", f"shop.{cutter.name}", f"such a chip {what}", chip, limit, "mm"))
    found = Feeds(
        round(turns),
        runs,
        runs * machine.plunge_share,
        chip,
        material.bite * cutter.diameter,
        material.step * cutter.diameter,
    )
    return found, tuple(doubts)


def stepover(radius: float, scallop: float) -> float:
    """Distance between two passes of a ball on a plane that leaves ridges of this height [mm].

    From the triangle of radius, half step and radius less ridge: s = 2 sqrt(2 r h - h^2). On a hollow the ridges come
    out higher, on a bulge lower.

    Examples
    --------
    >>> stepover(1.5, 0.03)
    0.597
    """
    return 2 * sqrt(2 * radius * scallop - scallop**2)
