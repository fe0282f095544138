"""What every cut takes, piece by piece, as Manifold solids; and the lip's plate set in its slot."""

from bisect import bisect
from collections.abc import Hashable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache, partial
from itertools import pairwise

import manifold3d
import numpy as np
from numpy.typing import NDArray

from bodygen.errors import DesignError
from bodygen.form.cuts import Prism, Revolved, Tool, square_to
from bodygen.form.integrals import VolumeIntegrals
from bodygen.form.spline import distinct
from bodygen.mesh.cut import SIDES, cut_with, cutting_solid, to_manifold, to_mesh, tool_mesh
from bodygen.mesh.measure import moments, moments_of, volume_integrals
from bodygen.mesh.skin import Mesh
from bodygen.mesh.stock import BaseMesh, Reach, Span, box_of, boxes_meet, reach_around, reach_of, span_of
from bodygen.plane.polygon import ring_area

Array = NDArray[np.float64]
STRIPS_MM = (0.25, 0.5, 1.0, 2.0, 4.0)
"""How far before its slot's mouth a plate's faces are divided: the body reaches so far or little farther."""


@dataclass(frozen=True, slots=True, eq=False)
class Pieces:
    """What cutting came to, in the order of the tools: what each took of what was left.

    ``keys`` are what each of the ``cavities`` follows from, for answers that the ``stock`` keeps.
    """

    stock: BaseMesh
    tools: tuple[Tool, ...]
    cavities: tuple[manifold3d.Manifold, ...]
    keys: tuple[Hashable, ...]

    @property
    def body(self) -> manifold3d.Manifold:
        """The uncut body [mm]."""
        return self.stock.whole()

    @property
    def cutting_solids(self) -> tuple[manifold3d.Manifold, ...]:
        """Of every tool [mm]."""
        kept = self.stock.kept
        return tuple(kept.of(("cutting solid", tool), partial(cutting_solid, tool)) for tool in self.tools)

    def integrals(self, place: int) -> VolumeIntegrals:
        """Of what the tool at a place took [mm^3 to mm^5].

        See ``measure.moments``, elementary.

        Raises
        ------
        DesignError
            It took nothing.
        """
        cavity = self.cavities[place]
        return self.stock.kept.of(("integrals", self.keys[place]), lambda: integrals(cavity))


def cut_in_turn(stock: BaseMesh, tools: Sequence[Tool]) -> Pieces:
    """Cut with every tool [mm]; where two cuts meet the earlier one has the shared wood, so that none is counted twice.

    Elementary: set differences in order.

    Examples
    --------
    >>> stock = BaseMesh(to_mesh(manifold3d.Manifold.cube((60.0, 20.0, 10.0), True)))
    >>> holes = [Revolved(n, "any", 0, False, (x, 0.0, -5.0), (0.0, 0.0, 1.0),
    ...                   ((-1.0, 0.0), (-1.0, 3.0), (8.0, 3.0), (8.0, 0.0)), False, 6.0, 8.0, 8.0)
    ...          for n, x in (("one", 0.0), ("again", 0.0))]
    >>> [cavity.volume() for cavity in cut_in_turn(stock, holes).cavities]   # 72 pi, and nothing left for the second
    [226.195, 0.0]
    """
    kept, boxes = stock.kept, [box_of(tool) for tool in tools]
    cavities: list[manifold3d.Manifold] = []
    keys: list[Hashable] = []
    for i, (tool, box) in enumerate(zip(tools, boxes, strict=True)):
        before = tuple(tools[k] for k in range(i) if boxes_meet(boxes[k], box))
        key: Hashable = "cavity", tool, before
        if stock.rings is not None and not before and _is_twin(tool) and keys[-1] == ("cavity", tools[i - 1], ()):
            key, make = ("mirrored", tool), partial(_mirrored, cavities[-1])
        else:
            make = partial(_cavity, stock, tool, before, (span_of(tool, box, *stock.extents), reach_of(tool)))
        cavities.append(kept.of(key, make))
        keys.append(key)
    return Pieces(stock, tuple(tools), tuple(cavities), tuple(keys))


def _cavity(stock: BaseMesh, tool: Tool, before: Sequence[Tool], near: tuple[Span, Reach]) -> manifold3d.Manifold:
    """What a tool takes of the body and no tool before it took.

    The library orders what it gives back by the age of what it was given. So the body comes first and the cutting
    solids are made anew, in their order: the last digit of a figure must not tell what was cut before.
    """
    body = stock.around(*near)
    taken = [cutting_solid(other) for other in before]
    # this less those before, then the body: of two cavities that end in one skin the difference would leave crumbs
    cavity = cut_with(cutting_solid(tool), taken) ^ body
    cavity.status()  # a boolean waits until it is asked for: once is enough
    return cavity


def _is_twin(tool: Tool) -> bool:
    """Whether it is the mirror image of the tool before it."""
    return isinstance(tool, Revolved) and tool.mirrored


