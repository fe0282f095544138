"""How a part lies in the board it is carved from: its place, bridges and pegs, and how the board is turned over.

Machine axes as in job.py. The board is turned about the X axis, its middle line staying where it is, on two pegs
that stand on that line; one is thicker, so that the board does not fit end for end. Knows no path and no feed.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import manifold3d
import numpy as np

from bodygen.errors import DesignError
from bodygen.mesh.cut import to_manifold, to_mesh
from bodygen.mesh.skin import Mesh
from bodygen.plane.shapes import Point
from bodygen.shop.mill.cutters import Cutter, default_machine
from bodygen.shop.mill.job import Stock
from bodygen.tables import as_row, load

if TYPE_CHECKING:
    from shapely import Geometry

FACET_MM = 0.002
"""How far the part's skin may be straightened before a cutter is let down on it."""
_SPARE_MM = 0.2
CRUMB_MM3 = 1e-3
"""Parts that differ by less are alike."""


@dataclass(frozen=True, slots=True)
class CarvePlan:
    """How a part is carved and held; lengths [mm], ``ramp`` [rad].

    ``scallop``: height of the ridges that finishing leaves; ``allowance``: what roughing leaves for it. ``skin``: of
    stock under the deepest groove; ``face``: least stock over the part; ``below``: how much deeper a groove is roughed
    than the ball goes. Bridges hold nose and tail, ``root`` long inside the part. ``pegs``: diameters of the dowels at
    nose and tail that register the board when it is turned over, unlike so that it fits one way only, ``wall`` of wood
    round them, ``peg_through``: how far their holes go below the board; ``waste_board``: thickness of what lies under;
    ``clamp``: width of the strip at each end for clamps.
    """

    scallop: float
    allowance: float
    ramp: float
    skin: float
    face: float
    below: float
    bridge_width: float
    bridge_height: float
    root: float
    pegs: tuple[float, float]
    wall: float
    peg_through: float
    peg_length: float
    waste_board: float
    clamp: float


@dataclass(frozen=True, slots=True, eq=False)
class Setup:
    """One side up: the part with its bridges in machine axes, its shadow, how deep the ball and the rougher may go."""

    side: Literal["top", "back"]
    part: Mesh
    held: Mesh
    bridges: tuple[tuple[float, float, float, float], ...]
    shadow: "Geometry"
    lowest: float
    facing: bool


def default_carve(roughing: Cutter | None = None) -> CarvePlan:
    """The plan of ``tables/cutters.toml``, its pegs wider than the roughing cutter: common practice, no source."""
    row = load("cutters")["carve"]
    thin, thick, *_ = [peg for peg in row["pegs_mm"] if roughing is None or peg > roughing.diameter]
    return as_row(CarvePlan, row, root=row["bridge_root_mm"], pegs=(thin, thick), wall=row["peg_wall_mm"])


def lying(mesh: Mesh, up: Literal["right", "left"] = "right") -> Mesh:
    """A body or half on its side, one flank up, nose to -x: turned about x, so never mirrored."""
    way = 1.0 if up == "right" else -1.0
    x, y, z = mesh.vertices.T
    return Mesh(np.stack([x, -way * z, way * y], axis=1), mesh.faces)


def mirrored(one: Mesh, other: Mesh) -> bool:
    """Whether two lying parts are each other's mirror image across y: as large, and nothing of the one outside.

    Examples
    --------
    >>> wedge = to_mesh(manifold3d.Manifold.tetrahedron())
    >>> mirrored(wedge, wedge), mirrored(wedge, Mesh(wedge.vertices * (1, -1, 1), wedge.faces[:, ::-1]))
    (False, True)
    """
    image = to_manifold(Mesh(one.vertices * (1.0, -1.0, 1.0), one.faces[:, ::-1]))
    own = to_manifold(other)
    return bool(abs(image.volume() - own.volume()) < CRUMB_MM3 and (image - own).volume() < CRUMB_MM3)


def board_for(
    mesh: Mesh,
    roughing: Cutter,
    finishing: Cutter,
    *,
    half: bool,
    plan: CarvePlan | None = None,
    material: str = "wood",
) -> Stock:
    """The least board for a part, or a ``half`` flat side down, on whole millimetres, a clamp strip at each end."""
    plan = plan or default_carve(roughing)
    length, width, height = np.ptp(mesh.vertices, axis=0)
    groove = groove_reach(roughing, finishing, plan) + roughing.radius
    ends = groove + 2 * plan.wall + max(plan.pegs) + plan.clamp
    long, wide = float(np.ceil(length + 2 * ends)), float(np.ceil(width + 2 * (groove + plan.wall)))
    below = finishing.radius + plan.below + plan.skin
    thick = height + plan.face + below if half else max(height + 2 * plan.face, 2 * below)
    clamps = ((0.0, 0.0, plan.clamp, wide), (long - plan.clamp, 0.0, long, wide))
    return Stock(
        long, wide, float(np.ceil(thick)), material, clamps=clamps, clamp_height=default_machine().clamp_height
    )


def groove_reach(roughing: Cutter, finishing: Cutter, plan: CarvePlan) -> float:
    """How far outside the part's shadow the rougher's middle goes: the ball fits into the groove with room to spare."""
    return max(roughing.radius, 2 * finishing.radius - roughing.radius) + plan.allowance + _SPARE_MM


