"""Where a straight line passes through the body's skin: found on facets, then brought onto the surface itself."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache, partial

import numpy as np
from numpy.typing import NDArray

from bodygen.form.body import Body, bezier_points, fine_parameters
from bodygen.form.triples import cross, radii_around
from bodygen.kept import Kept

Array = NDArray[np.float64]
Indices = NDArray[np.intp]
ROWS_PER_SPAN, PARTS_PER_BEZIER = 3, 8
"""How fine the facets are: about 0.02 mm from the surface on a bait, near enough for Newton's method."""
STEPS = 8
"""Newton steps at most; four are usual."""
SETTLED_MM = 1e-9
STRAY_MM = 5.0
"""Newton steps that lead further away, or from going in to coming out, have lost their crossing: the facet's stands."""
CLOSE_MM = 1e-3
EDGE = 1e-9
"""Share of a facet by which a line may pass beside it and still hit: two neighbours must not both miss their edge."""
CLEAR_MM = 2.0
"""How far a tool reaches beyond the body's box, so that no face of it lies on the skin."""
SAME_MM = 1e-6
Crossings = Callable[[Array, Array], list[Array]]


@dataclass(frozen=True, slots=True)
class RayCaster:
    """The skin's answers to straight lines; a drawn body (here) and a mesh (mesh/) each give their own.

    ``lines``: (origins (k, 3), unit directions (k, 3)) -> for each the sorted distances at which that line passes the
    skin [mm]; many at once take little longer than one. ``heights``: x (k,) -> belly and back height in the mid-plane
    [mm], nan beside the body. ``low``, ``high``: the body's extents (3,) [mm].
    """

    lines: Crossings
    heights: Callable[[Array], tuple[Array, Array]]
    low: Array
    high: Array

    def crossings(self, origin: Array, direction: Array) -> Array:
        """Sorted distances (n,) [mm] at which one line passes the skin: origin (3,) [mm], unit direction (3,).

        As ``lines``.
        """
        return self.lines(origin[None], direction[None])[0]

    @property
    def reach(self) -> float:
        """A length that takes any tool clear of the body [mm].

        Elementary: the diagonal of the extents, and a little.
        """
        return float(np.linalg.norm(self.high - self.low)) + CLEAR_MM


def remembered(crossings: Crossings) -> Crossings:
    """The same answers [mm], each line asked of the skin but once.

    Examples
    --------
    >>> asked = []
    >>> skin = remembered(lambda origins, directions: asked.append(origins) or [np.array([1.0, 21.0])])
    >>> [skin(np.zeros((1, 3)), np.ones((1, 3)))[0].tolist() for _ in range(2)], len(asked)
    ([[1.0, 21.0], [1.0, 21.0]], 1)
    """
    kept = Kept()

    def asked(lines: list[bytes]) -> list[Array]:
        both = np.frombuffer(b"".join(lines)).reshape(-1, 6)
        distances = crossings(both[:, :3], both[:, 3:])
        for each in distances:
            each.setflags(write=False)
        return distances

    return lambda origins, directions: kept.each([line.tobytes() for line in np.hstack([origins, directions])], asked)


def once(distances: Array) -> Array:
    """Crossings (k,) in rising order, those within 1e-6 mm of each other (seen by two facets) as one [mm].

    Examples
    --------
    >>> once(np.array([21.0, 1.0, 21.0 + 1e-9])).tolist()
    [1.0, 21.0]
    """
    rising = np.sort(distances)
    return np.asarray(rising[np.append(True, np.diff(rising) > SAME_MM)[: len(rising)]])


@dataclass(frozen=True, slots=True, eq=False)
class _Facets:
    """Triangles of the whole skin, corners (m, 3, 3) [mm], and a ball round each: ``middle`` (3, m), ``radius`` (m,).

    ``side`` (m,) is 1 on the right, -1 on the left, 0 on a plane end, where the facets are exact. ``faces`` (n, 3) are
    those of the right half over its ``points`` (k, 2): u and the way round the section (the Bezier's number and how far
    along it). The left half follows it in the same order.
    """

    corners: Array
    side: Array
    middle: Array
    radius: Array
    faces: Indices
    points: Array

    def places(self, hit: Indices) -> Array:
        """Where the corners of facets (n,) lie on the right half's surface: (n, 3, 2); of no meaning on a plane end."""
        return np.asarray(self.points[self.faces[hit % len(self.faces)]])