def _mirrored(cavity: manifold3d.Manifold) -> manifold3d.Manifold:
    """What the other flank's bore takes of a body that is its own mirror image."""
    image = cavity.mirror((0.0, 1.0, 0.0))
    image.status()
    return image


def integrals(solid: manifold3d.Manifold) -> VolumeIntegrals:
    """Volume [mm^3], centroid [mm] and inertia [mm^5] of a piece.

    See ``measure.moments``, elementary.

    Raises
    ------
    DesignError
        An empty piece has no centroid.

    Examples
    --------
    >>> integrals(manifold3d.Manifold.cube((6.0, 4.0, 2.0))).centroid.tolist()
    [3.0, 2.0, 1.0]
    """
    volume, first, second = moments(to_mesh(solid))
    if volume <= 0:
        msg = "a cut that takes no wood away has no place"
        raise DesignError(msg)
    return volume_integrals(volume, first, second)


def exact_left(exact: VolumeIntegrals, cavities: Sequence[VolumeIntegrals]) -> VolumeIntegrals:
    """The wood left [mm^3 to mm^5]: the exact body less every cavity; the facets' error stays with the cuts alone.

    Elementary: moments about the origin taken away.

    Examples
    --------
    >>> whole, gone = (integrals(manifold3d.Manifold.cube((x, 4.0, 2.0))) for x in (6.0, 2.0))
    >>> left = exact_left(whole, [gone])
    >>> left.volume, left.centroid.tolist()
    (32.0, [4.0, 2.0, 1.0])
    """
    volume, first, second = moments_of(exact)
    for cavity in cavities:
        lost_volume, lost_first, lost_second = moments_of(cavity)
        volume, first, second = volume - lost_volume, first - lost_first, second - lost_second
    return volume_integrals(volume, first, second)


def filled_below(
    cavity: manifold3d.Manifold, tool: Revolved, level: float, depth: float, *, flat: bool
) -> manifold3d.Manifold:
    """The part of a bore's cavity that metal takes up: from the bottom to a share ``level`` of the depth [mm].

    A full bore is flush with the skin, or with ``flat`` level across at the deepest point of its rim.

    Elementary.

    Examples
    --------
    >>> hole = Revolved("b", "any", 0, False, (0.0, 0.0, 0.0), (0.0, 0.0, 1.0),
    ...                 ((-1.0, 0.0), (-1.0, 3.0), (8.0, 3.0), (8.0, 0.0)), False, 6.0, 8.0, 8.0)
    >>> cavity = cutting_solid(hole).trim_by_plane((0.0, 0.0, 1.0), 0.0)
    >>> filled_below(cavity, hole, 0.5, 8.0, flat=False).volume()   # 36 pi
    113.097
    """
    top = (1 - level) * depth
    if flat:
        top = max(top, _rim(cavity, tool))
    elif level >= 1:
        return cavity
    axis = np.array(tool.axis)
    alone = _drilled_below(cavity, tool, top)
    if alone is not None:
        return alone
    return cavity.trim_by_plane(tool.axis, float(axis @ np.array(tool.origin)) + top)


def _drilled_below(cavity: manifold3d.Manifold, tool: Revolved, top: float) -> manifold3d.Manifold | None:
    """The drill's own path from ``top`` [mm] on, in a fifth of a boolean's time; None where the cavity has less.

    All that meets the path beyond ``top`` leaves corners there that are not the drill's own.
    """
    reached = [s for s, _ in tool.profile]
    at = bisect(reached, top)
    if not 0 < at < len(reached) or reached != sorted(reached) or top >= tool.shoulder:
        return None
    if _corners_beyond(to_mesh(cavity), tool, top) != _corners_beyond(tool_mesh(tool), tool, top):
        return None
    (before, wide), (after, narrow) = tool.profile[at - 1 : at + 1]
    radius = wide + (narrow - wide) * (top - before) / (after - before)
    return cutting_solid(replace(tool, profile=((top, 0.0), (top, radius), *tool.profile[at:])))


def _corners_beyond(mesh: Mesh, tool: Revolved, top: float) -> set[tuple[float, ...]]:
    s = (mesh.vertices - np.array(tool.origin)) @ np.array(tool.axis)
    return set(map(tuple, mesh.vertices[s > top].tolist()))


def _rim(cavity: manifold3d.Manifold, tool: Revolved) -> float:
    """How far below the mouth the rim's lowest point lies, along the axis [mm]."""
    away = to_mesh(cavity).vertices - np.array(tool.origin)
    axis = np.array(tool.axis)
    s = away @ axis
    across = away - s[:, None] * axis
    radius = np.linalg.norm(across, axis=1)
    wall = radius > 0.98 * radius.max()
    first, second = square_to(tool.axis)
    angle = np.arctan2(across[wall] @ second, across[wall] @ first)
    side = np.floor(angle / (2 * np.pi) * SIDES).astype(int)  # the corners of the drawn circle lie mid-way in each
    return float(max(s[wall][side == k].min() for k in distinct(side)))


