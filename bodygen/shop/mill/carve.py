"""Router programs that carve a body, or a half of it, out of a board, turned over once about its long axis.

The part stands in the board on two bridges, a groove all round it. Each side is roughed with a flat cutter in level
passes and finished with a ball along rows: lengthwise where the skin slopes lengthwise, crosswise on the steep flanks,
so that no ridge between rows is higher than asked. The flat side of a half is faced instead. Knows how work is held and
turned over; drop_cutter.py knows what a cutter touches, raster.py how rows become moves.
"""

from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING, Literal

import numpy as np
from numpy.typing import NDArray

from bodygen.errors import DesignError
from bodygen.findings import Finding
from bodygen.form.triples import doubled_areas
from bodygen.mesh.skin import Mesh
from bodygen.plane.shapes import Point
from bodygen.shop.mill.carving_setup import CarvePlan, Setup, default_carve, groove_reach, mirrored, pegs_of, setups_of
from bodygen.shop.mill.cutters import Cutter, Machine, default_machine, material_named, stepover
from bodygen.shop.mill.drop_cutter import Surface, followed, heights, surface_of
from bodygen.shop.mill.helix import bored, entry_of
from bodygen.shop.mill.job import Job, Machining, Move, Stock, approach, machining, ready, retract
from bodygen.shop.mill.raster import finished, roughed

if TYPE_CHECKING:
    from shapely import Geometry

Array = NDArray[np.float64]
STEEP = 0.70
"""Rows along x finish where the normal leans less than this to the side, rows across where it leans more [-]."""
OVERLAP = 0.05
CHORD_MM = 0.008
ROUGH_CHORD_MM = 0.06
RING_MM = 0.03
_LEFT_MM = 0.15
_PROBES = 500
PEG_BELOW_MM = 1.0
"""How far a peg ends below the board's top."""


def carve_job(
    name: str,
    mesh: Mesh,
    stock: Stock,
    roughing: Cutter,
    finishing: Cutter,
    scallop: float | None = None,
    *,
    half: bool,
    plan: CarvePlan | None = None,
    machine: Machine | None = None,
    twin: tuple[Mesh, Job] | None = None,
) -> tuple[Job, ...]:
    """Carve a part from a board: one program for each cutter and side, in the order in which they are run.

    Parameters
    ----------
    name : str
        Of the part; each program adds what it does.
    mesh : Mesh
        Closed, lying as it is milled, z up, its length along x [mm].
    stock : Stock
        The board; ``board_for`` gives the least.
    roughing, finishing : Cutter
        A flat one and a ball.
    scallop : float, optional
        Greatest height of the ridges left [mm]; left out: the plan's.
    half : bool
        Whether it stands on a flat side, which is then faced; otherwise it is carved from both sides alike, and must
        be widest midway.
    plan, machine : optional
        Left out: the usual ones of ``tables/cutters.toml``.
    twin : (Mesh, Job), optional
        Another half as it lies, for the same cutters, and its finishing program: where it is the mirror image of this
        one across the board, the path is mirrored instead of being worked out again.

    Returns
    -------
    tuple of Job
        Peg holes in the waste board, then through the board, which alone goes below it; the top roughed and finished;
        the back roughed and finished, or faced.

    Raises
    ------
    DesignError
        If the board is too small or thin, or a program breaks a rule of ``job.checked``.
    """
    if roughing.shape != "flat" or finishing.shape != "ball":
        msg = f"{name}: roughing takes a flat end mill and finishing a ball, not {roughing.name} and {finishing.name}"
        raise DesignError(msg)
    plan, machine = plan or default_carve(roughing), machine or default_machine()
    plan = replace(plan, scallop=plan.scallop if scallop is None else scallop)
    rough, rough_checks = machining(stock, roughing, machine)
    fine, fine_checks = machining(stock, finishing, machine)
    setups = setups_of(name, mesh, stock, roughing, finishing, plan, half=half)
    pegs = pegs_of(name, setups[0], stock, roughing, finishing, plan)
    common, jobs = _common(pegs, plan, stock), _peg_jobs(name, pegs, rough, plan)
    image = twin[1] if twin and twin[1].stock == stock and mirrored(twin[0], mesh) else None
    for number, setup in zip((3, 5), setups, strict=True):
        jobs.append(_said(_rough_job(f"{name}-{number}", name, setup, rough, finishing, plan), common, rough_checks))
        if not setup.facing:
            jobs.append(_said(_fine_job(f"{name}-{number + 1}", name, setup, fine, plan, image), common, fine_checks))
    return tuple(ready(job) for job in jobs)


def _rough_job(stem: str, part: str, setup: Setup, how: Machining, finishing: Cutter, plan: CarvePlan) -> Job:
    """The first program of a side: roughs it, or faces the flat side of a half."""
    return Job(
        f"{stem}-{setup.side}-{'face' if setup.facing else 'rough'}",
        how,
        tuple(_rough_moves(setup, how, finishing, plan)),
        f"{'faces the flat side' if setup.facing else f'roughs the {setup.side}'} of {part}",
        _USE[setup.side],
        (f"leaves {0.0 if setup.facing else plan.allowance:g} mm for finishing",),
        cautions=material_named(how.stock.material).cautions,
    )


