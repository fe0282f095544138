"""Cutting with meshes: tools as closed meshes, and what they leave of the body.

Circles are drawn as polygons of the circle's own area, so a bore's volume is right whatever the number of sides.
"""

import os
from collections.abc import Sequence
from functools import cache, lru_cache
from math import cos, pi, sin, sqrt

import manifold3d
import numpy as np
from numpy.typing import NDArray

from bodygen.errors import DesignError
from bodygen.form.cuts import Prism, Revolved, Tool, square_to
from bodygen.mesh.skin import REMEMBERED_POINTS, Faces, Mesh

Array = NDArray[np.float64]
SIDES = 64
BALL_STEPS = 12


def _on_one_thread() -> None:
    """Have the mesh kernel's threads count one processor: they count where the process may run, once, at first use.

    It shares out meshes as small as ours, and each helper then spins while it waits for more: of a build's processor
    time a sixth went there on two processors, for a twentieth of the time that one waits. Only Linux lets us say so.
    """
    if not hasattr(os, "sched_setaffinity"):
        return
    allowed = os.sched_getaffinity(0)
    try:
        os.sched_setaffinity(0, {min(allowed)})
    except OSError:  # a container may forbid it
        return
    try:
        manifold3d.Manifold.cube().volume()
    finally:
        os.sched_setaffinity(0, allowed)


_on_one_thread()
SKIN = manifold3d.Manifold.reserve_ids(1)
"""By which the kernel knows the facets of a body's own skin again, in whatever is made of it."""


def to_manifold(mesh: Mesh, mark: int | None = None) -> manifold3d.Manifold:
    """The mesh [mm] as a Manifold solid; ``mark`` is what its facets are known by.

    Raises
    ------
    DesignError
        When it is not closed or not oriented.

    Examples
    --------
    >>> cube = to_mesh(manifold3d.Manifold.cube((10.0, 10.0, 10.0)))
    >>> to_manifold(cube).volume()
    1000.0
    """
    points, faces = np.ascontiguousarray(mesh.vertices), np.array(mesh.faces, dtype=np.uint64, order="C")
    known_by = None if mark is None else np.array([mark], dtype=np.uint32)
    solid = manifold3d.Manifold(manifold3d.Mesh64(points, faces, run_original_id=known_by))
    if solid.status() != manifold3d.Error.NoError:
        msg = f"the skin is not one closed mesh ({solid.status().name})"
        raise DesignError(msg)
    return solid


def known_manifold(mesh: Mesh) -> manifold3d.Manifold:
    """``to_manifold`` [mm], kept for the last few meshes: a part is repaired, laid down, parted and sliced in turn.

    Raises
    ------
    DesignError
        As ``to_manifold``.

    Examples
    --------
    >>> cube = to_mesh(manifold3d.Manifold.cube((10.0, 10.0, 10.0)))
    >>> known_manifold(cube) is known_manifold(cube)
    True
    """
    return _remembered(mesh) if len(mesh.vertices) < REMEMBERED_POINTS else to_manifold(mesh)


def to_mesh(solid: manifold3d.Manifold) -> Mesh:
    """A Manifold solid as plain arrays [mm].

    Examples
    --------
    >>> cube = to_mesh(manifold3d.Manifold.cube((10.0, 10.0, 10.0)))
    >>> cube.vertices.shape, cube.faces.shape   # 8 corners, two triangles a face
    ((8, 3), (12, 3))
    """
    mesh = solid.to_mesh64()
    return Mesh(np.array(mesh.vert_properties, dtype=np.float64)[:, :3], np.array(mesh.tri_verts, dtype=np.int64))


_remembered = lru_cache(maxsize=8)(to_manifold)


@lru_cache(maxsize=64)  # each cut is made several times over: see mesh/pieces.py
def tool_mesh(tool: Tool, sides: int = SIDES) -> Mesh:
    """A tool as a closed mesh [mm], its circles drawn with so many ``sides`` [-].

    Derived here: the polygon's area is pi r^2 for a circumradius of r sqrt(2 pi / n / sin(2 pi / n)).

    Examples
    --------
    >>> hole = Revolved("b", "any", 0, False, (0.0, 0.0, 0.0), (0.0, 0.0, 1.0),
    ...                 ((-1.0, 0.0), (-1.0, 3.0), (9.0, 3.0), (9.0, 0.0)), False, 6.0, 9.0, 9.0)
    >>> to_manifold(tool_mesh(hole)).volume()   # 90 pi
    282.743
    """
    return _revolved(tool, sides) if isinstance(tool, Revolved) else _prism(tool)


def cutting_solid(tool: Tool, sides: int = SIDES) -> manifold3d.Manifold:
    """``tool_mesh`` as a solid [mm]."""
    return to_manifold(tool_mesh(tool, sides))