def plate_solid(slot: Prism, outline: Array, holes: Sequence[Array], thickness: float) -> manifold3d.Manifold:
    """The lip's plate in its slot.

    Elementary: the outline times the thickness.

    Parameters
    ----------
    outline, holes : (k, 2) arrays
        Plate axes: distance from the slot's mouth towards the tip (negative in the slot) and sideways [mm].
    thickness : float
        The sheet's [mm].

    Examples
    --------
    >>> slot = Prism("lip slot", "slot", (5.0, 0.0, -3.0), (0.6, 0.0, 0.8), (-0.8, 0.0, 0.6), (), 9.0, 8.0)
    >>> outline = np.array([[-8.0, -9.0], [20.0, -9.0], [20.0, 9.0], [-8.0, 9.0]])
    >>> plate_solid(slot, outline, [outline / 4], 1.5).volume()   # 28 * 18 * 1.5 * 15/16
    708.75
    """
    polygons = tuple(np.asarray(polygon, dtype=np.float64).tobytes() for polygon in (outline, *holes))
    flat = _flat_plate(polygons, thickness)
    return flat.transform(_plate_axes(slot, thickness)).as_original()  # as young as if it were made anew: see _cavity


@lru_cache(maxsize=8)  # a lip that is turned keeps its plate
def _flat_plate(polygons: tuple[bytes, ...], thickness: float) -> manifold3d.Manifold:
    """The plate in its own axes [mm], of an outline and holes as bytes of (k, 2) arrays."""
    rings = [np.frombuffer(polygon).reshape(-1, 2) for polygon in polygons]
    section, *holes = (manifold3d.CrossSection([ring], manifold3d.FillRule.EvenOdd) for ring in rings)  # either way on
    if not holes and abs(section.area() - abs(ring_area(rings[0]))) < 1e-6:  # it does not cross itself
        return in_strips(rings[0], thickness)
    for hole in holes:
        section -= hole
    return section.extrude(thickness)


def in_strips(ring: Array, thickness: float) -> manifold3d.Manifold:
    """A plate of a plain outline (k, 2) [mm], its faces divided at ``STRIPS_MM`` where these cross it just twice.

    Long facets from the tip's curve to the tongue would all meet the body: a boolean with them takes twice as long.

    Examples
    --------
    >>> in_strips(np.array([[-8.0, -9.0], [20.0, -9.0], [20.0, 9.0], [-8.0, 9.0]]), 1.5).volume()   # 28 * 18 * 1.5
    756.0
    """
    if ring_area(ring) < 0:
        ring = ring[::-1]
    bounds = [-np.inf]
    for line in STRIPS_MM:
        following = np.roll(ring, -1, axis=0)
        crossed = np.flatnonzero((ring[:, 0] < line) != (following[:, 0] < line))
        if len(crossed) != 2 or np.abs(ring[:, 0] - line).min() < 1e-6:
            continue
        start, end = ring[crossed], following[crossed]
        share = (line - start[:, 0]) / (end[:, 0] - start[:, 0])
        met = np.stack([np.full(2, line), start[:, 1] + share * (end[:, 1] - start[:, 1])], axis=1)
        ring = np.insert(ring, crossed + 1, met, axis=0)
        bounds.append(line)
    count, facets = len(ring), []
    for low, high in pairwise([*bounds, np.inf]):
        part = np.flatnonzero((ring[:, 0] >= low) & (ring[:, 0] <= high))
        facets.append(part[np.asarray(manifold3d.triangulate([ring[part]]))])
    face, here = np.concatenate(facets), np.arange(count)
    there = np.roll(here, -1)
    edge = np.concatenate([np.stack([here, there, there + count], 1), np.stack([here, there + count, here + count], 1)])
    places = np.concatenate([np.insert(ring, 2, z, axis=1) for z in (0.0, thickness)])
    return to_manifold(Mesh(places, np.concatenate([face[:, ::-1], face + count, edge])))


def plate_reach(slot: Prism, outline: Array, thickness: float) -> Reach:
    """All that ``plate_solid`` can touch [mm], without the solid.

    Elementary.

    Examples
    --------
    >>> slot = Prism("lip slot", "slot", (5.0, 0.0, -3.0), (1.0, 0.0, 0.0), (0.0, 0.0, 1.0), (), 9.0, 8.0)
    >>> plate_reach(slot, np.array([[-8.0, -9.0], [20.0, -9.0], [20.0, 9.0]]), 2.0).span   # and a little on
    (-15.1, 13.1)
    """
    axes = _plate_axes(slot, thickness)
    low, high = (np.append(pick(outline, axis=0), end) for pick, end in ((np.min, 0.0), (np.max, thickness)))
    return reach_around(axes[:, :3].T, axes[:, 3], low, high)


def _plate_axes(slot: Prism, thickness: float) -> Array:
    """The plate's axes as columns (3, 4): to the tip, sideways, across; and where the lower face lies [mm]."""
    towards_tip, normal = -np.array(slot.along), np.array(slot.normal)
    low = np.array(slot.origin) - thickness / 2 * normal
    return np.stack([towards_tip, np.cross(normal, towards_tip), normal, low], axis=1)
