"""What a cradle is made to, and what fastens it: screws at its ends, magnets and dowels in its flat back, its rail.

The rail hangs the cradle on a vise. Each is made only where a wall is left all round it. Knows boxes and holes.
Knows no body.
"""

from dataclasses import dataclass
from typing import Literal

import manifold3d
import numpy as np

from bodygen.form.integrals import Array
from bodygen.mesh.cut import cut_with
from bodygen.recipe.model import Fit
from bodygen.shop.engrave import sunk, words
from bodygen.shop.jigs.halves import Dowel
from bodygen.shop.thin import stays_in, upright
from bodygen.tables import as_row, load

HEAD_DEEP_MM, FOOT_MM = 4.0, 3.0
"""A screw's head is sunk so far below the rim, but leaves so much under it."""
SEEK_MM = 30.0
"""How far from its place the rail may go to find room."""
CLEAR_MM = 0.1
"""What is looked at reaches so far beyond the holes that are tried in it."""


@dataclass(frozen=True, slots=True)
class CradleSize:
    """What a cradle is made to; lengths mm, the meanings as in ``tables/jigs.toml``; ``gap`` is the fit's."""

    gap: float
    wall: float
    least_wall: float
    floor: float
    flange: float
    rim_drop: float
    jaw_drop: float
    window: float
    slot_window: float
    screw: float
    screw_head: float
    magnet: tuple[float, float]
    least_cover: float
    rail: tuple[float, float]
    rail_pitch: float
    letter: float
    least_letter: float
    engraved: float


def default_cradle(fit: Fit = "slide") -> CradleSize:
    """The cradle of ``tables/jigs.toml`` with one of its fits: common practice, no published source."""
    cradle, fits, walls, label = (load("jigs")[name] for name in ("cradle", "fit", "print", "label"))
    return as_row(CradleSize, cradle, walls, label, gap=fits[f"{fit}_mm"])


@dataclass(frozen=True, slots=True, eq=False)
class Fastened:
    """A cradle with its holes, and how many screws, magnets and pairs of dowels for a rail found room."""

    solid: manifold3d.Manifold
    screws: int
    magnets: int
    rails: int

    def words(self) -> str:
        """What holds it, as an instruction."""
        ways = []
        if self.screws:
            ways.append("screws at the ends")
        if self.magnets:
            ways.append("magnets in the back")
        if self.rails:
            ways.append("a rail on the back")
        return " or ".join([", ".join(ways[:-1]), ways[-1]] if len(ways) > 1 else ways) or "clamps beside the body"


def fastened(
    solid: manifold3d.Manifold,
    stand: manifold3d.Manifold,
    rim: Array,
    rail_at: tuple[float, Literal["low", "high"]],
    size: CradleSize,
    dowel: Dowel,
) -> Fastened:
    """Make the holes of a cradle.

    Parameters
    ----------
    solid, stand : Manifold
        The cradle, and the same before its cavity and windows [mm].
    rim : (k, 2) array
        Its upper edge, x and z [mm].
    rail_at : (float, "low" or "high")
        Where along x a rail is wanted [mm], and beside which edge of the back.
    size : CradleSize
        Sizes of the holes.
    dowel : Dowel
        The rail's.
    """
    x0, y0, bottom, x1, y1, top = stand.bounding_box()
    across, high = size.magnet
    deep = bottom + min(dowel.depth, size.floor - size.least_cover) + dowel.clearance
    floor_to = max(deep + size.least_wall, bottom + high + size.least_cover) + CLEAR_MM
    # holes are tried where they would be, in what has few facets; the whole is cut once, in the end
    floor = solid.trim_by_plane((0.0, 0.0, -1.0), -floor_to)
    ends = {
        x0: solid.trim_by_plane((-1.0, 0.0, 0.0), -(x0 + size.flange + CLEAR_MM)),
        x1: solid.trim_by_plane((1.0, 0.0, 0.0), x1 - size.flange - CLEAR_MM),
    }
    holes: list[manifold3d.Manifold] = []

    def fits(tools: list[tuple[float, float, float, float, float]], near: manifold3d.Manifold) -> bool:
        grown = (upright(x, y, low, high, r + size.least_wall) ^ stand for x, y, low, high, r in tools)
        drilled = cut_with(near, holes)
        return all(stays_in(tool, drilled) for tool in grown)

    pairs = _dowel_pairs((x0, x1, y0, y1), rail_at, size)
    rails = 0
    for places in pairs:
        tries = [[(x, y, bottom, deep, dowel.hole_radius) for x, y in pair] for pair in places]
        found = next((tried for tried in tries if fits(tried, floor)), None)
        if found is not None:
            rails += 1
            holes += [upright(x, y, low - 1.0, up_to, r) for x, y, low, up_to, r in found]
    head = size.screw_head / 2
    inset, beside = size.flange - head - size.least_wall, head + size.least_wall
    screws = 0
    for x, end in ((x0 + inset, ends[x0]), (x1 - inset, ends[x1])):
        for y in (y0 + beside, y1 - beside):
            sunk_to = max(bottom + FOOT_MM, float(np.interp(x, rim[:, 0], rim[:, 1])) - HEAD_DEEP_MM)
            if fits([(x, y, bottom, sunk_to, size.screw / 2), (x, y, sunk_to, top, head)], end):
                screws += 1
                holes += [
                    upright(x, y, bottom - 1.0, top + 5.0, size.screw / 2),
                    upright(x, y, sunk_to, top + 50.0, head),
                ]
    magnets = 0
    for x in (x0 + inset, x1 - inset):
        if fits([(x, (y0 + y1) / 2, bottom, bottom + high + size.least_cover - size.least_wall, across / 2)], floor):
            magnets += 1
            holes.append(upright(x, (y0 + y1) / 2, bottom - 1.0, bottom + high, across / 2))
    return Fastened(cut_with(solid, holes), screws, magnets, rails)


def _dowel_pairs(
    box: tuple[float, float, float, float], rail_at: tuple[float, Literal["low", "high"]], size: CradleSize
) -> list[list[list[tuple[float, float]]]]:
    """Places (x, y) to try for the two dowels of a rail along a long edge, and of one across the nose end."""
    x0, x1, y0, y1 = box
    edge, half = size.rail[0] / 4, size.rail_pitch / 2
    wanted, side = rail_at
    y = y0 + edge if side == "low" else y1 - edge
    shifts = sorted(np.arange(-SEEK_MM, SEEK_MM + 0.5, 1.0).tolist(), key=abs)
    middles = [wanted + s for s in shifts if x0 + half + edge < wanted + s < x1 - half - edge]
    along = [[(x - half, y), (x + half, y)] for x in middles]
    across = [[(x0 + edge, (y0 + y1) / 2 - half), (x0 + edge, (y0 + y1) / 2 + half)]]
    return [along, across]


def rail(size: CradleSize, dowel: Dowel) -> manifold3d.Manifold:
    """A strip with two dowel holes, a quarter of its width from one edge; the lettered face goes to the back."""
    wide, thick = size.rail
    length = size.rail_pitch + 2 * wide
    strip = manifold3d.Manifold.cube((length, wide, thick))
    holes = [
        upright(
            length / 2 + way * size.rail_pitch / 2,
            wide / 4,
            thick - dowel.depth - dowel.clearance,
            thick + 1.0,
            dowel.hole_radius,
        )
        for way in (-1, 1)
    ]
    x, y, _ = np.eye(3)
    label = sunk(
        words(["RAIL TO BACK"], size.least_letter), np.array([length / 2, 0.7 * wide, thick]), x, y, size.engraved
    )
    return cut_with(strip, [*holes, label])
