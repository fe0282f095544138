"""How far a cutter can be let down on a mesh before it touches: heights of its tip, and paths that follow them.

The touching itself is worked out by the library opencamlib (LGPL; it is there for Python 3.11 alone); here are the
batches, and the points between which a straight move stays true. Knows no stock and no feed.
"""

import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from importlib.util import find_spec
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from bodygen.errors import BodygenError
from bodygen.form.triples import doubled_areas
from bodygen.mesh.skin import Mesh
from bodygen.shop.mill.cutters import Cutter

if TYPE_CHECKING:
    from types import ModuleType

Array = NDArray[np.float64]
Steps = tuple[NDArray[np.int64], Array, Array, Array, Array]
"""Steps of rows: which row each is of, share and point of its start, share and point of its end."""
_UPWARD = -1e-9
_LENGTH_MM = 200.0  # of the cutter as the library is told: the real reach is checked where the stock is known
_FINEST_MM = 0.04
"""Samples stand no nearer than this: at a step of the mesh a move runs that much aslant."""
_ROUNDING_MM = 1e-3
BUCKET = 20
FEW = 400
"""So few places are touched down on what lies near them alone, as the library sorts all that it is given."""
BULGES = 3.0
"""How many tolerances a step may bulge by its ends' normals before it is looked at again."""
THINNINGS = 4
REMEDY = (
    "it is there for Python 3.11 alone. Build with that one, and add --only gcode for the programs alone: "
    "python3.11 -m venv .venv311 && .venv311/bin/pip install '.[cad,paper,mill]' && .venv311/bin/bodygen build RECIPE"
)


@dataclass(frozen=True, slots=True, eq=False)
class Surface:
    """What one cutter's tip can be let down to, never below ``lowest`` [mm]."""

    cutter: Cutter
    lowest: float
    triangles: tuple[Any, ...]  # the library's own, and all of them as it wants them
    skin: Any
    plan: Array  # (n, 4): what each covers in plan, x and y least, x and y greatest [mm]
    tool: Any


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

    Raises
    ------
    BodygenError
        If the library is not installed.
    """
    library = _library()
    corners = mesh.vertices[mesh.faces]
    normal = doubled_areas(corners)
    size = np.linalg.norm(normal, axis=1)
    corners = corners[normal[:, 2] > _UPWARD * size]
    point, triangle = library.Point, library.Triangle
    triangles = tuple(triangle(point(*a), point(*b), point(*c)) for a, b, c in corners.tolist())
    plan = np.concatenate([corners[:, :, :2].min(axis=1), corners[:, :, :2].max(axis=1)], axis=1)
    make = library.BallCutter if cutter.shape == "ball" else library.CylCutter
    return Surface(cutter, lowest, triangles, _skin(triangles), plan, make(cutter.diameter, _LENGTH_MM))


def there_is_a_library() -> bool:
    """Whether the library that works out the touching is installed; it is not loaded."""
    return sys.modules.get("opencamlib", True) is not None and find_spec("opencamlib") is not None


def _library() -> "ModuleType":
    try:
        import opencamlib
    except ImportError as error:
        msg = f"carving paths need the library opencamlib: {REMEDY}"
        raise BodygenError(msg) from error
    return opencamlib  # type: ignore[no-any-return]  # the library carries no types


def heights(surface: Surface, places: Array) -> Array:
    """Let the cutter down at (n, 2) places: (n, 4) of the tip's height and the unit normal where it touches [mm, -].

    The normal is nan where nothing is touched, and means something for a ball alone.
    """
    found = np.full((len(places), 4), np.nan)
    found[:, 0] = surface.lowest
    near = _near(surface, places) if len(places) <= FEW else surface.triangles
    if not len(places) or not near:
        return found
    library = _library()
    skin = surface.skin if near is surface.triangles else _skin(near)
    batch = library.BatchDropCutter()
    if len(places) <= FEW:
        batch.setThreads(1)
    batch.setSTL(skin)
    batch.setCutter(surface.tool)
    batch.setBucketSize(BUCKET)
    for x, y in places.tolist():
        batch.appendPoint(library.CLPoint(x, y, surface.lowest))
    batch.run()
    r = surface.cutter.radius
    for row, ((x, y), point) in enumerate(zip(places.tolist(), batch.getCLPoints(), strict=True)):
        z = point.z
        if z > surface.lowest:
            touch = point.getCC()
            found[row] = z, (x - touch.x) / r, (y - touch.y) / r, (z + r - touch.z) / r
    return found


def _skin(triangles: Sequence[Any]) -> Any:  # noqa: ANN401  the library carries no types
    skin = _library().STLSurf()
    for triangle in triangles:
        skin.addTriangle(triangle)
    return skin


def _near(surface: Surface, places: Array) -> Sequence[Any]:
    """The triangles that a cutter at any of these (n, 2) places can touch: sorting all of them takes the longer."""
    r = surface.cutter.radius + _ROUNDING_MM
    (x, y), plan = places.T[:, :, None], surface.plan
    inside = (plan[:, 0] - r <= x) & (x <= plan[:, 2] + r) & (plan[:, 1] - r <= y) & (y <= plan[:, 3] + r)
    return [surface.triangles[i] for i in np.flatnonzero(inside.any(axis=0))]


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