def profile_points(tool: Revolved) -> list[tuple[float, float]]:
    """The revolved profile with a ball's quarter circle drawn out, (s, r) [mm].

    Derived here: the factor that gives the conical frusta the half ball's volume.

    Examples
    --------
    >>> hole = Revolved("b", "any", 0, False, (0.0, 0.0, 0.0), (0.0, 0.0, 1.0),
    ...                 ((-1.0, 0.0), (-1.0, 3.0), (9.0, 3.0), (9.0, 0.0)), False, 6.0, 9.0, 9.0)
    >>> profile_points(hole) == list(hole.profile)
    True
    """
    points = list(tool.profile)
    if tool.ball:
        r = tool.profile[-2][1]
        # chords inside the arc lose volume: the steps lie on a circle a hair larger, of the ball's own volume
        grow = _ball_growth(BALL_STEPS)
        arc = [(tool.shoulder + r * grow * sin(a), r * grow * cos(a)) for a in np.linspace(0, pi / 2, BALL_STEPS + 1)]
        points = [*points[:-1], *[(float(s), float(max(q, 0.0))) for s, q in arc]]  # the shank keeps its own radius
        points[-1] = (points[-1][0], 0.0)
    return points


def _ball_growth(steps: int) -> float:
    """Radius factor that gives the half ball drawn in conical frusta the volume of the half ball."""
    a = np.linspace(0, pi / 2, steps + 1)
    s, r = np.sin(a), np.cos(a)
    volume = np.sum(np.diff(s) * (r[1:] ** 2 + r[1:] * r[:-1] + r[:-1] ** 2)) * pi / 3
    return float((2 / 3 * pi / volume) ** (1 / 3))


def _revolved(tool: Revolved, sides: int) -> Mesh:
    points = profile_points(tool)
    grow = sqrt(2 * pi / sides / sin(2 * pi / sides))
    first, second = square_to(tool.axis)
    cos_sin, faces = _circle(sides), _revolved_faces(sum(r > 0 for _, r in points), sides)
    round_about = cos_sin[0][:, None] * first + cos_sin[1][:, None] * second
    axis, origin = np.array(tool.axis), np.array(tool.origin)
    rings = [(s, r) for s, r in points if r > 0]
    vertices = np.concatenate([origin + s * axis + r * grow * round_about for s, r in rings])
    start, end = origin + points[0][0] * axis, origin + points[-1][0] * axis
    return Mesh(np.concatenate([vertices, [start, end]]), faces)


@cache
def _circle(sides: int) -> tuple[Array, Array]:
    """Cosines and sines of the corners (sides,)."""
    angle = 2 * pi * (np.arange(sides) + 0.5) / sides
    return np.cos(angle), np.sin(angle)


@lru_cache(maxsize=16)
def _revolved_faces(rings: int, count: int) -> Faces:
    """The faces of so many rings of ``count`` points one after the other, then both ends' middles; read only."""
    index = np.arange(rings * count).reshape(rings, count)
    a, b = index[:-1], np.roll(index[:-1], -1, axis=1)
    c, d = index[1:], np.roll(index[1:], -1, axis=1)
    sides = np.stack([np.stack([a, b, c], -1), np.stack([b, d, c], -1)], axis=2).reshape(-1, 3)
    tip = rings * count
    low = np.stack([np.full(count, tip), np.roll(index[0], -1), index[0]], axis=1)
    high = np.stack([np.full(count, tip + 1), index[-1], np.roll(index[-1], -1)], axis=1)
    faces = np.concatenate([sides, low, high])
    faces.setflags(write=False)
    return faces


def _prism(tool: Prism) -> Mesh:
    section = manifold3d.CrossSection([np.array(tool.polygon)])
    solid = section.extrude(2 * tool.half)
    along, normal = np.array(tool.along), np.array(tool.normal)
    across = np.cross(along, normal)
    move = np.stack([along, normal, across, np.array(tool.origin) - tool.half * across], axis=1)
    return to_mesh(solid.transform(move))


def cut_with(body: manifold3d.Manifold, tools: Sequence[manifold3d.Manifold]) -> manifold3d.Manifold:
    """What is left of the body after every tool [mm]; the body itself where there is none.

    The Boolean is the library's (manifold3d); the order of tools cannot matter, an elementary fact of sets.

    Examples
    --------
    >>> cube, corner = (manifold3d.Manifold.cube((side, side, side)) for side in (10.0, 4.0))
    >>> cut_with(cube, [corner, corner]).volume()
    936.0
    """
    if not tools:
        return body
    return manifold3d.Manifold.batch_boolean([body, *tools], manifold3d.OpType.Subtract)