def crossings(body: Body, origins: Array, directions: Array) -> list[Array]:
    """Distances along lines at which they enter and leave the body.

    Derived here: facets tell where to begin, Newton's method on the surface itself does the rest.

    Parameters
    ----------
    origins, directions : (k, 3) arrays
        Points [mm] and unit vectors.

    Returns
    -------
    list of (n,) arrays
        For each line, rising [mm], on the surface to 1e-9 mm but for sharp corners (there to about 0.02 mm); empty when
        the line misses. A graze that passes between the surface and its facets counts as a miss.

    Examples
    --------
    >>> from bodygen.form.fairing.offsets import Offsets, surface_through
    >>> one = np.ones(4)
    >>> bar = surface_through(Offsets(20 * np.arange(4), 10 * one, -10 * one, 8 * one, 0 * one, 2 * one, 2 * one))
    >>> up = crossings(bar, np.array([[30.0, 0.0, -50.0]]), np.array([[0.0, 0.0, 1.0]]))
    >>> [met.tolist() for met in up]   # belly at -10, back at 10
    [[40.0, 60.0]]
    """
    facets = _facets(body)
    line, hit, way, place, facing = _on_facets(facets, origins, directions)
    found = _on_surface(body, facets.side[hit], place, way, (line, origins[line], directions[line]), facing)
    at_point, point_way = _at_points(body, origins, directions)
    line, found = np.concatenate([line, at_point]), np.concatenate([found, point_way])
    return [once(found[line == k]) for k in range(len(origins))]


def _on_facets(facets: _Facets, origins: Array, directions: Array) -> tuple[Indices, Indices, Array, Array, Array]:
    """Which line meets which facet, how far along it [mm], their places (n, 2), and which way they face it; (n,) each.

    References
    ----------
    T. Moeller, B. Trumbore, Journal of Graphics Tools 2 (1997) 21-28 (from memory).
    """
    alike: dict[bytes, list[int]] = {}
    for k, direction in enumerate(directions):
        alike.setdefault(direction.tobytes(), []).append(k)
    pairs = [_near(facets, origins, directions[lines[0]], np.array(lines)) for lines in alike.values()]
    line, near = (np.concatenate(each) for each in zip(*pairs, strict=True))
    corners = facets.corners[near]
    corner, first, second = corners[:, 0], corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    origin, direction = origins[line], directions[line]
    p = cross(direction, second)
    det = np.einsum("ij,ij->i", first, p)
    with np.errstate(divide="ignore", invalid="ignore"):
        away = origin - corner
        a = np.einsum("ij,ij->i", away, p) / det
        q = cross(away, first)
        b = np.einsum("ij,ij->i", q, direction) / det
        way = np.einsum("ij,ij->i", second, q) / det
        met = np.flatnonzero((a >= -EDGE) & (b >= -EDGE) & (a + b <= 1 + EDGE) & np.isfinite(way))
    share, way, det, hit = np.stack([1 - a[met] - b[met], a[met], b[met]], axis=1), way[met], det[met], near[met]
    return line[met], hit, way, np.einsum("kc,kcp->kp", share, facets.places(hit)), det * facets.side[hit]


def _near(facets: _Facets, origins: Array, direction: Array, lines: Indices) -> tuple[Indices, Indices]:
    """Which of some ``lines`` of one direction may meet which facet, as pairs; a bundle is first taken as one thick."""
    middle = origins[lines].mean(axis=0)
    thick = np.sqrt(_squares_off((origins[lines] - middle).T, direction).max())
    near = np.flatnonzero(_squares_off(facets.middle - middle[:, None], direction) <= (facets.radius + thick) ** 2)
    off = _squares_off(facets.middle[:, near] - origins[lines, :, None], direction)
    line, few = np.nonzero(off <= facets.radius[near] ** 2)
    return lines[line], near[few]


def _squares_off(away: Array, direction: Array) -> Array:
    """Squared distances (..., n) [mm^2] of places (..., 3, n) from a line through the zero."""
    return np.asarray(np.maximum((away * away).sum(axis=-2) - (direction @ away) ** 2, 0.0))


def _on_surface(
    body: Body, side: Array, place: Array, way: Array, line: tuple[Indices, Array, Array], facing: Array
) -> Array:
    """The crossings of the surface itself, from those of its facets (n,) [mm], by Newton's method."""
    curved = np.flatnonzero(side)
    if not len(curved):
        return way
    flip = np.stack([np.ones(len(curved)), side[curved], np.ones(len(curved))], axis=1)
    number, start, along = line[0][curved], line[1][curved] * flip, line[2][curved] * flip
    u, v, s = place[curved, 0], place[curved, 1], way[curved].copy()
    settled, det = np.zeros(len(curved), dtype=bool), np.zeros(len(curved))
    for _ in range(STEPS):
        point, du, dv = body.places(u, v)
        off = start + s[:, None] * along - point
        normal = cross(du, dv)
        det = np.einsum("ij,ij->i", normal, along)
        settled = np.linalg.norm(off, axis=1) < SETTLED_MM
        if settled.all():
            break
        # Cramer's rule: a point of the body, where the surface has no tangent plane, must not stop the others; and a
        # line stays where it has arrived, so that no digit tells which others were asked for with it
        on_its_way = (np.bincount(number, ~settled) > 0)[number]
        step = 1 / np.where((np.abs(det) > 1e-14) & on_its_way, det, np.inf)
        u = u + np.einsum("ij,ij->i", cross(dv, along), off) * step
        v = v + np.einsum("ij,ij->i", cross(along, du), off) * step
        u = np.minimum(np.maximum(u, body.knots[0]), body.knots[-1])  # np.clip takes twice as long
        v = np.minimum(np.maximum(v, 0.0), body.segments)
        s -= np.einsum("ij,ij->i", normal, off) * step
    way = way.copy()
    kept = settled & (np.abs(s - way[curved]) < STRAY_MM) & (det * facing[curved] >= 0)
    way[curved[kept]] = s[kept]
    return way


