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
CRUMB_MM2 = 0.002
"""So little of a hole outside the floor is rounding: over its depth, as much as ``thin.stays_in`` lets pass."""
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


class _Floor:
    """Where the flat back of a cradle has room for holes from below.

    A cradle is nowhere wider above than below: a hole with its wall lies in it if it does so at its upper end.
    """

    def __init__(self, solid: manifold3d.Manifold, stand: manifold3d.Manifold, wall: float) -> None:
        self._solid, self._stand, self._wall = solid, stand, wall
        self._at: dict[float, tuple[manifold3d.CrossSection, manifold3d.CrossSection]] = {}
        self._taken: list[tuple[float, manifold3d.CrossSection]] = []

    def has_room(self, places: list[tuple[float, float]], radius: float, up_to: float) -> bool:
        """Whether holes (x, y) of one radius, from below up to a height, leave a wall all round [mm]."""
        if up_to not in self._at:
            self._at[up_to] = self._solid.slice(up_to), self._stand.slice(up_to)
        left, whole = self._at[up_to]
        for low, disc in self._taken:
            left = left - disc if low < up_to else left
        discs = [_disc(x, y, radius + self._wall) ^ whole for x, y in places]
        return all((disc - left).area() < CRUMB_MM2 for disc in discs)

    def take(self, x: float, y: float, radius: float, low: float) -> None:
        """A hole is there now, from ``low`` on upwards [mm]."""
        self._taken.append((low, _disc(x, y, radius)))


def _disc(x: float, y: float, radius: float) -> manifold3d.CrossSection:
    return manifold3d.CrossSection.circle(radius, 48).translate((x, y))


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
    magnet_to = bottom + high + size.least_cover - size.least_wall
    floor, holes = _Floor(solid, stand, size.least_wall), list[manifold3d.Manifold]()

    pairs = _dowel_pairs((x0, x1, y0, y1), rail_at, size)
    rails = 0
    for places in pairs:
        found = next((pair for pair in places if floor.has_room(pair, dowel.hole_radius, deep)), None)
        if found is not None:
            rails += 1
            for x, y in found:
                holes.append(upright(x, y, bottom - 1.0, deep, dowel.hole_radius))
                floor.take(x, y, dowel.hole_radius, bottom)
    head = size.screw_head / 2
    inset, beside = size.flange - head - size.least_wall, head + size.least_wall
    screws = 0
    # a screw is tried where it would be, in an end, which has few facets
    ends = {
        x0: solid.trim_by_plane((-1.0, 0.0, 0.0), -(x0 + size.flange + CLEAR_MM)),
        x1: solid.trim_by_plane((1.0, 0.0, 0.0), x1 - size.flange - CLEAR_MM),
    }
    for x, end in ((x0 + inset, ends[x0]), (x1 - inset, ends[x1])):
        for y in (y0 + beside, y1 - beside):
            sunk_to = max(bottom + FOOT_MM, float(np.interp(x, rim[:, 0], rim[:, 1])) - HEAD_DEEP_MM)
            drilled = cut_with(end, holes)
            sunk = ((bottom, sunk_to, size.screw / 2), (sunk_to, top, head))
            if all(stays_in(upright(x, y, low, up_to, r + size.least_wall) ^ stand, drilled) for low, up_to, r in sunk):
                screws += 1
                holes += [
                    upright(x, y, bottom - 1.0, top + 5.0, size.screw / 2),
                    upright(x, y, sunk_to, top + 50.0, head),
                ]
                floor.take(x, y, size.screw / 2, bottom)
                floor.take(x, y, head, sunk_to)
    magnets = 0
    for x in (x0 + inset, x1 - inset):
        if floor.has_room([(x, (y0 + y1) / 2)], across / 2, magnet_to):
            magnets += 1
            holes.append(upright(x, (y0 + y1) / 2, bottom - 1.0, bottom + high, across / 2))
            floor.take(x, (y0 + y1) / 2, across / 2, bottom)
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
