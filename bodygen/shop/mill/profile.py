"""Router paths round flat parts: lip, gauges, templates; outlines and holes cut through a sheet.

Knows loops and a cutter. Works the cutter's offset out exactly (plane/kerf.py), enters along the path, leaves tabs,
cuts holes before the outline round them. Spindle clockwise (M3): "climb" keeps the part on the right of travel.
"""

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import accumulate
from math import ceil, floor, hypot, tan
from typing import Literal

from bodygen.errors import DesignError
from bodygen.findings import Finding
from bodygen.plane.kerf import Side, compensated, tight_corners
from bodygen.plane.shapes import Circle, Drawing, Line, Loop, Placement, Point, Shape, box_of, placed
from bodygen.shop.mill.cutters import Cutter, Feeds, Machine, default_machine, material_named
from bodygen.shop.mill.helix import as_loop, upper_envelope, walked
from bodygen.shop.mill.job import Job, Machining, Move, Stock, approach, machining, ready, retract
from bodygen.tables import as_row, load

Way = Literal["climb", "conventional"]
_SAG_MM = 0.005
PHASES = 24
"""Places that are tried for the first tab."""
_TABS_SHARE = 0.4
"""Of an outline's path, at most, on tabs and their slopes: the rest is cut through."""
_TURN_BITE = 0.25
"""Share of the bite that a turn goes down at least: in a hole hardly wider than the cutter a ramp takes too many."""
_SHOWN_MM = 0.05  # what stays uncut in a corner is no matter below this


@dataclass(frozen=True, slots=True)
class ProfilePlan:
    """How a sheet is cut: ``ramp`` and ``tab_slope`` [rad], tabs [mm], one for each ``tab_pitch`` of outline [mm].

    What falls out of a hole wider than ``slug`` is held by tabs, too [mm].
    """

    way: Way
    ramp: float
    tab_width: float
    tab_height: float
    tab_slope: float
    tab_pitch: float
    fewest_tabs: int
    slug: float


@dataclass(frozen=True, slots=True)
class _Cut:
    """A shape in its place on the stock, and the loop that the cutter's middle follows."""

    shape: Loop
    side: Side
    depth: int
    path: Loop
    tabs: tuple[float, ...] = ()


def default_profile(way: Way = "climb") -> ProfilePlan:
    """The plan of ``tables/cutters.toml``: common practice, no published source."""
    row = load("cutters")["profile"]
    return as_row(ProfilePlan, row, way=way, slug=row["slug_tab_mm"])


def profile_job(
    name: str,
    shapes: Drawing | Sequence[Shape],
    stock: Stock,
    cutter: Cutter,
    *,
    plan: ProfilePlan | None = None,
    feeds: Feeds | None = None,
    machine: Machine | None = None,
    centred: bool = True,
    tab_places: Sequence[Point] = (),
) -> Job:
    """Cut flat parts out of a sheet.

    Parameters
    ----------
    name : str
        Of the program.
    shapes : Drawing or sequence of Loop and Circle
        At their true size, without any allowance for the cut; of a drawing, its cut layers. A shape inside another is a
        hole, one inside a hole a part again.
    stock : Stock
        The sheet.
    cutter : Cutter
        A flat one.
    plan, feeds, machine : optional
        Left out: the usual ones of ``tables/cutters.toml``.
    centred : bool
        Put the shapes in the middle of the stock; otherwise they lie where they are drawn, from its lower left corner.
    tab_places : sequence of Point
        On the shapes' edges where they lie on the stock: the tabs stand there [mm]. Left out: evenly spread.

    Returns
    -------
    Job
        A hole narrower than the cutter is left out, with a warning; so is named what stays uncut in corners.

    Raises
    ------
    DesignError
        If the cutter cannot be led round a shape, cuts into another one, or ``job.checked`` finds a fault.
    """
    if cutter.shape != "flat":
        msg = f"{name}: a {cutter.name} leaves a sheet's edge hollow: profiles are cut with a flat end mill"
        raise DesignError(msg)
    plan, machine = plan or default_profile(), machine or default_machine()
    how, checks = machining(stock, cutter, machine)
    how, findings = how if feeds is None else replace(how, feeds=feeds), list(checks)
    loops = _on_stock(_shapes(shapes), stock, centred=centred)
    plan = replace(plan, tab_height=min(plan.tab_height, stock.thickness / 2))
    cuts = [cut for cut in _cuts(name, loops, cutter, plan, stock, findings) if cut]
    if tab_places:
        cuts = [replace(cut, tabs=_told(cut.path, cutter, tab_places)) for cut in cuts]
    if not cuts:
        msg = f"{name}: nothing is left that a cutter of {cutter.diameter:g} mm can cut"
        raise DesignError(msg)
    _keep_apart(name, cuts, loops, cutter)
    return _job(name, cuts, how, plan, findings)


