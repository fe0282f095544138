"""The body as a closed triangle mesh of a chosen tolerance, every vertex on the surface, exactly symmetric to y = 0."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from bodygen.form import spline
from bodygen.form.body import Body, bezier_points

Array = NDArray[np.float64]
Faces = NDArray[np.int64]
STRAIGHT, STRAIGHT_MM = 4, 1e-9
"""Chords that a straight part of the sections is cut into, for it may twist along the body; what counts as straight."""

REMEMBERED_POINTS = 50_000
"""Faces of larger meshes are made anew, so that few megabytes are held."""


@dataclass(frozen=True, slots=True, eq=False)
class Mesh:
    """A closed triangle mesh: vertices (n, 3) [mm], faces (m, 3) counter-clockwise seen from outside."""

    vertices: Array
    faces: Faces


@dataclass(frozen=True, slots=True, eq=False)
class Rings:
    """The skin as rings of points around it: the right half's (m, k, 3) [mm], belly to back, nose to tail.

    ``flat`` tells which ends, nose and tail, are closed by a plane face; the others run to a point.
    """

    half: Array
    flat: tuple[bool, bool]

    def mesh(self) -> Mesh:
        """All of it as a closed mesh [mm].

        Examples
        --------
        >>> corner = np.array([[0.0, 0, -5], [0, 8, -5], [0, 8, 5], [0, 0, 5]])
        >>> box = Rings(np.stack([corner, corner + (60.0, 0, 0)]), (True, True)).mesh()
        >>> box.vertices.min(axis=0).tolist(), box.vertices.max(axis=0).tolist()
        ([0.0, -8.0, -5.0], [60.0, 8.0, 5.0])
        """
        return _closed(self.half, self.flat)

    def part(self, rings: Sequence[int], lines: Sequence[int]) -> Mesh:
        """The part over some rings and lines along them, in order, closed by plane faces where it was cut [mm].

        Examples
        --------
        >>> corner = np.array([[0.0, 0, -5], [0, 8, -5], [0, 8, 5], [0, 0, 5]])
        >>> bar = Rings(np.stack([corner + (x, 0, 0) for x in (0.0, 20, 40, 60)]), (True, True))
        >>> float(bar.part([1, 2], range(4)).vertices[:, 0].max())
        40.0
        """
        flat = self.flat[0] or rings[0] > 0, self.flat[1] or rings[-1] < len(self.half) - 1
        return _closed(self.half[np.ix_(rings, lines)], flat)


def body_mesh(body: Body, tolerance: float, around: float | None = None) -> Mesh:
    """The body's skin, nowhere further than about ``tolerance`` [mm] from its mesh; ``around`` a section, where said.

    The chord's rise over an arc of parameter h is at most h^2/8 of the second derivative; the subdivision follows from
    the poles, so that a tighter tolerance refines every part alike.

    The chord's rise is elementary calculus; the bound from the poles is derived here.

    Examples
    --------
    >>> from bodygen.form.fairing.offsets import Offsets, surface_through
    >>> one = np.ones(4)
    >>> bar = surface_through(Offsets(20 * np.arange(4), 10 * one, -10 * one, 8 * one, 0 * one, 2 * one, 2 * one))
    >>> from bodygen.mesh.measure import enclosed
    >>> volume, exact = enclosed(body_mesh(bar, 0.001)), 60 * np.pi * 8 * 10
    >>> bool(0 < exact - volume < 0.001 * 60 * 2 * np.pi * 10)   # less than the tolerance all over the skin
    True
    """
    return body_rings(body, tolerance, around, even=True).mesh()


def body_rings(body: Body, tolerance: float, around: float | None = None, *, even: bool = False) -> Rings:
    """The rings of that mesh [mm]; unless they are to be ``even``, with few points where a section runs straight."""
    steps = [steps_around(body, tolerance if around is None else around)] * body.segments
    if not even:
        steps = [min(n, STRAIGHT) if bend < STRAIGHT_MM else n for n, bend in zip(steps, _bends(body), strict=True)]
    u = parameters_along(body, tolerance)
    return Rings(bezier_points(body.polygons(u), steps), (body.nose_flat, body.tail_flat))


def steps_around(body: Body, tolerance: float) -> int:
    """Into how many chords [-] each Bezier of a section is cut to stay within ``tolerance`` [mm].

    Derived here: h^2/8 of the greatest second derivative.

    Examples
    --------
    >>> from bodygen.form.fairing.offsets import Offsets, surface_through
    >>> one = np.ones(4)
    >>> bar = surface_through(Offsets(20 * np.arange(4), 10 * one, -10 * one, 8 * one, 0 * one, 2 * one, 2 * one))
    >>> steps_around(bar, 0.01) < steps_around(bar, 0.0025) <= 2 * steps_around(bar, 0.01)   # as the square root
    True
    """
    return int(np.clip(np.ceil(np.sqrt(max(_bends(body)) / (8 * tolerance))), 4, 200))


@lru_cache(maxsize=4)  # one body has meshes of several tolerances
def _bends(body: Body) -> tuple[float, ...]:
    """The greatest second derivative [mm] of each Bezier of the sections."""
    segments = (6 * np.diff(body.poles[:, i : i + 4], n=2, axis=1) for i in range(0, 3 * body.segments, 3))
    return tuple(float(np.linalg.norm(bend, axis=2).max()) for bend in segments)


def parameters_along(body: Body, tolerance: float) -> Array:
    """Parameters [-] of the rings (m,) that keep chords along the body within ``tolerance`` [mm]; every knot is one.

    Derived here: h^2/8 of the greatest second derivative.

    Examples
    --------
    >>> from bodygen.form.fairing.offsets import Offsets, surface_through
    >>> one = np.ones(4)
    >>> bar = surface_through(Offsets(20 * np.arange(4), 10 * one, -10 * one, 8 * one, 0 * one, 2 * one, 2 * one))
    >>> parameters_along(bar, 0.01).tolist()   # straight: the knots alone
    [0.0, 0.33333, 0.66667, 1.0]
    """
    breaks = body.breaks
    width = np.diff(breaks)
    count = np.clip(np.ceil(width * np.sqrt(_bend_along(body) / (8 * tolerance))), 1, 200).astype(int)
    part = np.arange(count.sum()) - np.repeat(np.cumsum(count) - count, count)
    return np.append(
        np.repeat(breaks[:-1], count) + np.repeat(width, count) * part / np.repeat(count, count), breaks[-1]
    )


@lru_cache(maxsize=4)
def _bend_along(body: Body) -> Array:
    """The greatest second derivative by the parameter [mm] in each span (k,): linear, so it is at an end of it."""
    breaks, width = body.breaks, np.diff(body.breaks)
    inner = np.concatenate([breaks[:-1] + 1e-9 * width, breaks[1:] - 1e-9 * width])
    bend = np.linalg.norm(spline.evaluate(body.knots, body.poles, inner, 2), axis=2).max(axis=1)
    return np.asarray(np.maximum(*np.split(bend, 2)))


def _closed(half: Array, flat: tuple[bool, bool]) -> Mesh:
    """Close the right half (m, k, 3) with its mirror image, and the ends with fans."""
    ring = np.concatenate([half, half[:, -2:0:-1] * (1.0, -1.0, 1.0)], axis=1)
    rows, size = ring.shape[:2]
    first, last = (0 if flat[0] else 1), (rows if flat[1] else rows - 1)
    nose, tail = ring[0].mean(axis=0) * (1.0, 0.0, 1.0), ring[-1].mean(axis=0) * (1.0, 0.0, 1.0)
    vertices = np.concatenate([ring[first:last].reshape(-1, 3), [nose, tail]])
    faces_of = _ring_faces if len(vertices) < REMEMBERED_POINTS else _ring_faces.__wrapped__
    return Mesh(vertices, faces_of(last - first, size))


@lru_cache(maxsize=64)  # a body of another shape mostly has as many rings of as many points
def _ring_faces(count: int, size: int) -> Faces:
    """The faces (m, 3) of ``count`` rings of ``size`` points one after the other, then nose and tail; read only."""
    index = np.arange(count * size).reshape(count, size)
    a, b = index[:-1], np.roll(index[:-1], -1, axis=1)
    c, d = index[1:], np.roll(index[1:], -1, axis=1)
    mirrored = np.arange(size) >= size // 2  # the diagonals mirror too: roll moments vanish to the last bit
    quads = np.empty((*a.shape, 2, 3), dtype=np.int64)
    quads[..., 0, 0], quads[..., 0, 1], quads[..., 0, 2] = a, b, np.where(mirrored, d, c)
    quads[..., 1, 0], quads[..., 1, 1], quads[..., 1, 2] = np.where(mirrored, a, b), d, c
    tip, start, end = count * size, index[0], index[-1]
    fans = [
        np.stack([np.full(size, tip), np.roll(start, -1), start], axis=1),
        np.stack([np.full(size, tip + 1), end, np.roll(end, -1)], axis=1),
    ]
    faces = np.concatenate([quads.reshape(-1, 3), *fans])
    faces.setflags(write=False)
    return faces