def _fine_job(stem: str, part: str, setup: Setup, how: Machining, plan: CarvePlan, image: Job | None) -> Job:
    """The second program of a side: finishes it with a ball, by the path of its mirror image where it has one."""
    surface = surface_of(setup.held, how.cutter, setup.lowest)
    moves = _mirrored_moves(image) if image else _fine_moves(setup, surface, how, plan)
    left = _left_over(setup, surface)
    return Job(
        f"{stem}-{setup.side}-finish",
        how,
        moves,
        f"finishes the {setup.side} of {part}",
        "leave the board where it is, change the cutter, set Z0 on the board's top again where it is uncut",
        (f"ridges at most {plan.scallop:g} mm high on flat and bulging skin",),
        tuple(replace(f, where=f"{part} {setup.side}{f.where}") for f in left),
        cautions=material_named(how.stock.material).cautions,
        pictured=True,
    )


_USE = {
    "top": "leave the board as it was clamped for its peg holes, and keep X0 Y0 Z0",
    "back": "turn the board over onto its pegs, the thick one at the tail, pack the hollow under the part, clamp; saw "
    "the bridges through afterwards and pare their stumps",
}


def _where(pegs: tuple[Point, Point], plan: CarvePlan) -> str:
    (nose, y), (tail, _) = pegs
    return (
        f"pegs: {plan.pegs[0]:g} mm thick at X{nose:g} (nose), {plan.pegs[1]:g} mm at X{tail:g} (tail), both at Y{y:g}"
    )


def _common(pegs: tuple[Point, Point], plan: CarvePlan, stock: Stock) -> tuple[str, ...]:
    """What a maker reads at the head of every program but the first two."""
    turn = f"turn the board over about the X axis: the line Y{stock.width / 2:g} stays; it fits its pegs one way only"
    size = f"the board is {stock.thickness:g} mm thick when Z0 is set: what it is thicker, the part is thicker"
    return _where(pegs, plan), turn, size


def _said(job: Job, common: tuple[str, ...], checks: tuple[Finding, ...]) -> Job:
    """The job with what is said of every one, before its own."""
    return replace(job, notes=(*common, *job.notes), findings=(*checks, *job.findings))


def _peg_jobs(name: str, pegs: tuple[Point, Point], how: Machining, plan: CarvePlan) -> list[Job]:
    """Holes for the pegs: half a peg deep in the bare waste board, then right through the board that lies on it."""
    stock = how.stock
    waste = Stock(stock.length, stock.width, plan.waste_board, stock.material, 0.0, stock.clamps, stock.clamp_height)
    depth = min(plan.peg_length / 2, plan.waste_board - 2.0)
    long = min(plan.peg_length, depth + stock.thickness - PEG_BELOW_MM)
    where = _where(pegs, plan)

    def job(step: str, lies: Stock, deep: float, purpose: str, use: str, notes: tuple[str, ...]) -> Job:
        moves: list[Move] = []
        on = replace(how, stock=lies)
        for peg, thick in zip(pegs, plan.pegs, strict=True):
            approach(moves, (*entry_of(peg, thick, on.cutter), 0.0), on)
            moves += bored(peg, thick, deep, on, plan.ramp)
            retract(moves, on)
        cautions = material_named(stock.material).cautions
        return Job(f"{name}-{step}", on, tuple(moves), purpose, use, notes, (), cautions)

    return [
        job(
            "1-register",
            waste,
            depth,
            f"bores the peg holes of {name} into the bare waste board",
            "Z0 on the waste board's top, X0 Y0 where the board's corner will lie; keep X0 Y0 for all that follows; "
            f"pegs {plan.pegs[0]:g} and {plan.pegs[1]:g} mm thick, {long:g} mm long, go in before the board "
            "is turned over",
            (where,),
        ),
        job(
            "2-pegs",
            replace(stock, through=plan.peg_through),
            stock.thickness + plan.peg_through,
            f"bores the peg holes through the board of {name}",
            "tape or clamp the board on the waste board with its corner at X0 Y0, over the bored holes, without pegs, "
            "clamps on the two end strips; Z0 on the board's top",
            (where, f"goes {plan.peg_through:g} mm into the waste board"),
        ),
    ]


def _rows(area: "Geometry", spacing: float, axis: Literal[0, 1]) -> tuple[Array, Array, NDArray[np.int64]]:
    """Starts and ends (n, 2) of evenly spaced lines along an axis within an area, and which line each is of."""
    from shapely import LineString, get_coordinates, get_parts, intersection

    box = area.bounds
    low, high = (box[1], box[3]) if axis == 0 else (box[0], box[2])
    begin, end = (box[0] - 1, box[2] + 1) if axis == 0 else (box[1] - 1, box[3] + 1)
    count = max(1, int(np.ceil((high - low) / spacing)))
    starts, ends, numbers = [], [], []
    for number in range(count):
        at = low + (high - low) * (number + 0.5) / count
        line = LineString([(begin, at), (end, at)] if axis == 0 else [(at, begin), (at, end)])
        for piece in get_parts(intersection(line, area)):
            ends_of = get_coordinates(piece)
            if len(ends_of) == 2:
                ends_of = ends_of[np.argsort(ends_of[:, axis])]
                starts.append(ends_of[0])
                ends.append(ends_of[1])
                numbers.append(number)
    return np.array(starts).reshape(-1, 2), np.array(ends).reshape(-1, 2), np.array(numbers, dtype=np.int64)