def _job(name: str, cuts: Sequence[_Cut], how: Machining, plan: ProfilePlan, findings: Sequence[Finding]) -> Job:
    """The program of these cuts, with what a maker reads of it."""
    material = material_named(how.stock.material)
    tabs, parts = sum(len(cut.tabs) for cut in cuts), sum(cut.side == "outside" for cut in cuts)
    return ready(
        Job(
            name,
            how,
            _moves(cuts, how, plan),
            f"cuts {parts} part{'s' * (parts > 1)} from a sheet of {material.name}",
            "hold the sheet flat on a waste board, clamps outside the cut; set Z0 on the sheet's top; saw the tabs "
            "through afterwards and file them flush",
            (
                f"offset {how.cutter.radius:g} mm once, outward round parts, inward in holes",
                f"{plan.way} cut, spindle clockwise",
                f"{tabs} tabs {plan.tab_width:g} mm wide, {plan.tab_height:g} mm high",
                f"goes {how.stock.through:g} mm into the waste board",
            ),
            _alike_once(findings),
            material.cautions,
        )
    )


def _moves(cuts: Sequence[_Cut], how: Machining, plan: ProfilePlan) -> tuple[Move, ...]:
    """Every cut in its turn, entered and left from above the clamps."""
    moves: list[Move] = []
    for cut in _in_order(cuts):
        profile = _descent(cut, how, plan)
        x, y = cut.path.pieces[0].start
        approach(moves, (x, y, 0.0), how)
        moves += walked(cut.path, profile, how.feeds.feed)
        retract(moves, how)
    return tuple(moves)


def _shapes(shapes: Drawing | Sequence[Shape]) -> list[Loop]:
    found: Sequence[object] = shapes  # type: ignore[assignment]  # the drawing's case follows
    if isinstance(shapes, Drawing):
        found = [item for layer in shapes.layers if layer.role == "cut" for item in layer.items]
    return [as_loop(item) for item in found if isinstance(item, Loop | Circle)]


def _on_stock(loops: Sequence[Loop], stock: Stock, *, centred: bool) -> list[Loop]:
    if not loops or not centred:
        return list(loops)
    x0, y0, x1, y1 = box_of(p for loop in loops for p in (loop.box[:2], loop.box[2:]))
    shift = Placement(((stock.length - x0 - x1) / 2, (stock.width - y0 - y1) / 2))
    return [placed(loop, shift) for loop in loops]


def _cuts(
    name: str, loops: Sequence[Loop], cutter: Cutter, plan: ProfilePlan, stock: Stock, findings: list[Finding]
) -> Iterator[_Cut | None]:
    from shapely import Polygon, STRtree

    areas = [Polygon(loop.points(_SAG_MM)) for loop in loops]
    tree = STRtree(areas)
    for i, loop in enumerate(loops):
        around = tree.query(areas[i].representative_point(), "within")
        depth = sum(areas[j].area > areas[i].area for j in around)
        side: Side = "inside" if depth % 2 else "outside"
        x0, y0, x1, y1 = loop.box
        where = f"{name} at X{(x0 + x1) / 2:.1f} Y{(y0 + y1) / 2:.1f}"
        least = min(x1 - x0, y1 - y0)
        if side == "inside" and least <= cutter.diameter + _SHOWN_MM:
            remedy = f"a {cutter.diameter:g} mm cutter does not turn in this hole: drill it, or take a thinner cutter"
            findings.append(Finding("profile-hole", "warning", where, remedy, least, cutter.diameter, "mm"))
            yield None
            continue
        for corner in tight_corners(loop, cutter.diameter, side):
            if corner.left_over > _SHOWN_MM:
                place = f"{name} at X{corner.at[0]:.1f} Y{corner.at[1]:.1f}"
                remedy = (
                    f"{corner.left_over:.2f} mm stay uncut in this corner: a thinner cutter, or finish it with a file"
                )
                findings.append(Finding("profile-corner", "warning", place, remedy, corner.radius, cutter.radius, "mm"))
        path = compensated(loop, cutter.diameter, side)
        clockwise = (side == "outside") == (plan.way == "climb")
        path = _from_longest(path if path.ccw != clockwise else path.reversed())
        tabbed = side == "outside" or least > plan.slug
        tabs = _tabs(path, plan, cutter, stock, where, findings) if tabbed else ()
        yield _Cut(loop, side, depth, path, tabs)


def _alike_once(findings: Sequence[Finding]) -> tuple[Finding, ...]:
    """Doubts that say the same of several places as one, which stands where the first was found and counts them."""
    groups: dict[tuple[str, str], list[Finding]] = {}
    for finding in findings:
        groups.setdefault((finding.code, finding.remedy), []).append(finding)
    return tuple(
        same[0] if len(same) == 1 else replace(same[0], remedy=f"{same[0].remedy} (and at {len(same) - 1} more places)")
        for same in groups.values()
    )


def _from_longest(loop: Loop) -> Loop:
    """The same loop begun at its longest piece."""
    first = max(range(len(loop.pieces)), key=lambda i: loop.pieces[i].length)
    return Loop((*loop.pieces[first:], *loop.pieces[:first]))


