"""The body as two halves to be pinned and glued: where the key pins go.

The halves part at the mid-plane y = 0, where the bait's two sides mirror each other. There every bore of the mid-plane
opens into a groove that can be cleaned, lined or filled; each half lies flat on its parting face, on a print bed
without supports or on a board; and since a section only gets lower away from this plane, the outside of both halves
draws from a mould. The pencil line of the profile template lies in it.

Knows joints. Makes no solid: a pin hole is a tool like a drill's, and mesh/ and solid/ each cut with it.
"""

from dataclasses import dataclass, replace

import manifold3d
import numpy as np

from bodygen.findings import Finding, Severity
from bodygen.form.cuts import Revolved
from bodygen.mesh.cut import known_manifold
from bodygen.mesh.skin import Array, Mesh
from bodygen.tables import as_row, load

DEPTH_STEP_MM = 1.0
STEP_MM = 0.5
"""Pins stand on columns this far apart along the body."""
ROUNDNESS = 64
"""Sides of the circle that keeps the distance: 0.1 % short at worst."""


@dataclass(frozen=True, slots=True)
class Dowel:
    """A key pin and the hole it needs; lengths mm.

    ``depth`` is in each half, and may shrink to ``least_depth`` in a thin body; ``clearance`` is on the hole's diameter
    and depth, ``wood_left`` around and below it, ``least_spacing`` between two pins. ``count`` pins are wanted.
    """

    diameter: float
    depth: float
    least_depth: float
    clearance: float
    wood_left: float
    least_spacing: float
    count: int

    @property
    def hole_radius(self) -> float:
        """[mm]."""
        return (self.diameter + self.clearance) / 2

    @property
    def hole_depth(self) -> float:
        """In each half [mm]."""
        return self.depth + self.clearance


@dataclass(frozen=True, slots=True)
class Halves:
    """Pin holes, each reaching into both halves, from nose to tail; and what there was no room for."""

    pins: tuple[Revolved, ...]
    findings: tuple[Finding, ...]


def default_dowel() -> Dowel:
    """The dowel of ``tables/joinery.toml``: common practice, no published source."""
    return as_row(Dowel, load("joinery")["dowel"])


def halves_of(cut_body: Mesh, dowel: Dowel) -> Halves:
    """Place the key pins of a cut body, spread over its length, each with ``dowel.wood_left`` around it at least.

    Parameters
    ----------
    cut_body : Mesh
        The body after every bore and slot [mm].
    dowel : Dowel
        Pin and hole.

    Returns
    -------
    Halves
        As many pins as find room, up to ``dowel.count``, all of one depth, the greatest that lets most of them stand;
        fewer pins than wanted is a finding.
    """
    chosen, places, solid = dowel, list[tuple[float, float]](), known_manifold(cut_body)
    for depth in np.append(np.arange(dowel.depth, dowel.least_depth, -DEPTH_STEP_MM), dowel.least_depth):
        shallower = replace(dowel, depth=float(depth))
        found = _spread(_columns(_free_region(solid, shallower)), shallower)
        if len(found) > len(places):
            chosen, places = shallower, found
        if len(places) == dowel.count:
            break
    pins = tuple(_hole(chosen, number, x, z) for number, (x, z) in enumerate(places, start=1))
    return Halves(pins, _checks(len(pins), dowel))


def _free_region(cut_body: manifold3d.Manifold, dowel: Dowel) -> manifold3d.CrossSection:
    """Where in the mid-plane (x, z) a pin's middle may stand.

    A slab as thick as the hole and the wood below it, less the body, is all that a pin must keep away from, skin, bores
    and slots alike; its shadow on the mid-plane, grown by the hole's radius and the wood around it, is forbidden.
    """
    box = np.array(cut_body.bounding_box())
    low, high = box[:3] - 1.0, box[3:] + 1.0
    half = dowel.hole_depth + dowel.wood_left
    slab = manifold3d.Manifold.cube((high[0] - low[0], 2 * half, high[2] - low[2])).translate((low[0], -half, low[2]))
    gaps = slab - cut_body
    shadow = gaps.transform(np.array([[1.0, 0, 0, 0], [0, 0, 1.0, 0], [0, -1.0, 0, 0]])).project()
    frame = manifold3d.CrossSection.square((high[0] - low[0], high[2] - low[2])).translate((low[0], low[2]))
    keep_off = dowel.hole_radius + dowel.wood_left
    return frame - shadow.offset(keep_off, manifold3d.JoinType.Round, circular_segments=ROUNDNESS)


def _columns(free: manifold3d.CrossSection) -> Array:
    """The middle of the longest upright run of room every half millimetre along the body: (k, 2) of x and z [mm]."""
    if free.is_empty():
        return np.empty((0, 2))
    start = np.concatenate(free.to_polygons())
    end = np.concatenate([np.roll(polygon, -1, axis=0) for polygon in free.to_polygons()])
    first, last = start[:, 0].min(), start[:, 0].max()
    found = []
    for x in np.arange(np.ceil(first / STEP_MM), np.floor(last / STEP_MM) + 1) * STEP_MM:
        crossed = (start[:, 0] <= x) != (end[:, 0] <= x)
        a, b = start[crossed], end[crossed]
        heights = np.sort(a[:, 1] + (b[:, 1] - a[:, 1]) * (x - a[:, 0]) / (b[:, 0] - a[:, 0])).reshape(-1, 2)
        if len(heights):
            found.append((x, float(heights[np.argmax(np.diff(heights, axis=1))].mean())))
    return np.array(found).reshape(-1, 2)


def _spread(columns: Array, dowel: Dowel) -> list[tuple[float, float]]:
    """The two ends of the room first, then each time the place farthest from all chosen; sorted from the nose on."""
    chosen: list[Array] = []
    while len(columns) and len(chosen) < dowel.count:
        away = [np.linalg.norm(columns - place, axis=1) for place in chosen]
        nearest = np.min(away, axis=0) if away else -columns[:, 0]
        best = int(np.argmax(nearest))
        if away and nearest[best] < dowel.least_spacing:
            break
        chosen.append(columns[best])
    if len(chosen) == 1:
        chosen = [columns[len(columns) // 2]]
    return sorted((round(float(x), 2), round(float(z), 2)) for x, z in chosen)


def _hole(dowel: Dowel, number: int, x: float, z: float) -> Revolved:
    r, depth = dowel.hole_radius, dowel.hole_depth
    return Revolved(
        f"key pin {number}",
        "pin",
        -1,
        mirrored=False,
        origin=(x, -depth, z),
        axis=(0.0, 1.0, 0.0),
        profile=((0.0, 0.0), (0.0, r), (2 * depth, r), (2 * depth, 0.0)),
        ball=False,
        diameter=2 * r,
        shoulder=2 * depth,
        point=2 * depth,
    )


def _checks(pins: int, dowel: Dowel) -> tuple[Finding, ...]:
    if pins >= dowel.count:
        return ()
    if pins == 0:
        remedy = (
            "no room for a key pin: register the halves by their edges while the glue sets, or choose a thinner dowel"
        )
    elif pins == 1:
        remedy = "room for one key pin only: the halves can still turn on it; clamp them by their edges"
    else:
        remedy = "fewer key pins than wanted found room; two hold the halves in place"
    severity: Severity = "warning" if pins < 2 else "note"
    return (Finding("halves-pins", severity, "halves", remedy, float(pins), float(dowel.count), "pins"),)
