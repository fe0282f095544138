"""A router job as plain data: stock, cutter, moves; and the rules that no job may break.

Machine axes: X0 Y0 is the lower left corner of the stock as it lies on the bed, Z0 its top; lengths mm, feeds mm/min.
Knows no shape that is cut (profile.py, carve.py) and no file format (export/gcode.py).
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import atan2, ceil, cos, floor, hypot, inf, pi, sin
from typing import Literal

from bodygen.errors import DesignError
from bodygen.findings import Finding
from bodygen.plane.shapes import Box, Point
from bodygen.shop.mill.cutters import Cutter, Feeds, Machine, default_machine, feeds_of, material_named

Point3 = tuple[float, float, float]
_ROUNDING = 1e-6
_SAG_MM = 0.005
_WRITTEN_MM = 1e-4  # by so much a move is longer or shorter as a program writes it


@dataclass(frozen=True, slots=True)
class Stock:
    """What lies on the bed: its size [mm] and material (a key of ``cutters.toml``).

    ``through`` is how far below its underside a cut may go, into the waste board [mm]; 0: not at all. ``clamps`` are
    the rectangles that the cutter keeps out of, ``clamp_height`` how far any clamp stands above the stock [mm].
    ``corners`` are those of a piece that is no rectangle, in whose box the length and width are [mm].
    """

    length: float
    width: float
    thickness: float
    material: str = "wood"
    through: float = 0.0
    clamps: tuple[Box, ...] = ()
    clamp_height: float = 0.0
    corners: tuple[Point, ...] = ()


@dataclass(frozen=True, slots=True)
class Move:
    """A straight or circular move to ``end`` [mm] at ``feed`` [mm/min]; a rapid has none.

    ``cw`` and ``ccw`` turn in the XY plane about ``centre``, at an even rate of Z.
    """

    kind: Literal["rapid", "line", "cw", "ccw"]
    end: Point3
    feed: float = 0.0
    centre: Point = (0.0, 0.0)


@dataclass(frozen=True, slots=True)
class Machining:
    """How a program cuts: what lies on the bed, with which cutter, how fast, on which machine."""

    stock: Stock
    cutter: Cutter
    feeds: Feeds
    machine: Machine = default_machine()  # noqa: RUF009  frozen data from a table

    @property
    def safe_height(self) -> float:
        """Z of sideways rapids: clear of the stock and its clamps [mm]."""
        return self.machine.clearance + self.stock.clamp_height


def machining(stock: Stock, cutter: Cutter, machine: Machine) -> tuple[Machining, tuple[Finding, ...]]:
    """How a cutter cuts a stock at the usual feeds of its material; findings where its chips are too thin or too thick.

    Raises
    ------
    DesignError
        If the table has no such material.
    """
    feeds, checks = feeds_of(cutter, material_named(stock.material), machine)
    return Machining(stock, cutter, feeds, machine), checks


@dataclass(frozen=True, slots=True)
class Job:
    """One program: one stock, one cutter. ``notes`` are the lines a maker reads at its head.

    ``cautions`` are keys of ``tables/cautions.toml``. ``pictured``: worth a picture of its moves.
    """

    name: str
    machining: Machining
    moves: tuple[Move, ...]
    purpose: str
    use: str
    notes: tuple[str, ...] = ()
    findings: tuple[Finding, ...] = ()
    cautions: tuple[str, ...] = ()
    pictured: bool = False

    @property
    def stock(self) -> Stock:
        """What lies on the bed."""
        return self.machining.stock

    @property
    def cutter(self) -> Cutter:
        """The one that the whole program cuts with."""
        return self.machining.cutter

    @property
    def minutes(self) -> float:
        """Time at feed and in rapids, as if the machine changed its speed at once: a real one takes longer [min]."""
        rapid = self.machining.machine.rapid
        return sum(
            _length(before.end, move) / (rapid if move.kind == "rapid" else move.feed)
            for before, move in pairwise(self.moves)
        )

    @property
    def lowest(self) -> float:
        """Lowest Z [mm]."""
        return min(move.end[2] for move in self.moves)


@dataclass(frozen=True, slots=True)
class Span:
    """A move with the place that it starts from."""

    start: Point3
    move: Move

    @property
    def sweep(self) -> float:
        """Turn of a circular move [rad], counter-clockwise positive."""
        return _sweep(self.start, self.move)

    @property
    def length(self) -> float:
        """Length travelled [mm]."""
        return _length(self.start, self.move)

    def points(self, sag: float = _SAG_MM) -> tuple[Point3, ...]:
        """Start, points whose chords leave the move by at most ``sag`` [mm], and end."""
        if self.move.kind in {"rapid", "line"}:
            return self.start, self.move.end
        (x0, y0, z0), (_, _, z1), (cx, cy) = self.start, self.move.end, self.move.centre
        radius, angle, sweep = hypot(x0 - cx, y0 - cy), atan2(y0 - cy, x0 - cx), self.sweep
        count = max(2, ceil(abs(sweep) / (8 * sag / max(radius, sag)) ** 0.5))
        inner = ((angle + sweep * i / count, z0 + (z1 - z0) * i / count) for i in range(1, count))
        return self.start, *((cx + radius * cos(a), cy + radius * sin(a), z) for a, z in inner), self.move.end


def _sweep(start: Point3, move: Move) -> float:
    (x0, y0, _), (x1, y1, _), (cx, cy) = start, move.end, move.centre
    turn = (atan2(y1 - cy, x1 - cx) - atan2(y0 - cy, x0 - cx)) % (2 * pi)
    return turn if move.kind == "ccw" else turn - 2 * pi


def _length(start: Point3, move: Move) -> float:
    (x0, y0, z0), (x1, y1, z1) = start, move.end
    if move.kind in {"rapid", "line"}:
        return hypot(x1 - x0, y1 - y0, z1 - z0)
    radius = hypot(x0 - move.centre[0], y0 - move.centre[1])
    return hypot(radius * _sweep(start, move), z1 - z0)


def spans(moves: Sequence[Move]) -> Iterator[Span]:
    """Every move but the first, which comes from wherever the machine stands, with its start."""
    for before, move in pairwise(moves):
        yield Span(before.end, move)


def approach(moves: list[Move], at: Point3, how: Machining, air: float = 1.0) -> None:
    """Retract, go over the place by rapid, and come down at feed to ``at``, from ``air`` above the stock [mm]."""
    safe = how.safe_height
    if moves:
        x, y, _ = moves[-1].end
        moves.append(Move("rapid", (x, y, safe)))
    moves.append(Move("rapid", (at[0], at[1], safe)))
    if at[2] < air < safe:
        moves.append(Move("rapid", (at[0], at[1], air)))
    moves.append(Move("line", at, how.feeds.plunge))


def retract(moves: list[Move], how: Machining) -> None:
    """Go straight up to the safe height."""
    x, y, _ = moves[-1].end
    moves.append(Move("rapid", (x, y, how.safe_height)))


def ready(job: Job) -> Job:
    """The job with its descents slowed and the machine parked over X0 Y0 at the end, checked.

    Raises
    ------
    DesignError
        As ``checked`` does.
    """
    parked = Move("rapid", (0.0, 0.0, job.machining.safe_height))
    moves = *slowed(job.moves, job.machining.feeds.plunge), parked
    return checked(replace(job, moves=moves, notes=(*job.notes, "parks over X0 Y0 when it is done")))


def slowed(moves: Sequence[Move], plunge: float) -> tuple[Move, ...]:
    """The moves, each that goes down below the stock's top so slow that it sinks no faster than ``plunge`` [mm/min].

    A slowed feed is a whole number, as a program writes it, so that rounding never makes it faster.
    """
    found = list(moves[:1])
    for before, move in pairwise(moves):
        most = _steepest_feed(before.end, move, plunge)
        found.append(replace(move, feed=float(floor(most))) if move.feed > most else move)
    return tuple(found)


def _steepest_feed(start: Point3, move: Move, plunge: float) -> float:
    """The feed at which a move sinks at the plunge feed; without bound where it does not sink in the stock [mm/min]."""
    fall = start[2] - move.end[2]
    if move.kind == "rapid" or move.end[2] >= 0 or fall <= _ROUNDING:
        return inf
    return plunge * max(1.0, (_length(start, move) - _WRITTEN_MM) / (fall + _WRITTEN_MM))


def checked(job: Job) -> Job:
    """The job, if it breaks no rule.

    Raises
    ------
    DesignError
        If it cuts the bed, a clamp or deeper than the cutter reaches, leaves the stock, travels through wood by
        rapid, or goes down in it faster than its plunge feed; each fault with its place.
    """
    faults = [*_depth_faults(job), *_rapid_faults(job), *_descent_faults(job), *_place_faults(job)]
    if faults:
        raise DesignError("\n".join(f"{job.name}: {fault}" for fault in faults))
    return job


def _depth_faults(job: Job) -> Iterator[str]:
    stock, low = job.stock, job.lowest
    if low < -stock.thickness - stock.through - _ROUNDING:
        yield (
            f"cuts to Z{low:.3f} and the stock ends at Z{-stock.thickness:g}: {stock.through:g} mm into the waste "
            "board are allowed (shop.through)"
        )
    if -low > job.cutter.reach + _ROUNDING:
        yield (
            f"cuts {-low:.2f} mm deep and the {job.cutter.name} reaches {job.cutter.reach:g} mm: a longer cutter, or "
            "thinner stock"
        )


def _rapid_faults(job: Job) -> Iterator[str]:
    safe = job.machining.safe_height - _ROUNDING
    for before, move in pairwise(job.moves):
        if move.kind == "rapid":
            start, low = before.end, min(before.end[2], move.end[2])
            if start[:2] != move.end[:2] and low < safe:
                yield f"rapid sideways at Z{low:g} near X{start[0]:.1f} Y{start[1]:.1f}"
            elif move.end[2] < start[2] and move.end[2] <= 0:
                yield f"rapid down into the stock at X{start[0]:.1f} Y{start[1]:.1f}"


def _descent_faults(job: Job) -> Iterator[str]:
    for before, move in pairwise(job.moves):
        if move.feed > _steepest_feed(before.end, move, job.machining.feeds.plunge) + _ROUNDING:
            x, y, _ = before.end
            yield f"goes down faster than {job.machining.feeds.plunge:.0f} mm/min near X{x:.1f} Y{y:.1f}"


def _place_faults(job: Job) -> Iterator[str]:
    """Cutter against clamps and the stock's edges, wherever it is below the safe height."""
    from shapely import MultiLineString, box

    stock, r = job.stock, job.cutter.radius
    low = job.machining.safe_height - _ROUNDING
    lines: list[list[Point]] = []
    below = False
    for before, move in pairwise(job.moves):
        now = min(before.end[2], move.end[2]) < low
        if now and not below:
            lines.append([before.end[:2]])
        if now and move.kind in {"rapid", "line"}:
            lines[-1].append(move.end[:2])
        elif now:
            lines[-1] += [(x, y) for x, y, _ in Span(before.end, move).points()[1:]]
        below = now
    path = MultiLineString(lines)
    for clamp in stock.clamps:
        gap = path.distance(box(*clamp))
        if gap < r - _ROUNDING:
            yield (
                f"the cutter comes {r - gap:.2f} mm into the clamp zone X{clamp[0]:g}..{clamp[2]:g} "
                f"Y{clamp[1]:g}..{clamp[3]:g}: larger stock, or clamps elsewhere"
            )
    x0, y0, x1, y1 = path.bounds
    if min(x0, y0) < -r - _ROUNDING or x1 > stock.length + r + _ROUNDING or y1 > stock.width + r + _ROUNDING:
        yield (
            f"runs from X{x0:.1f} Y{y0:.1f} to X{x1:.1f} Y{y1:.1f}, beyond the stock of {stock.length:g} x "
            f"{stock.width:g} mm"
        )