def _at_points(body: Body, origins: Array, directions: Array) -> tuple[Indices, Array]:
    """Which lines meet an end that closes to a point, and where: facets are needles there, and end bores aim at it."""
    tips = body.poles[[row for row, flat in ((0, body.nose_flat), (-1, body.tail_flat)) if not flat], 0]
    away = tips - origins[:, None]
    way = (away @ directions[:, :, None])[..., 0]
    line, tip = np.nonzero(np.linalg.norm(away - way[..., None] * directions[:, None], axis=2) < SAME_MM)
    return line, way[line, tip]


@lru_cache(maxsize=16)
def _facets(body: Body) -> _Facets:
    u = fine_parameters(body, ROWS_PER_SPAN)
    half = bezier_points(body.polygons(u), PARTS_PER_BEZIER)
    rows, columns = half.shape[:2]
    points = np.stack(np.broadcast_arrays(u[:, None], np.arange(columns) / PARTS_PER_BEZIER), axis=2).reshape(-1, 2)
    faces = _grid_faces(rows, columns)
    right = half.reshape(-1, 3)[faces]
    ends = [_plane_end(body, row) for row, flat in ((0, body.nose_flat), (-1, body.tail_flat)) if flat]
    corners = np.concatenate([right, right * (1.0, -1.0, 1.0), *ends])
    extra = len(corners) - 2 * len(right)
    # the left half's balls are the right half's, mirrored
    alone = np.concatenate([right, *ends])
    middle = (alone[:, 0] + alone[:, 1] + alone[:, 2]) / 3
    radius = radii_around(alone, middle) + CLOSE_MM
    twice = np.concatenate([np.arange(len(right)), np.arange(len(alone))])
    middle = middle[twice]
    middle[len(right) : 2 * len(right), 1] *= -1.0
    side = np.repeat([1.0, -1.0, 0.0], [len(right), len(right), extra])
    return _Facets(corners, side, np.ascontiguousarray(middle.T), radius[twice], faces, points)


@lru_cache(maxsize=16)  # a body of another shape mostly has as many rows
def _grid_faces(rows: int, columns: int) -> Indices:
    """Two triangles (n, 3) for each cell of a grid of points."""
    index = np.arange(rows * columns).reshape(rows, columns)
    a, b, c, d = index[:-1, :-1], index[:-1, 1:], index[1:, :-1], index[1:, 1:]
    return np.concatenate([np.stack([a, b, c], -1).reshape(-1, 3), np.stack([b, d, c], -1).reshape(-1, 3)])


def _plane_end(body: Body, row: int) -> Array:
    """A sized end as a fan of thin triangles (m, 3, 3) [mm]."""
    rim = bezier_points(body.poles[row], 8 * PARTS_PER_BEZIER)
    rim = np.concatenate([rim, rim[-2:0:-1] * (1.0, -1.0, 1.0)])
    middle = np.broadcast_to(rim.mean(axis=0), rim.shape)
    return np.stack([middle, rim, np.roll(rim, -1, axis=0)], axis=1)


def box(body: Body) -> tuple[Array, Array]:
    """The body's extents.

    Returns
    -------
    low, high : (3,) arrays
        The least and the greatest x, y, z [mm] of its own sections, eight to a span.

    Examples
    --------
    >>> from bodygen.form.fairing.offsets import Offsets, surface_through
    >>> one = np.ones(4)
    >>> bar = surface_through(Offsets(20 * np.arange(4), 10 * one, -10 * one, 8 * one, 0 * one, 2 * one, 2 * one))
    >>> [corner.tolist() for corner in box(bar)]
    [[0.0, -8.0, -10.0], [60.0, 8.0, 10.0]]
    """
    u = np.linspace(body.knots[0], body.knots[-1], 8 * len(body.breaks))
    polygon = body.polygons(u)
    wide = float(polygon[:, body.widest_index, 1].max())
    return (
        np.array([0.0, -wide, float(polygon[:, 0, 2].min())]),
        np.array([body.length, wide, float(polygon[:, -1, 2].max())]),
    )


def ray_caster_of(body: Body) -> RayCaster:
    """The body's answers to straight lines, all in [mm].

    Examples
    --------
    >>> from bodygen.form.fairing.offsets import Offsets, surface_through
    >>> one = np.ones(4)
    >>> bar = surface_through(Offsets(20 * np.arange(4), 10 * one, -10 * one, 8 * one, 0 * one, 2 * one, 2 * one))
    >>> [heights.tolist() for heights in ray_caster_of(bar).heights(np.array([30.0]))]
    [[-10.0], [10.0]]
    """

    def heights(x: Array) -> tuple[Array, Array]:
        belly, back = body.heights_at(x)
        beside = (x < 0) | (x > body.length)
        return np.where(beside, np.nan, belly), np.where(beside, np.nan, back)

    low, high = box(body)
    return RayCaster(remembered(partial(crossings, body)), heights, low, high)
