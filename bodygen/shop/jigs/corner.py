"""The corner that a squared blank is pushed into: its axes, its walls and how thick each must be.

Frame of a corner: x as the body's, p out through its wall (belly or back), q from its fence into the blank, all from
the blank's own faces. Knows sizes. The solid is made in drill_block.py.
"""

from dataclasses import dataclass
from typing import Literal

import manifold3d
import numpy as np

from bodygen.findings import Finding
from bodygen.form.blank import Blank
from bodygen.form.cuts import Prism
from bodygen.form.integrals import Array
from bodygen.shop.jigs.drill_guide import DrillEntry, Face, GuideSize, default_guide, leaves
from bodygen.tables import as_row, load

Wall = Literal["belly", "back"]
FAR_MM = 500.0
CORNER_MM = 8.0
"""A saw cut nearer than this to the blank's nose end is led by the wall and by the stop."""
SERVES: dict[Wall, tuple[Face, ...]] = {"belly": ("belly", "left", "nose", "tail"), "back": ("back", "right")}


@dataclass(frozen=True, slots=True)
class BlockSize:
    """What a block is made to; lengths mm, the meanings as in ``tables/jigs.toml``."""

    wall: float
    guide: GuideSize
    saw_guide: float
    nick: float
    least_nick: float
    table_gap: float
    tail_gap: float
    corner_relief: float
    ear: float
    ear_width: float
    ear_hole: float
    chuck: float
    least_wall: float
    letter: float
    least_letter: float
    engraved: float


def default_block() -> BlockSize:
    """The block of ``tables/jigs.toml``: common practice, no published source."""
    block, walls, label = (load("jigs")[name] for name in ("block", "print", "label"))
    return as_row(BlockSize, block, walls, label, guide=default_guide())


@dataclass(frozen=True, slots=True, eq=False)
class Guide:
    """One guide as made: the bore it serves, where its stop rests (body axes), stop length (None: through) [mm]."""

    entry: DrillEntry
    block: Wall
    rest: tuple[float, float, float]
    stop: float | None


@dataclass(frozen=True, slots=True, eq=False)
class Corner:
    """One block's axes and thicknesses; ``place`` (3, 4) takes body axes to (x, p, q) [mm]."""

    wall_on: Wall
    place: Array
    length: tuple[float, float]  # the blank's nose and tail end
    deep: float
    thick: float
    wall: float
    fence: float
    stop: float
    tail: float  # 0: no tail guide
    tail_gap: float
    height: float  # of wall and fence along -p

    @property
    def ends(self) -> tuple[float, float]:
        """Least and greatest x of the block [mm]."""
        return self.length[0] - self.stop, self.length[1] + (self.tail_gap + self.tail if self.tail else 0.0)

    def point(self, body: Array) -> Array:
        """A point (3,) of the body in this frame [mm]."""
        return np.asarray(self.place[:, :3] @ body + self.place[:, 3])

    def way(self, body: Array) -> Array:
        """A direction (3,) of the body in this frame."""
        return np.asarray(self.place[:, :3] @ body)

    def side(self, face: Face) -> str:
        """Which side of the block serves a face of the blank."""
        return face if face in ("nose", "tail") else "wall" if face in ("belly", "back") else "fence"

    def thickness(self, face: Face) -> float:
        """Of the side that serves a face of the blank [mm]."""
        return {"wall": self.wall, "fence": self.fence, "nose": self.stop, "tail": self.tail}[self.side(face)]

    def outside(self, side: str) -> tuple[Array, Array, Array, tuple[float, float, float, float]]:
        """An outer face to write on: origin, right, up, and its extents (right, up: least, greatest) [mm]."""
        x, p, q = np.eye(3)
        a, b = self.ends
        if side == "wall":
            return p * self.wall, x, -q, (a, b, -self.thick, self.fence)
        if side == "fence":
            return -q * self.fence, x, -p, (a, b, -self.wall, self.height)
        if side == "nose":
            return x * a, -q, -p, (-self.thick, self.fence, -self.wall, self.height)
        return x * b, q, -p, (-self.fence, self.thick, -self.wall, self.height)


