"""What is cut from: the body as rings of facets, of which a cut is shown only those near it.

A boolean takes about as long as it has triangles, and a bore meets a tenth of the body's. The part between two rings is
the body's own there, closed by plane faces that the cut does not reach.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import lru_cache

import manifold3d
import numpy as np
from numpy.typing import NDArray

from bodygen.form.cuts import Revolved, Tool, square_to
from bodygen.form.integrals import Array
from bodygen.form.spline import distinct
from bodygen.form.triples import extents
from bodygen.kept import Kept
from bodygen.mesh.cut import SKIN, to_manifold, tool_mesh
from bodygen.mesh.skin import Mesh, Rings

PARTS = 24
"""Rings are counted in so many parts of the body, so that neighbouring cuts are shown the same piece of it."""
CLEAR_MM = 0.1
STRIP = 4
"""Lines along the skin between which one strip of facets is enough where no cut comes near."""

Span = tuple[float, float]
"""From x to x [mm]."""
Box = Sequence[float]
"""Least x, y, z and greatest x, y, z [mm]."""


@dataclass(frozen=True, slots=True, eq=False)
class Reach:
    """A box along a cut's own ``axes`` (3, 3), unit rows, from ``low`` to ``high`` (3,) [mm]: all that it can touch."""

    axes: Array
    low: Array
    high: Array

    @property
    def even(self) -> bool:
        """Whether it is surely its own mirror image at y = 0."""
        across = np.abs(self.axes[:, 1])
        i = int(np.argmax(across))
        return bool(across[i] == 1.0 and self.low[i] == -self.high[i])

    @property
    def span(self) -> Span:
        """From which x to which it may reach [mm]."""
        ends = np.sort(self.axes[:, :1] * np.stack([self.low, self.high], axis=1), axis=1).sum(axis=0)
        return float(ends[0]), float(ends[1])


@dataclass(frozen=True, slots=True, eq=False)
class BaseMesh:
    """The uncut body: its mesh [mm], its ``rings`` where it has any, and every answer that follows from it.

    ``rough`` makes rings of fewer facets, for what is only counted.
    """

    mesh: Mesh
    rings: Rings | None = None
    kept: Kept = field(default_factory=Kept)
    rough: Callable[[], Rings] | None = None

    def roughly(self) -> "BaseMesh":
        """The same in fewer facets [mm]; itself where it has no rings."""
        make = self.rough
        return self if make is None else self.kept.of("roughly", lambda: _of_rings(make()))

    def whole(self) -> manifold3d.Manifold:
        """All of it as a solid [mm].

        Raises
        ------
        DesignError
            The mesh is not closed.
        """
        return self.kept.of("whole", lambda: to_manifold(self.mesh, SKIN))

    @property
    def extents(self) -> tuple[Array, Array]:
        """Least and greatest x, y, z, (3,) each [mm].

        Elementary.
        """
        return self.kept.of("extents", lambda: extents(self.mesh.vertices))

    def rows(self, span: Span) -> tuple[int, int] | None:
        """The first and the last ring [-] of the part around a span of x [mm]; None where that is all of the body.

        Derived here: the nearest of the counted rings that lie clear of the span.
        """
        if self.rings is None:
            return None
        count = len(self.rings.half)
        x = self.rings.half[:, :, 0]
        steps = _steps(count)
        before = steps[:-1][x[steps[:-1]].max(axis=1) < span[0] - CLEAR_MM]  # a span past an end has a ring as well
        beyond = steps[1:][x[steps[1:]].min(axis=1) > span[1] + CLEAR_MM]
        first, last = (before[-1] if len(before) else 0), (beyond[0] if len(beyond) else count - 1)
        return None if (first, last) == (0, count - 1) else (int(first), int(last))

    def around(self, span: Span, reach: Reach | None = None) -> manifold3d.Manifold:
        """The part of the body around a span of x [mm], closed beyond it; with few facets far from a cut's reach."""
        rings, rows = self.rings, self.rows(span)
        if rings is None or (rows is None and reach is None):
            return self.whole()
        first, last = rows or (0, len(rings.half) - 1)
        steps = _steps(len(rings.half))
        steps = steps[(steps >= first) & (steps <= last)]
        lines = (range(first, last + 1), range(rings.half.shape[1])) if reach is None else _lines(rings, steps, reach)
        key = "part", *map(tuple, lines)
        return self.kept.of(key, lambda: to_manifold(rings.part(*lines), SKIN))


@lru_cache(maxsize=16)
def _steps(count: int) -> NDArray[np.int64]:
    return distinct(np.linspace(0, count - 1, PARTS + 1).astype(int))


def _lines(rings: Rings, steps: NDArray[np.int64], reach: Reach) -> tuple[list[int], list[int]]:
    """Which rings between the first and the last of ``steps``, and which lines along them, are kept for a cut.

    Derived here: facets between two rings and two lines lie within the extents of all points between, of more facets.
    """
    count = rings.half.shape[1]
    strips = np.append(np.arange(0, count - 1, STRIP), count - 1)
    low, high = _extents(rings, steps, strips, reach)
    kept_rings, low, high = _far_merged(low, high, steps, reach)
    kept_lines, _, _ = _far_merged(low.swapaxes(0, 1), high.swapaxes(0, 1), strips, reach)
    return kept_rings if len(kept_rings) > 2 else steps.tolist(), kept_lines  # of two points there is no body