def _rings(area: "Geometry") -> list[Array]:
    """Outlines of an area, outer and inner, each (k, 2) with its first point again at its end."""
    from shapely import get_coordinates, get_parts

    return [get_coordinates(line) for line in get_parts(area.boundary.simplify(RING_MM)) if line.length > 0]


def _rough_moves(setup: Setup, how: Machining, finishing: Cutter, plan: CarvePlan) -> list[Move]:
    area = setup.shadow.buffer(groove_reach(how.cutter, finishing, plan))
    allowance = 0.0 if setup.facing else plan.allowance
    surface = surface_of(setup.held, how.cutter, setup.lowest - allowance)
    starts, ends, numbers = _rows(area, how.feeds.step, 0)
    rows = followed(surface, starts, ends, 1.5, ROUGH_CHORD_MM)
    for ring in _rings(area):  # last at each level, round the groove's outer wall, which the rows leave in steps
        rows.append(np.concatenate(followed(surface, ring[:-1], ring[1:], 3.0, ROUGH_CHORD_MM)))
        numbers = np.append(numbers, numbers.max() + 2)
    return roughed(surface, rows, numbers, how, allowance, plan.ramp)


def _mirrored_moves(image: Job) -> tuple[Move, ...]:
    """Straight moves mirrored across the board's middle line; the way home is added to each program anew."""
    width = image.stock.width
    ends = ((move, *move.end) for move in image.moves[:-1])
    return tuple(Move(move.kind, (x, width - y, z), move.feed) for move, x, y, z in ends)


def _fine_moves(setup: Setup, surface: Surface, how: Machining, plan: CarvePlan) -> tuple[Move, ...]:
    cutter = how.cutter
    area = setup.shadow.buffer(cutter.radius + plan.below)
    shrink = np.sqrt(1 - (STEEP + OVERLAP) ** 2)  # rows lie closer in plan than on a slope across them
    step = stepover(cutter.radius, plan.scallop) * float(shrink)

    def gentle(normals: Array) -> NDArray[np.bool_]:
        return np.abs(np.nan_to_num(normals[:, 1], nan=9.0)) <= STEEP + OVERLAP

    def steep(normals: Array) -> NDArray[np.bool_]:
        return np.abs(np.nan_to_num(normals[:, 1], nan=0.0)) >= STEEP - OVERLAP

    moves: list[Move] = []
    for axis, wanted in ((0, gentle), (1, steep)):
        starts, ends, numbers = _rows(area, step, axis)  # type: ignore[arg-type]  # the two axes
        rows = followed(surface, starts, ends, 2.0, CHORD_MM, wanted)
        moves += finished(surface, rows, numbers, how, wanted, step)
    return tuple(moves)


def _left_over(setup: Setup, surface: Surface) -> Iterator[Finding]:
    """Where the ball does not come down to the skin: at places spread over the part that look up."""
    cutter = surface.cutter
    corners = setup.part.vertices[setup.part.faces]
    normal = doubled_areas(corners)
    area = np.linalg.norm(normal, axis=1)
    corners, normal, area = corners[area > 0], normal[area > 0], area[area > 0]
    unit, middle = normal / area[:, None], corners.mean(axis=1)
    ball = middle + cutter.radius * unit
    seen = (unit[:, 2] > 0.05) & (ball[:, 2] - cutter.radius > setup.lowest)
    for x0, y0, x1, y1 in setup.bridges:
        r = 2 * cutter.radius
        x, y = ball[:, 0], ball[:, 1]
        seen &= ~((x0 - r < x) & (x < x1 + r) & (y0 - r < y) & (y < y1 + r))
    chosen = np.flatnonzero(seen)
    chosen = chosen[np.argsort(-area[chosen], kind="stable")][:: max(1, len(chosen) // _PROBES)]
    if not len(chosen):
        return
    tip = heights(surface, ball[chosen, :2])[:, 0]
    left = (tip + cutter.radius - ball[chosen, 2]) * unit[chosen, 2]
    worst = int(np.argmax(left))
    if left[worst] > _LEFT_MM:
        share = float((area[chosen] * (left > _LEFT_MM)).sum() / area[chosen].sum())
        x, y, z = middle[chosen[worst]]
        remedy = (
            f"a ball of {cutter.diameter:g} mm does not reach {max(share, 0.01):.0%} of the skin here (a slot, bore or "
            "hollow): a thinner ball, or cut it by hand afterwards"
        )
        where = f" at X{x:.1f} Y{y:.1f} Z{z:.1f}"
        yield Finding("carve-narrow", "warning", where, remedy, float(left[worst]), _LEFT_MM, "mm")