def corner_of(wall_on: Wall, blank: Blank, led: tuple[DrillEntry, ...], saw: Prism | None, block: BlockSize) -> Corner:
    """The corner against belly or back: each side as thick as its longest guide asks, and the saw."""

    def thickness(face: Face) -> float:
        return max([block.wall, *(e.wall(block.guide) for e in led if e.face == face)])

    if wall_on == "belly":
        place = np.array([[1.0, 0, 0, 0], [0, 0, -1, blank.low[2]], [0, 1, 0, -blank.low[1]]])
    else:
        place = np.array([[1.0, 0, 0, 0], [0, 0, 1, -blank.high[2]], [0, -1, 0, blank.high[1]]])
    wall, stop = thickness(wall_on), thickness("nose") if wall_on == "belly" else block.wall
    if saw is not None:
        face, _ = leaves(np.array(saw.origin), -np.array(saw.along), blank)
        out = np.array(saw.origin) - leaves(np.array(saw.origin), -np.array(saw.along), blank)[1] * np.array(saw.along)
        near = np.abs(out[[0, 2]] - np.array(blank.low)[[0, 2]]).max() < CORNER_MM
        wall = max(wall, block.saw_guide) if face == "belly" or near else wall
        stop = max(stop, block.saw_guide) if face == "nose" or near else stop
    return Corner(
        wall_on,
        place,
        (blank.low[0], blank.high[0]),
        blank.size[2],
        blank.size[1],
        wall,
        thickness("left" if wall_on == "belly" else "right"),
        stop,
        thickness("tail") if any(e.face == "tail" for e in led) else 0.0,
        block.tail_gap,
        blank.size[2] - block.table_gap,
    )


def slit(corner: Corner, saw: Prism) -> manifold3d.CrossSection:
    """The saw's cut in (x, p), from far outside to the slot's end."""
    corners = [np.array(saw.origin) + s * np.array(saw.along) + t * np.array(saw.normal) for s, t in saw.polygon]
    inner = [corner.point(c)[:2] for c in corners]
    out = -FAR_MM / 2 * corner.way(np.array(saw.along))[:2]
    far = [p + out for p in inner]
    return manifold3d.CrossSection.hull_points(np.array([*inner, *far]))


def rectangle(x0: float, x1: float, y0: float, y1: float) -> manifold3d.CrossSection:
    """An upright rectangle of the (x, p) plane [mm]."""
    return manifold3d.CrossSection.square((x1 - x0, y1 - y0)).translate((x0, y0))


def saw_span(corner: Corner, saw: Prism | None) -> list[tuple[float, float]]:
    """Along x, all that the saw's guide takes up."""
    if saw is None:
        return []
    a, b = corner.ends
    bounds = (slit(corner, saw) ^ rectangle(a, b, -corner.height, corner.wall)).bounds()
    return [(bounds[0] - 5.0, bounds[2] + 5.0)]


def reach_of(corner: Corner, guide: Guide, block: BlockSize) -> tuple[float, float]:
    """Along x, what must stay in one piece around a guide."""
    rest = corner.point(np.array(guide.rest))[0]
    mouth = corner.point(np.array(guide.entry.tool.origin))[0]
    around = (guide.entry.tool.diameter + block.guide.collar) / 2 + 2.0
    return float(min(rest, mouth) - around), float(max(rest, mouth) + around)


def ears_of(
    corner: Corner, guides: tuple[Guide, ...], saw: Prism | None, block: BlockSize
) -> tuple[list[float], list[Finding]]:
    """Where along x the ears stand out of the fence beyond the wall: as far apart as drill chucks and the saw allow."""
    a, b = corner.ends
    half = block.ear_width / 2
    taken = [
        (float(corner.point(np.array(g.rest))[0]) - block.chuck, float(corner.point(np.array(g.rest))[0]) + block.chuck)
        for g in guides
        if corner.side(g.entry.face) == "wall"
    ]
    if saw is not None:
        shadow = (slit(corner, saw) ^ rectangle(a - 60, b + 60, -corner.height, corner.wall + block.ear)).bounds()
        taken.append((shadow[0] - 3.0, shadow[2] + 3.0))
    taken += [
        (
            float(corner.point(np.array(g.rest))[0]) - g.entry.tool.diameter,
            float(corner.point(np.array(g.rest))[0]) + g.entry.tool.diameter,
        )
        for g in guides
        if corner.side(g.entry.face) == "fence" and corner.point(np.array(g.rest))[1] > -3.0
    ]
    free = [
        x
        for x in np.arange(a + half, b - half + 1e-9, 0.5)
        if not any(lo < x + half and x - half < hi for lo, hi in taken)
    ]
    if not free:
        if not corner.tail:
            return [b + half], []  # it stands on a piece of fence of its own, beyond the tail end
        remedy = "no room for an ear clear of drills and saw: clamp a batten across the block instead of holding it"
        return [], [Finding("block-no-ear", "note", f"drill block {corner.wall_on}", remedy)]
    first, last = float(free[0]), float(free[-1])
    if last - first < block.ear_width + 4.0:
        return [first if first > (a + b) / 2 else last], []
    return [first, last], []
