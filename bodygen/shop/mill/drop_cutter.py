"""How far a cutter can be let down on a mesh before it touches: heights of its tip, and paths that follow them.

Here are the points between which a straight move stays true; touching.py works out each one. Knows no stock and no
feed.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bodygen.mesh.skin import Mesh
from bodygen.shop.mill.cutters import Cutter
from bodygen.shop.mill.touching import Facets, facets_of, tips

Array = NDArray[np.float64]
Steps = tuple[NDArray[np.int64], Array, Array, Array, Array]
"""Steps of rows: which row each is of, share and point of its start, share and point of its end."""
_FINEST_MM = 0.04
"""Samples stand no nearer than this: at a step of the mesh a move runs that much aslant."""
BULGES = 3.0
"""How many tolerances a step may bulge by its ends' normals before it is looked at again."""
THINNINGS = 4


@dataclass(frozen=True, slots=True, eq=False)
class Surface:
    """What one cutter's tip can be let down to, never below ``lowest`` [mm]."""

    cutter: Cutter
    lowest: float
    facets: Facets


def surface_of(mesh: Mesh, cutter: Cutter, lowest: float) -> Surface:
    """Make a mesh ready to be touched from above.

    Parameters
    ----------
    mesh : Mesh
        z up [mm]; faces that look down are left out.
    cutter : Cutter
        Flat or ball.
    lowest : float
        Where nothing is touched, the tip stands here [mm].
    """
    return Surface(cutter, lowest, facets_of(mesh, cutter.radius, ball=cutter.shape == "ball"))


def heights(surface: Surface, places: Array) -> Array:
    """Let the cutter down at (n, 2) places: (n, 4) of the tip's height and the unit normal where it touches [mm, -].

    The normal is nan where nothing is touched, and means something for a ball alone.
    """
    tip, touch = tips(surface.facets, places, surface.lowest)
    radius = surface.cutter.radius
    return np.column_stack([tip, (places - touch[:, :2]) / radius, (tip + radius - touch[:, 2]) / radius])


def followed(
    surface: Surface,
    starts: Array,
    ends: Array,
    spacing: float,
    tolerance: float,
    wanted: Callable[[Array], NDArray[np.bool_]] | None = None,
) -> list[Array]:
    """Points along straight rows, so close that moves between them leave the cutter's surface by no more than asked.

    Parameters
    ----------
    surface : Surface
        What to follow.
    starts, ends : (n, 2)
        The rows [mm].
    spacing : float
        Of the first points along a row [mm].
    tolerance : float
        Halfway between two points the surface is no farther from their chord than this, and a ball's contact normals
        at both say that it is not kinked between [mm].
    wanted : callable, optional
        Of (k, 3) normals: which of them matter; where neither end of a step does, and both touch
        or neither, no points are added.

    Returns
    -------
    list of (k, 6) arrays
        For each row: x, y, z of the tip and the normal where it touches, from start to end.
    """
    span = np.linalg.norm(ends - starts, axis=1)
    counts = np.maximum(2, np.ceil(span / spacing).astype(int) + 1)
    row = np.repeat(np.arange(len(starts)), counts)
    share = np.concatenate([np.linspace(0.0, 1.0, count) for count in counts]) if len(counts) else np.empty(0)

    def at(rows: NDArray[np.int64], shares: Array) -> Array:
        places = starts[rows] + (ends[rows] - starts[rows]) * shares[:, None]
        return np.concatenate([places, heights(surface, places)], axis=1)

    points = at(row, share)
    all_rows, all_shares, all_points = [row], [share], [points]
    first = np.flatnonzero(row[1:] == row[:-1])
    steps = row[first], share[first], points[first], share[first + 1], points[first + 1]
    while len(steps[0]):
        rows, s0, p0, s1, p1 = _matter(steps, span, wanted)
        middle = (s0 + s1) / 2
        found = at(rows, middle)
        all_rows.append(rows)
        all_shares.append(middle)
        all_points.append(found)
        steps = _still_far((rows, s0, p0, s1, p1), middle, found, span, tolerance, ball=surface.cutter.shape == "ball")
    row, share, points = np.concatenate(all_rows), np.concatenate(all_shares), np.concatenate(all_points)
    order = np.lexsort((share, row))
    row, points = row[order], points[order]
    return np.split(points, np.searchsorted(row, np.arange(1, len(starts)))) if len(starts) else []


def _matter(steps: Steps, span: Array, wanted: Callable[[Array], NDArray[np.bool_]] | None) -> Steps:
    """The steps that are long enough to be halved, and that matter."""
    rows, s0, p0, s1, p1 = steps
    long = span[rows] * (s1 - s0) > 2 * _FINEST_MM
    if wanted is not None:
        edge = np.isnan(p0[:, 3]) != np.isnan(p1[:, 3])  # the skin begins between: it may lean any way there
        long &= wanted(p0[:, 3:]) | wanted(p1[:, 3:]) | edge
    return rows[long], s0[long], p0[long], s1[long], p1[long]


def _still_far(steps: Steps, middle: Array, found: Array, span: Array, tolerance: float, *, ball: bool) -> Steps:
    """Both halves of each step, if the surface in its middle was too far from its chord, or kinked for a ball."""
    rows, s0, p0, s1, p1 = steps
    flat, rise = span[rows] * (s1 - s0), p1[:, 2] - p0[:, 2]
    off = np.abs(found[:, 2] - (p0[:, 2] + p1[:, 2]) / 2) * flat / np.maximum(np.hypot(flat, rise), 1e-12)
    s0, p0, s1, p1 = (np.concatenate(pair) for pair in ((s0, middle), (p0, found), (middle, s1), (found, p1)))
    far = np.concatenate([off, off]) > tolerance
    if ball:
        far |= _bulge(p0, p1) > BULGES * tolerance
    return np.concatenate([rows, rows])[far], s0[far], p0[far], s1[far], p1[far]


def _bulge(start: Array, end: Array) -> Array:
    """How far the surface may leave a chord, from how much it is tilted against it at its ends [mm].

    An arc that leaves its chord at an angle a rises about a quarter of a times the chord. A kink between two points can
    have its middle on the chord all the same, so that the middle alone would say nothing.
    """
    chord = end[:, :3] - start[:, :3]
    tilt = [np.abs(np.einsum("ij,ij->i", chord, np.nan_to_num(touch[:, 3:]))) for touch in (start, end)]
    return np.asarray(np.maximum(*tilt) / 4)


def thinned(points: Array, tolerance: float) -> Array:
    """Fewer points of a path, each left-out one within ``tolerance`` of the move that stands for it [mm].

    Every other point goes if it lies near the chord of its neighbours, a few times over; the shares of error add up.
    """
    for _ in range(THINNINGS):
        middle = points[1:-1:2, :3]
        if not len(middle):
            break
        before, after = points[: 2 * len(middle) : 2, :3], points[2 : 2 * len(middle) + 1 : 2, :3]
        along = after - before
        size = np.maximum(np.einsum("ij,ij->i", along, along), 1e-18)
        inner = middle - before
        share = np.einsum("ij,ij->i", inner, along) / size
        off = np.linalg.norm(inner - share[:, None] * along, axis=1)
        keep = np.ones(len(points), dtype=bool)
        keep[1 : 2 * len(middle) : 2] = (off > tolerance / THINNINGS) | (share < 0) | (share > 1)
        points = points[keep]
    return points
