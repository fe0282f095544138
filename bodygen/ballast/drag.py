"""How fast a bait goes down, or up, when its weight and its lift differ: an estimate, and its range.

Knows silhouettes and drag coefficients of ``ballast.toml``. Nobody has measured a bait going down: three coefficients
stand for what it can be, and whoever prints a speed prints the range.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt
from typing import Any

import manifold3d
import numpy as np

from bodygen import tables
from bodygen.ballast.answer import Answer
from bodygen.flotation.blocks import Faces
from bodygen.flotation.hull import Hull, HullPart
from bodygen.form.cuts import square_to
from bodygen.form.integrals import Array
from bodygen.form.triples import doubled_areas
from bodygen.recipe.model import Goal
from bodygen.units import G_PER_KG, MM2_PER_M2, MM_PER_M

SQUARE = 1e-6
"""Nearer to square than this a flow has no part along the body."""
CIRCLE = 64
ALIKE = 12
"""Digits of a direction, beyond which two are one."""


@dataclass(frozen=True, slots=True)
class Drag:
    """Coefficients [-] on the silhouette ``area`` [mm^2] of a bait moving along the vertical."""

    area: float
    low: float
    likely: float
    high: float


def drag_of(hull: Hull, up: Array, sizes: tuple[float, float, float], speed_m_s: float | None = None) -> Drag:
    r"""Drag of a hull that moves along ``up`` (3,), in the attitude in which it lies wholly under.

    What the flow does along the body and what it does across it are taken apart (the cross-flow principle):

    .. math:: C_D A = C_{axial} A_{front} \cos^3\alpha + C_{across} A_{side} \sin^3\alpha

    with alpha between the vertical and the body's length. Across it is a cylinder; end on, a streamlined body whose
    skin and whose wake both drag: C = 0.44 d/l + 4 C_f l/d + 4 C_f (d/l)^(1/2), with C_f = 1.328 Re^(-1/2).

    Parameters
    ----------
    hull : Hull
        Everything that pushes water aside [mm].
    up : (3,)
        The vertical in body axes [-].
    sizes : length, depth, thickness of the body [mm]
    speed_m_s : float
        For the friction end on [m/s]; the table's usual one where None.

    Returns
    -------
    Drag
        On the hull's own silhouette along ``up``.

    References
    ----------
    S. F. Hoerner, Fluid-Dynamic Drag, 1965 (from memory): chapter 3, circular cylinders of finite length and elliptical
    sections across the flow below the critical Reynolds number; chapter 6, streamlined bodies of revolution there.
    H. J. Allen, E. W. Perkins, NACA Report 1048, 1951 (from memory): drag of bodies inclined to the flow.
    """
    table = tables.load("ballast")["drag"]
    up = np.asarray(up, dtype=np.float64)
    along = abs(float(up[0]))
    across = float(np.sqrt(max(1 - along**2, 0.0)))
    ends, flanks = np.zeros(3), np.zeros(3)
    if along > SQUARE:
        ends = along**3 * silhouette(hull, np.array([1.0, 0.0, 0.0])) * _end_on(sizes, speed_m_s, table)
    if across > SQUARE:
        way = np.array([0.0, up[1], up[2]]) / across
        flanks = across**3 * silhouette(hull, way) * _across(sizes, way, table)
    area = silhouette(hull, up)
    low, likely, high = ((ends + flanks) / area).tolist()
    return Drag(area, low, likely, high)


def _across(sizes: tuple[float, float, float], way: Array, table: dict[str, Any]) -> Array:
    """Coefficients low, likely, high (3,) [-] of a flow along ``way`` (3,), square to the length."""
    length, depth, thickness = sizes
    with_flow, broad = (float(np.hypot(depth * a, thickness * b)) for a, b in ((way[2], way[1]), (way[1], way[2])))
    round_one = float(np.interp(length / broad, table["length_over_thickness"], table["round"]))
    relief = float(np.interp(with_flow / broad, table["depth_over_thickness"], table["elliptical"])) / table["endless"]
    return np.array([round_one * min(relief, 1.0), round_one, float(table["endless"])])


def _end_on(sizes: tuple[float, float, float], speed_m_s: float | None, table: dict[str, Any]) -> Array:
    """Coefficients low, likely, high (3,) [-] on the frontal area: friction alone, with the wake, a blunt body."""
    length, depth, thickness = sizes
    speed = float(table["usual_speed_m_s"]) if speed_m_s is None else speed_m_s
    reynolds = speed * length / MM_PER_M / float(table["viscosity_m2_s"])
    friction, slender = 1.328 / sqrt(reynolds), length / sqrt(depth * thickness)
    skin = 4 * friction * (slender + slender**-0.5)
    likely = skin + 0.44 / slender
    return np.array([skin, likely, max(likely, float(table["blunt_end_on"]))])


def silhouette(hull: Hull, way: Array) -> float:
    """Area of the hull's silhouette along ``way`` (3,) [mm^2]: what lies in another part's shadow counts once.

    Voids lie in the shadow of what they are in. A change that leaves the outside as it is leaves the answer.

    Derived here: the outline of what faces that way, united with those of the other parts.

    Examples
    --------
    >>> import manifold3d
    >>> from bodygen.flotation.hull import Shell, build_hull
    >>> from bodygen.mesh.cut import to_mesh
    >>> box = to_mesh(manifold3d.Manifold.cube((60.0, 20.0, 10.0), True))
    >>> hull = build_hull([Shell(box.vertices, box.faces)])
    >>> silhouette(hull, np.array([0.0, 0.0, 1.0]))   # 60 by 20
    1200.0
    """
    way = np.asarray(np.round(way, ALIKE), dtype=np.float64)
    skin, *others = hull.parts
    outside = [part for part in others if part.volume > 0]
    spheres = hull.sphere_centres.tobytes(), hull.sphere_radii.tobytes()
    key = "silhouette", way.tobytes(), spheres, tuple(part.vertices.tobytes() for part in outside)
    return skin.kept.of(key, lambda: _silhouette([skin, *outside], hull, way))


def _silhouette(parts: Sequence[HullPart], hull: Hull, way: Array) -> float:
    first, second = square_to(way.tolist())
    frame = np.stack([first, second], axis=1)
    turn = np.linspace(0, 2 * np.pi, CIRCLE, endpoint=False)
    ring = np.stack([np.cos(turn), np.sin(turn)], axis=1) * np.sqrt(2 * np.pi / CIRCLE / np.sin(2 * np.pi / CIRCLE))
    middles = hull.sphere_centres @ frame
    circles = [middle + radius * ring for middle, radius in zip(middles, hull.sphere_radii, strict=True)]
    loops = [part.vertices[loop] @ frame for part in parts for loop in _rims(part, way)]
    return float(manifold3d.CrossSection([*loops, *circles], manifold3d.FillRule.Positive).area())


def _rims(part: HullPart, way: Array) -> list[list[int]]:
    """Closed loops of vertices round what faces ``way`` (3,), which lies on their left."""
    faces = part.faces
    across = part.kept.of("across each edge", lambda: _across_edges(faces))
    facing = part.kept.of("normals", lambda: doubled_areas(part.vertices[faces])) @ way > 0
    single = facing[:, None] & ~facing[across]
    tail, head = faces, np.roll(faces, -1, axis=1)
    onward: dict[int, list[int]] = {}
    for start, end in zip(tail[single].tolist(), head[single].tolist(), strict=True):
        onward.setdefault(start, []).append(end)
    loops = []
    while onward:
        at = next(iter(onward))
        loop = []
        while at in onward:
            loop.append(at)
            after = onward[at].pop()
            if not onward[at]:
                del onward[at]
            at = after
        loops.append(loop)
    return loops


def _across_edges(faces: Faces) -> Faces:
    """The face (m, 3) on the other side of each edge of the faces (m, 3) of a closed mesh, corner to next corner."""
    tail, head = faces.ravel(), np.roll(faces, -1, axis=1).ravel()
    count = int(faces.max()) + 1
    one_way, other_way = tail * count + head, head * count + tail
    order = np.argsort(one_way, kind="stable")
    found: Faces = order[np.searchsorted(one_way, other_way, sorter=order)] // 3
    return found.reshape(-1, 3)


def lift_at(speed: float, drag: Drag, water_g_cm3: float, coefficient: float | None = None) -> float:
    r"""Lift or weight under water [g] that drag balances at a speed [m/s].

    .. math:: D = \tfrac12 \rho v^2 C_D A, \quad m = D / g

    References
    ----------
    The definition of a drag coefficient; standard gravity: NIST SP 811 (``flotation.toml``).

    Examples
    --------
    >>> lift_at(0.1, Drag(1000.0, 0.5, 0.8, 1.2), 1.0)
    0.408
    """
    gravity = float(tables.load("flotation")["gravity"]["standard_m_s2"])
    used = drag.likely if coefficient is None else coefficient
    newton = 0.5 * water_g_cm3 * G_PER_KG * speed**2 * used * drag.area / MM2_PER_M2
    return newton / gravity * G_PER_KG


def speeds(lift_g: float, drag: Drag, water_g_cm3: float) -> tuple[float, float, float]:
    """Lowest, likely and highest speed [m/s] at which drag balances ``lift_g`` [g], whatever its sign.

    Elementary: ``lift_at`` solved for the speed.

    Examples
    --------
    >>> speeds(4 * 0.40789, Drag(1000.0, 0.2, 0.8, 3.2), 1.0)   # twice the speed for four times the lift
    (0.1, 0.2, 0.4)
    """
    unit = [lift_at(1.0, drag, water_g_cm3, used) for used in (drag.high, drag.likely, drag.low)]
    slow, likely, quick = (sqrt(abs(lift_g) / one) for one in unit)
    return slow, likely, quick


def straight_up(centre_of_buoyancy: Array, centre_of_mass: Array) -> Array:
    """The vertical in body axes (3,) [-] wholly under, from the two centres (3,) [mm]: buoyancy straight above mass.

    Elementary.

    Examples
    --------
    >>> straight_up(np.array([30.0, 0, 4]), np.array([33.0, 0, 0])).tolist()   # heavy behind: 3, 4, 5
    [-0.6, 0.0, 0.8]
    """
    arm = centre_of_buoyancy - centre_of_mass
    size = float(np.linalg.norm(arm))
    return np.array([0.0, 0.0, 1.0]) if size < 1e-9 else np.asarray(arm / size)


def asks_for_a_speed(goal: Goal) -> bool:
    """Whether it takes a drag to know what the goal asks for."""
    return goal.sinks_at is not None or goal.rises_at is not None


def drag_for(goal: Goal, answer: Answer) -> Drag:
    """Drag [-, mm^2] of a bait in the attitude in which it lies wholly under, at the speed that a goal asks for [m/s].

    See ``drag_of``, whose sources are from memory.
    """
    up = straight_up(answer.hull.centroid, answer.total.centre_of_mass)
    return drag_of(answer.hull, up, answer.sizes, goal.sinks_at or goal.rises_at)