def _far_merged(low: Array, high: Array, bounds: NDArray[np.int64], reach: Reach) -> tuple[list[int], Array, Array]:
    """The places between ``bounds`` (n + 1,) that are kept: all in a part (n, k, 3) near a cut, of others few.

    And the extents [mm] of the parts as they are then.
    """
    near: list[bool] = np.any(((low < reach.high) & (high > reach.low)).all(axis=2), axis=1).tolist()
    kept: list[int] = []
    lows, highs = [], []
    start = 0
    while start < len(near):
        least, most, end = low[start], high[start], start + 1
        while not near[start] and end < len(near) and not near[end]:
            lower, higher = np.minimum(least, low[end]), np.maximum(most, high[end])
            if ((lower < reach.high) & (higher > reach.low)).all(axis=1).any():
                break
            least, most, end = lower, higher, end + 1
        kept += range(bounds[start], bounds[end] if near[start] else bounds[start] + 1)
        lows.append(least)
        highs.append(most)
        start = end
    return [*kept, int(bounds[-1])], np.array(lows), np.array(highs)


def _extents(rings: Rings, steps: NDArray[np.int64], strips: NDArray[np.int64], reach: Reach) -> tuple[Array, Array]:
    """Least and greatest (m, k, 3) [mm] along a cut's axes of both sides' skin, between steps and between strips."""
    part = rings.half[steps[0] : steps[-1] + 1]
    here = part @ reach.axes.T
    there = here if reach.even else part * (1.0, -1.0, 1.0) @ reach.axes.T
    found = []
    for pick in (np.minimum, np.maximum):
        at = pick(here, there)
        at = pick(pick.reduceat(at, steps[:-1] - steps[0], axis=0), at[steps[1:] - steps[0]])
        found.append(pick(pick.reduceat(at, strips[:-1], axis=1), at[:, strips[1:]]))
    return found[0], found[1]


def _of_rings(rings: Rings) -> BaseMesh:
    return BaseMesh(rings.mesh(), rings)


@lru_cache(maxsize=64)  # as the mesh itself
def box_of(tool: Tool) -> Box:
    """The extents of a tool's mesh [mm].

    Elementary.
    """
    low, high = extents(tool_mesh(tool).vertices)
    return (*low.tolist(), *high.tolist())


@lru_cache(maxsize=64)
def reach_of(tool: Tool) -> Reach:
    """All that a tool's mesh can touch [mm].

    Elementary.
    """
    if isinstance(tool, Revolved):
        axes = np.stack([tool.axis, *square_to(tool.axis)])
        r = 1.01 * max(radius for _, radius in tool.profile)
        low, high = (tool.profile[0][0], -r, -r), (tool.profile[-1][0], r, r)
    else:
        axes = np.stack([tool.along, tool.normal, np.cross(tool.along, tool.normal)])
        a, b = np.array(tool.polygon).T
        low, high = (a.min(), b.min(), -tool.half), (a.max(), b.max(), tool.half)
    return reach_around(axes, np.array(tool.origin), np.array(low), np.array(high))


def reach_around(axes: Array, origin: Array, low: Array, high: Array) -> Reach:
    """The reach along some axes (3, 3) of what lies between two corners (3,) seen from an origin (3,) [mm]."""
    at = axes @ origin
    return Reach(axes, at + low - CLEAR_MM, at + high + CLEAR_MM)


def boxes_meet(a: Box, b: Box) -> bool:
    """Whether two boxes share more than a face.

    Elementary.

    Examples
    --------
    >>> boxes_meet((0, 0, 0, 2, 2, 2), (1, 1, 1, 3, 3, 3)), boxes_meet((0, 0, 0, 2, 2, 2), (2, 0, 0, 3, 2, 2))
    (True, False)
    """
    return all(a[i] < b[i + 3] and b[i] < a[i + 3] for i in range(3))


def span_of(tool: Tool, box: Box, low: Array, high: Array) -> Span:
    """Between which x a cut of these extents may meet the body, whose own are ``low`` and ``high`` (3,) [mm].

    A drill that leans reaches far beyond the body on its way in: that part of its path is left out.

    Elementary: the axis clipped to the body's extents.
    """
    if not isinstance(tool, Revolved):
        return box[0], box[3]
    axis, origin = np.array(tool.axis), np.array(tool.origin)
    r = 1.01 * max(radius for _, radius in tool.profile) + CLEAR_MM
    s = np.array([tool.profile[0][0] - CLEAR_MM, tool.profile[-1][0] + CLEAR_MM])
    for i in (1, 2):
        if abs(axis[i]) > 1e-9:
            ends = np.sort((np.array([low[i] - r, high[i] + r]) - origin[i]) / axis[i])
            s = np.clip(s, *ends)
    x = origin[0] + s * axis[0]
    return float(x.min()) - r, float(x.max()) + r
