"""Router cutters, what they may bite of which material, and the feed that follows.

Knows the table ``cutters.toml``, all of it common practice. Knows no path. Chip load is what one tooth takes at each
turn: feed / (speed x flutes).
"""

from dataclasses import dataclass, replace
from math import inf, log, sqrt
from typing import Literal

from bodygen.errors import DesignError
from bodygen.findings import Finding
from bodygen.recipe.model import Shop
from bodygen.tables import as_row, load

NEAR = 0.12
"""Share of its diameter by which a cutter may cut wider or narrower than it is sold: worn, or out of true [-]."""


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
    """The router: spindle speeds [1/min], feeds [mm/min], heights [mm].

    ``speeds`` are those that its dial has; none: any between ``slowest`` and ``usual``. ``fastest_plunge`` bounds the
    ``plunge_share`` of the feed. Sideways rapids stay ``clearance`` above the stock and the clamps, which stand up by
    ``clamp_height``. ``wait``: until the spindle is up to speed [s].
    """

    slowest: float
    usual: float
    fastest_feed: float
    rapid: float
    plunge_share: float
    clearance: float
    clamp_height: float
    wait: float
    speeds: tuple[float, ...] = ()
    fastest_plunge: float = inf


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
    return as_row(Cutter, rows[key])


def flat_cutter_near(diameter: float, preferred: Cutter) -> Cutter:
    """The flat cutter that cuts so wide, with that as its diameter: ``preferred`` where it may be the one.

    Raises
    ------
    DesignError
        If the table has none within ``NEAR`` of it.

    Examples
    --------
    >>> flat_cutter_near(1.56, cutter_named("flat_2")).name
    'flat end mill 1/16 in, cuts 1.56 mm wide'
    """
    flat = [preferred, *(cutter_named(key) for key, row in load("cutters")["cutter"].items() if row["shape"] == "flat")]
    if abs(preferred.diameter - diameter) > NEAR * preferred.diameter:
        flat = flat[1:]
        flat.sort(key=lambda cutter: abs(cutter.diameter - diameter))
    nearest = flat[0]
    if abs(nearest.diameter - diameter) > NEAR * nearest.diameter:
        msg = f"no flat cutter cuts about {diameter:g} mm wide: for a router, lip.cutting.kerf is the cutter's diameter"
        raise DesignError(msg)
    if abs(nearest.diameter - diameter) < 5e-4:
        return nearest
    return replace(nearest, name=f"{nearest.name}, cuts {diameter:g} mm wide", diameter=diameter)


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
    return as_row(Material, rows[key])


def default_machine() -> Machine:
    """The small table router of ``tables/cutters.toml``: common practice, no published source."""
    row = load("cutters")["machine"]
    return as_row(Machine, row, wait=row["spindle_wait_s"])


def machine_of(shop: Shop) -> Machine:
    """The usual machine, with what the recipe's ``[shop]`` says of it."""
    usual = default_machine()
    return replace(
        usual,
        speeds=shop.spindle_speeds,
        fastest_feed=shop.fastest_feed or usual.fastest_feed,
        fastest_plunge=shop.fastest_plunge or usual.fastest_plunge,
        clamp_height=usual.clamp_height if shop.clamp_height is None else shop.clamp_height,
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
    >>> found, _ = feeds_of(cutter_named("flat_3"), material_named("wood"), default_machine())
    >>> found.feed   # 16000 / min x 2 flutes x 0.014 x 3.175 mm
    1422.4
    """
    least, usual, most = (share * cutter.diameter for share in material.chip_load)
    best = min(machine.usual, max(machine.slowest, machine.fastest_feed / (usual * cutter.flutes)))
    turns = speed or min(machine.speeds, key=lambda dial: abs(log(dial / best)), default=best)
    wanted = feed or usual * cutter.flutes * turns
    runs = min(wanted, machine.fastest_feed)
    chip = runs / (turns * cutter.flutes)
    checks: list[Finding] = []
    if not least <= chip <= most:
        limit = least if chip < least else most
        where = "shop.fastest_feed" if runs < wanted else "shop.spindle_speeds"
        what = "rubs and burns: turn slower or feed faster" if chip < least else "may snap the cutter: feed slower"
        remedy = f"such a chip of a {cutter.name} in {material.name} {what}"
        checks.append(Finding("chip-load", "warning", where, remedy, chip, limit, "mm"))
    found = Feeds(
        round(turns),
        runs,
        min(runs * machine.plunge_share, machine.fastest_plunge),
        chip,
        material.bite * cutter.diameter,
        material.step * cutter.diameter,
    )
    return found, tuple(checks)


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