def _tabs(
    path: Loop, plan: ProfilePlan, cutter: Cutter, stock: Stock, where: str, findings: list[Finding]
) -> tuple[float, ...]:
    """Middles of the tabs along the path, evenly spread, as many as can be on straight pieces [mm]."""
    wanted = max(plan.fewest_tabs, round(path.length / plan.tab_pitch))
    half, slope = _tab_run(plan, cutter, stock)
    needed = 2 * (half + slope)
    count = min(wanted, floor(_TABS_SHARE * path.length / needed))
    if count < min(2, wanted):
        remedy = "too short an outline for two tabs: stick the sheet down, and do not let the part fly"
        findings.append(Finding("profile-tabs", "warning", where, remedy, path.length, 2 * needed / _TABS_SHARE, "mm"))
    pitch = path.length / max(count, 1)
    ends = list(accumulate(piece.length for piece in path.pieces))

    def piece_at(s: float) -> int:
        return min(bisect_right(ends, s % ends[-1]), len(ends) - 1)

    def straight(s: float) -> bool:
        here = piece_at(s - half)
        return here == piece_at(s + half) and isinstance(path.pieces[here], Line)

    shifts = [path.pieces[0].length / 2 + pitch * i / PHASES for i in range(PHASES)]
    first = max(shifts, key=lambda shift: sum(straight(shift + i * pitch) for i in range(count)))
    return tuple((first + i * pitch) % path.length for i in range(count))


def _told(path: Loop, cutter: Cutter, places: Sequence[Point]) -> tuple[float, ...]:
    """Where along the path the places lie that are on its own shape's edge, half a cutter away [mm]."""
    from shapely import LinearRing, points

    ring = LinearRing(path.points(_SAG_MM))
    near = [place for place in points(places) if abs(ring.distance(place) - cutter.radius) < _SHOWN_MM]
    return tuple(ring.project(place) * path.length / ring.length for place in near)


def _keep_apart(name: str, cuts: Sequence[_Cut], loops: Sequence[Loop], cutter: Cutter) -> None:
    """Refuse a path that runs into a shape other than its own."""
    from shapely import LinearRing, STRtree

    rings = [LinearRing(loop.points(_SAG_MM)) for loop in loops]
    near = STRtree(rings)
    for cut in cuts:
        path = LinearRing(cut.path.points(_SAG_MM))
        for i in sorted(near.query(path, "dwithin", cutter.radius).tolist()):
            loop, gap = loops[i], path.distance(rings[i])
            if loop is not cut.shape and gap < cutter.radius - 2 * _SAG_MM:
                x, y = loop.box[:2]
                msg = (
                    f"{name}: a {cutter.diameter:g} mm cutter goes {cutter.radius - gap:.2f} mm into the neighbour at "
                    f"X{x:.1f} Y{y:.1f}: lay the parts farther apart, or take a thinner cutter"
                )
                raise DesignError(msg)


def _in_order(cuts: Sequence[_Cut]) -> Iterator[_Cut]:
    """Inner shapes first; among equals the nearest to the last one."""
    at: Point = (0.0, 0.0)
    left = list(cuts)
    while left:
        deepest = max(cut.depth for cut in left)
        starts = [(cut, cut.path.pieces[0].start) for cut in left if cut.depth == deepest]
        chosen, at = min(starts, key=lambda pair: hypot(pair[1][0] - at[0], pair[1][1] - at[1]))
        left.remove(chosen)
        yield chosen


def _tab_run(plan: ProfilePlan, cutter: Cutter, stock: Stock) -> tuple[float, float]:
    """Half the level top of a tab as the cutter's middle goes over it, and the slope to the floor on each side [mm]."""
    return (plan.tab_width + cutter.diameter) / 2, (plan.tab_height + stock.through) / tan(plan.tab_slope)


def _descent(cut: _Cut, how: Machining, plan: ProfilePlan) -> list[tuple[float, float]]:
    """Z over the length travelled: for each pass a ramp, then once round; over a tab never lower than it is high."""
    stock, turn = how.stock, cut.path.length
    floor_z = -stock.thickness - stock.through
    passes = ceil(-floor_z / how.feeds.bite - 1e-9)
    ramp = max(tan(plan.ramp), _TURN_BITE * how.feeds.bite / turn)
    base = [(0.0, 0.0)]
    for number in range(1, passes + 1):
        s, z = base[-1]
        z_next = floor_z * number / passes
        base += [(s + (z - z_next) / ramp, z_next), (s + (z - z_next) / ramp + turn, z_next)]
    top = -stock.thickness + plan.tab_height
    flat, slope = _tab_run(plan, how.cutter, stock)
    over = [(-flat - slope, floor_z), (-flat, top), (flat, top), (flat + slope, floor_z)]
    bumps = []
    for lap in range(-1, ceil(base[-1][0] / turn) + 1):
        bumps += [[(lap * turn + middle + s, z) for s, z in over] for middle in cut.tabs]
    return upper_envelope(base, bumps)
