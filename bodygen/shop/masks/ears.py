"""What a mask's shell is made to and held by: an ear with a hole for thread at nose and tail.

Ears are clear of the paint and of what stands out.
Both shells of a pair have their ears at the same places, so that they can be tied together around the bait; a shell
alone is held by a rubber band from ear to ear across the other flank, which bulges between them.

Knows the side view. Knows no skin but its outline.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

import manifold3d
import numpy as np

from bodygen.form.cuts import Revolved, Tool
from bodygen.form.facing import Side, outwards
from bodygen.form.integrals import Array
from bodygen.plane.shapes import Point
from bodygen.shop.masks.regions import SideView, opening
from bodygen.tables import as_row, load

End = Literal["nose", "tail"]
ENDS: tuple[End, End] = ("nose", "tail")
STEP_MM = 0.5
"""How finely places around nose and tail are tried."""
END_SHARE = 0.2
"""An ear's root lies on this share of the length at most, from its end."""
ROOT_SHARE = 0.7
"""So much of an ear's root must lie on the shell's wall."""
ROUNDNESS = 48
UPRIGHT = np.array([[1.0, 0.0, 0.0, 0.0], [0.0, 0.0, 1.0, 0.0], [0.0, -1.0, 0.0, 0.0]])
"""Turns body axes to (x, z, -y), so that slices stand across y."""


@dataclass(frozen=True, slots=True)
class ShellSize:
    """Lengths mm, the meanings as in ``tables/masks.toml``."""

    clearance: float
    thickness: float
    seam: float
    bridge: float
    hold: float
    cap: float
    relief: float
    least_wall: float
    ear_reach: float
    ear_hole: float
    ear_wall: float
    ear_thickness: float


def default_shell() -> ShellSize:
    """The shell of ``tables/masks.toml``: common practice, no published source."""
    return as_row(ShellSize, load("masks")["shell"])


@dataclass(frozen=True, slots=True)
class Ear:
    """An ear in side view, (x, z) [mm]: the middle of its hole, and of its root on the shell's wall."""

    end: End
    hole: Point
    root: Point


def ears_of(
    solids: Sequence[tuple[Side, manifold3d.Manifold]],
    shapes: Sequence[manifold3d.CrossSection],
    view: SideView,
    tools: Sequence[Tool],
    size: ShellSize,
) -> tuple[Ear, ...]:
    """Find a place for an ear at nose and tail, as near to the end as can be.

    Parameters
    ----------
    solids : sequence of (side, Manifold)
        The opened shells of one region, without ears.
    shapes : sequence of CrossSection
        The region on either side: no ear lies over it.
    view : SideView
        The body from its side.
    tools : sequence of Tool
        Ties and hangers to keep clear of.
    size : ShellSize

    Returns
    -------
    tuple of Ear
        At most one at each end.
    """
    if not solids:
        return ()
    outline = view.outline()
    walls = [
        solid.transform(UPRIGHT).slice(-outwards(side) * (size.seam + size.ear_thickness) / 2) for side, solid in solids
    ]
    taken = manifold3d.CrossSection.batch_boolean(
        [*(shape ^ outline for shape in shapes), *_stems(tools, size)], manifold3d.OpType.Add
    )
    found: list[Ear] = []
    for end in ENDS:
        for ear in _places(end, outline, view, size):
            if (_drawn(ear, size) ^ taken).is_empty() and all(_rooted(ear, wall, size) for wall in walls):
                found.append(ear)
                break
    return tuple(found)


def ear_solid(ears: Sequence[Ear], side: Side, size: ShellSize) -> manifold3d.Manifold:
    """The ears of one side, their face flush with the shell's rim; the shell's cavity is still to be cut out."""
    shapes = [
        _drawn(ear, size) - manifold3d.CrossSection.circle(size.ear_hole / 2, ROUNDNESS).translate(ear.hole)
        for ear in ears
    ]
    flat = manifold3d.CrossSection.batch_boolean(shapes, manifold3d.OpType.Add)
    return opening(flat, side, size.ear_thickness).translate((0.0, outwards(side) * size.seam / 2, 0.0))


def _places(end: End, outline: manifold3d.CrossSection, view: SideView, size: ShellSize) -> Iterator[Ear]:
    """Holes on a line around the body's outline, each with its root at the nearest place of the wall, by nearness."""
    wall = size.clearance + size.thickness / 2
    out = size.clearance + size.thickness + size.ear_reach
    around = _ring(outline.offset(out, manifold3d.JoinType.Round, circular_segments=ROUNDNESS))
    edge = _ring(outline)
    reach = END_SHARE * float(view.x[-1] - view.x[0])
    away = around[:, 0] - view.x[0] if end == "nose" else view.x[-1] - around[:, 0]
    for number in np.argsort(away, kind="stable"):
        if away[number] > reach:
            return
        foot = edge[np.argmin(np.linalg.norm(edge - around[number], axis=1))]
        way = around[number] - foot
        root = foot + wall * way / np.linalg.norm(way)
        yield Ear(end, _point(around[number]), _point(root))


def _drawn(ear: Ear, size: ShellSize) -> manifold3d.CrossSection:
    radius = size.ear_hole / 2 + size.ear_wall
    disc = manifold3d.CrossSection.circle(radius, ROUNDNESS)
    return manifold3d.CrossSection.batch_hull([disc.translate(ear.hole), _root(ear, size)])


def _root(ear: Ear, size: ShellSize) -> manifold3d.CrossSection:
    return manifold3d.CrossSection.circle(size.ear_hole / 2 + size.ear_wall / 2, ROUNDNESS).translate(ear.root)


def _rooted(ear: Ear, wall: manifold3d.CrossSection, size: ShellSize) -> bool:
    """Whether the root lies across the wall for most of its width."""
    wide = size.ear_hole + size.ear_wall
    return bool((_root(ear, size) ^ wall).area() > ROOT_SHARE * wide * size.thickness)


def _stems(tools: Sequence[Tool], size: ShellSize) -> list[manifold3d.CrossSection]:
    """What stands out of the middle of the bait, with its relief."""
    found = []
    for tool in tools:
        if isinstance(tool, Revolved) and tool.kind in ("tie", "hanger"):
            start, out = np.array([tool.origin[0], tool.origin[2]]), -np.array([tool.axis[0], tool.axis[2]])
            disc = manifold3d.CrossSection.circle(tool.diameter / 2 + size.relief, ROUNDNESS)
            ends = (start, start + 4 * size.ear_reach * out)
            found.append(manifold3d.CrossSection.batch_hull([disc.translate(_point(at)) for at in ends]))
    return found


def _ring(shape: manifold3d.CrossSection) -> Array:
    """Points every STEP_MM along the longest contour of a shape."""
    ring = max(shape.to_polygons(), key=len)
    closed = np.concatenate([ring, ring[:1]])
    way = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(closed, axis=0), axis=1))])
    at = np.arange(0.0, way[-1], STEP_MM)
    return np.column_stack([np.interp(at, way, closed[:, 0]), np.interp(at, way, closed[:, 1])])


def _point(at: Array) -> Point:
    return float(at[0]), float(at[1])
