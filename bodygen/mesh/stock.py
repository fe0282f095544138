"""What is cut from: the body as rings of facets, of which a cut is shown only those near it.

A boolean takes about as long as it has triangles, and a bore meets a tenth of the body's. The part between two rings is
the body's own there, closed by plane faces that the cut does not reach.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import lru_cache

import manifold3d
import numpy as np

from bodygen.form.cuts import Revolved, Tool
from bodygen.form.integrals import Array
from bodygen.form.spline import distinct
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
        points = self.mesh.vertices
        return self.kept.of("extents", lambda: (points.min(axis=0), points.max(axis=0)))

    def rows(self, span: Span) -> tuple[int, int] | None:
        """The first and the last ring [-] of the part around a span of x [mm]; None where that is all of the body.

        Derived here: the nearest of the counted rings that lie clear of the span.
        """
        if self.rings is None:
            return None
        count = len(self.rings.half)
        x = self.rings.half[:, :, 0]
        steps = distinct(np.linspace(0, count - 1, PARTS + 1).astype(int))
        before = steps[:-1][x[steps[:-1]].max(axis=1) < span[0] - CLEAR_MM]  # a span past an end has a ring as well
        beyond = steps[1:][x[steps[1:]].min(axis=1) > span[1] + CLEAR_MM]
        first, last = (before[-1] if len(before) else 0), (beyond[0] if len(beyond) else count - 1)
        return None if (first, last) == (0, count - 1) else (int(first), int(last))

    def around(self, span: Span, box: Box | None = None) -> manifold3d.Manifold:
        """The part of the body around a span of x [mm], closed beyond it; with few facets far from ``box``."""
        rings, rows = self.rings, self.rows(span)
        if rings is None or (rows is None and box is None):
            return self.whole()
        first, last = rows or (0, len(rings.half) - 1)
        columns = range(rings.half.shape[1]) if box is None else _columns(rings.half[first : last + 1], box)
        key = "part", first, last, tuple(columns)
        return self.kept.of(
            key, lambda: to_manifold(Rings(rings.half[:, columns], rings.flat).between(first, last), SKIN)
        )


def _columns(half: Array, box: Box) -> list[int]:
    """Which lines along a part of the skin (m, k, 3) are kept for a cut in ``box``, of either side: far from it few.

    Derived here: a strip between two lines lies within the extents of both, and so do its facets with more lines in it.
    """
    y, z = half[..., 1], half[..., 2]
    sides = np.abs([box[1], box[4]])
    low = np.array([0.0 if box[1] < 0 < box[4] else sides.min(), box[2]]) - CLEAR_MM
    high = np.array([sides.max(), box[5]]) + CLEAR_MM
    least, most = (np.array([pick(y, axis=0), pick(z, axis=0)]) for pick in (np.min, np.max))
    kept: list[int] = []
    for start in range(0, len(y[0]) - 1, STRIP):
        strip = range(start, min(start + STRIP, len(y[0]) - 1) + 1)
        few = slice(strip[0], strip[-1] + 1)
        near = (least[:, few].min(axis=1) < high) & (most[:, few].max(axis=1) > low)
        kept += strip[:-1] if near.all() else strip[:1]
    return [*kept, len(y[0]) - 1]


def _of_rings(rings: Rings) -> BaseMesh:
    return BaseMesh(rings.mesh(), rings)


@lru_cache(maxsize=64)  # as the mesh itself
def box_of(tool: Tool) -> Box:
    """The extents of a tool's mesh [mm].

    Elementary.
    """
    vertices = tool_mesh(tool).vertices
    return (*vertices.min(axis=0).tolist(), *vertices.max(axis=0).tolist())


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
