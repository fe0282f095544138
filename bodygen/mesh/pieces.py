"""What every cut takes and what is left, piece by piece, as Manifold solids; and the lip's plate set in its slot."""

from collections.abc import Sequence
from dataclasses import dataclass

import manifold3d
import numpy as np
from numpy.typing import NDArray

from bodygen.errors import DesignError
from bodygen.form.cuts import Prism, Revolved, Tool, square_to
from bodygen.form.integrals import VolumeIntegrals
from bodygen.mesh.cut import SIDES, cut_with, to_manifold, to_mesh, tool_mesh
from bodygen.mesh.measure import moments, moments_of, volume_integrals
from bodygen.mesh.skin import Mesh

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Pieces:
    """``body`` uncut, the ``knives`` of all tools, ``rooms`` what each in turn took out of what was still there."""

    body: manifold3d.Manifold
    knives: tuple[manifold3d.Manifold, ...]
    rooms: tuple[manifold3d.Manifold, ...]


def cut_in_turn(skin: Mesh, tools: Sequence[Tool]) -> Pieces:
    """Cut with every tool; where two cuts meet, the earlier one has the shared wood, so that none is counted twice."""
    body = to_manifold(skin)
    knives = [to_manifold(tool_mesh(tool)) for tool in tools]
    rooms: list[manifold3d.Manifold] = []
    for i, knife in enumerate(knives):
        # knife less knives, then the body: where two rooms end in the same skin, their difference would leave crumbs
        before = [other for other in knives[:i] if _boxes_meet(other, knife)]
        rooms.append(cut_with(knife, before) ^ body)
    return Pieces(body, tuple(knives), tuple(rooms))


def _boxes_meet(first: manifold3d.Manifold, second: manifold3d.Manifold) -> bool:
    a, b = first.bounding_box(), second.bounding_box()
    return all(a[i] < b[i + 3] and b[i] < a[i + 3] for i in range(3))


def separate_parts(solid: manifold3d.Manifold, least_mm3: float = 1e-3) -> int:
    """How many pieces of wood there are; crumbs below ``least_mm3`` [mm^3] are rounding, not wood."""
    return sum(part.volume() > least_mm3 for part in solid.decompose())


def integrals(solid: manifold3d.Manifold) -> VolumeIntegrals:
    """Volume [mm^3], centroid [mm] and inertia [mm^5] of a piece.

    Raises
    ------
    DesignError
        An empty piece has no centroid.
    """
    volume, first, second = moments(to_mesh(solid))
    if volume <= 0:
        msg = "a cut that takes no wood away has no place"
        raise DesignError(msg)
    return volume_integrals(volume, first, second)


def exact_left(exact: VolumeIntegrals, rooms: Sequence[VolumeIntegrals]) -> VolumeIntegrals:
    """The wood left [mm^3 to mm^5]: the exact body less every room; the facets' error stays with the cuts alone."""
    volume, first, second = moments_of(exact)
    for room in rooms:
        lost_volume, lost_first, lost_second = moments_of(room)
        volume, first, second = volume - lost_volume, first - lost_first, second - lost_second
    return volume_integrals(volume, first, second)


def filled_below(
    room: manifold3d.Manifold, tool: Revolved, level: float, depth: float, *, flat: bool
) -> manifold3d.Manifold:
    """The part of a bore's room that metal takes up: from the bottom to a share ``level`` of the depth [mm].

    A full bore is flush with the skin, or with ``flat`` level across at the deepest point of its rim.
    """
    top = (1 - level) * depth
    if flat:
        top = max(top, _rim(room, tool))
    elif level >= 1:
        return room
    axis = np.array(tool.axis)
    return room.trim_by_plane(tool.axis, float(axis @ np.array(tool.origin)) + top)


def _rim(room: manifold3d.Manifold, tool: Revolved) -> float:
    """How far below the mouth the rim's lowest point lies, along the axis [mm]."""
    away = to_mesh(room).vertices - np.array(tool.origin)
    axis = np.array(tool.axis)
    s = away @ axis
    across = away - s[:, None] * axis
    radius = np.linalg.norm(across, axis=1)
    wall = radius > 0.98 * radius.max()
    first, second = square_to(tool.axis)
    angle = np.arctan2(across[wall] @ second, across[wall] @ first)
    side = np.floor(angle / (2 * np.pi) * SIDES).astype(int)  # the corners of the drawn circle lie mid-way in each
    return float(max(s[wall][side == k].min() for k in np.unique(side)))


def plate_solid(slot: Prism, outline: Array, holes: Sequence[Array], thickness: float) -> manifold3d.Manifold:
    """The lip's plate in its slot.

    Parameters
    ----------
    outline, holes : (k, 2) arrays
        Plate axes: distance from the slot's mouth towards the tip (negative in the slot) and sideways [mm].
    thickness : float
        The sheet's [mm].
    """
    section = manifold3d.CrossSection([np.asarray(outline)], manifold3d.FillRule.EvenOdd)  # whichever way it runs
    for hole in holes:
        section -= manifold3d.CrossSection([np.asarray(hole)], manifold3d.FillRule.EvenOdd)
    towards_tip, normal = -np.array(slot.along), np.array(slot.normal)
    sideways = np.cross(normal, towards_tip)
    low = np.array(slot.origin) - thickness / 2 * normal
    return section.extrude(thickness).transform(np.stack([towards_tip, sideways, normal, low], axis=1))