def setups_of(
    name: str, mesh: Mesh, stock: Stock, roughing: Cutter, finishing: Cutter, plan: CarvePlan, *, half: bool
) -> tuple[Setup, Setup]:
    """Place the part in the board, add its bridges, and turn it over; a half has a flat back that is faced."""
    low, high = mesh.vertices.min(axis=0), mesh.vertices.max(axis=0)
    height, below = float(high[2] - low[2]), finishing.radius + plan.below + plan.skin
    least = height + plan.face + below if half else max(height + 2 * plan.face, 2 * below)
    if stock.thickness < least - 1e-9:
        msg = (
            f"{name}: a board {stock.thickness:g} mm thick is too thin: the part is {height:.2f} mm thick, and the "
            f"ball needs its groove; {least:.2f} mm at least"
        )
        raise DesignError(msg)
    under = -stock.thickness + below if half else -(stock.thickness + height) / 2
    parting = under if half else -stock.thickness / 2
    shift = np.array([stock.length / 2, stock.width / 2, under + height / 2]) - (low + high) / 2
    part = Mesh(mesh.vertices + shift, mesh.faces)
    solid = to_manifold(part).simplify(FACET_MM)
    groove = groove_reach(roughing, finishing, plan) + roughing.radius
    boxes = tuple(_bridges(part, groove + 1.0, plan))
    base = (parting, parting + plan.bridge_height) if half else (
        parting - plan.bridge_height / 2, parting + plan.bridge_height / 2)  # fmt: skip
    bridges = [
        manifold3d.Manifold.cube((x1 - x0, y1 - y0, base[1] - base[0])).translate((x0, y0, base[0]))
        for x0, y0, x1, y1 in boxes
    ]
    held = to_mesh(manifold3d.Manifold.batch_boolean([solid, *bridges], manifold3d.OpType.Add))
    shadow = _shadow(solid)
    _, y0, _, y1 = shadow.bounds
    if y0 - groove < plan.wall - 1e-6 or y1 + groove > stock.width - plan.wall + 1e-6:
        msg = (
            f"{name}: a board {stock.width:g} mm wide leaves no {plan.wall:g} mm of frame beside the groove: "
            f"{y1 - y0 + 2 * (groove + plan.wall):.1f} mm at least"
        )
        raise DesignError(msg)
    deepest = parting - finishing.radius - plan.below
    top = Setup("top", part, held, boxes, shadow, deepest, facing=False)
    return top, _turned_over(top, stock, -stock.thickness - under if half else deepest, facing=half)


def _bridges(part: Mesh, out: float, plan: CarvePlan) -> Iterator[tuple[float, float, float, float]]:
    """Plan of the two bridges (x least, y least, x greatest, y greatest), where nose and tail are."""
    x = part.vertices[:, 0]
    for end, way in ((x.min(), -1.0), (x.max(), 1.0)):
        y = float(part.vertices[np.abs(x - end) < 0.5, 1].mean())
        stretch = sorted((float(end - way * plan.root), float(end + way * out)))
        yield stretch[0], y - plan.bridge_width / 2, stretch[1], y + plan.bridge_width / 2


def _shadow(solid: manifold3d.Manifold) -> "Geometry":
    from shapely import Polygon, union_all

    return union_all([Polygon(ring).buffer(0) for ring in solid.project().to_polygons() if len(ring) > 2])


def _turned_over(setup: Setup, stock: Stock, lowest: float, *, facing: bool) -> Setup:
    from shapely.affinity import affine_transform

    def turned(mesh: Mesh) -> Mesh:
        return Mesh(mesh.vertices * (1.0, -1.0, -1.0) + (0.0, stock.width, -stock.thickness), mesh.faces)

    shadow = affine_transform(setup.shadow, [1, 0, 0, -1, 0, stock.width])
    boxes = tuple((x0, stock.width - y1, x1, stock.width - y0) for x0, y0, x1, y1 in setup.bridges)
    return Setup("back", turned(setup.part), turned(setup.held), boxes, shadow, lowest, facing)


def pegs_of(
    name: str, top: Setup, stock: Stock, roughing: Cutter, finishing: Cutter, plan: CarvePlan
) -> tuple[Point, Point]:
    """Middles of the pegs at nose and tail, on the line about which the board is turned, beyond the groove."""
    groove = groove_reach(roughing, finishing, plan) + roughing.radius
    away = groove + plan.wall + max(plan.pegs) / 2
    x0, _, x1, _ = top.shadow.bounds
    first, last = x0 - away, x1 + away
    free = min(first, stock.length - last) - max(plan.pegs) / 2 - plan.wall
    ends = [c[2] for c in stock.clamps if c[2] < x0] + [stock.length - c[0] for c in stock.clamps if c[0] > x1]
    free -= max(ends, default=0.0)
    if free < -1e-6:
        msg = (
            f"{name}: a board {stock.length:g} mm long leaves no room for its pegs between groove and clamps: "
            f"{stock.length - 2 * free:.1f} mm at least"
        )
        raise DesignError(msg)
    return (round(first, 3), stock.width / 2), (round(last, 3), stock.width / 2)
