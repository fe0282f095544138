"""Does a mesh cross itself? Lines across the body count how often they are inside: twice means two skins overlap.

A mesh that folds through itself is closed and wound well, so the checks of its edges let it pass; what it holds would
be counted twice. Knows triangles; asks a sample of lines, so that a fold thinner than their distance can go unseen.
"""

import numpy as np

from bodygen.findings import Finding
from bodygen.form.integrals import Array
from bodygen.mesh.skin import Mesh

LINES = (40, 600)
"""Fewest and most lines."""
FACETS_ASKED = 6e7
"""How many facets all lines together are held against, at most: a large mesh has fewer lines."""
OVERLAP_MM = 0.01
"""An overlap shorter than this is rounding of the file's numbers."""
PLASTIC = 0.7548776662466927
"""1 / p for the plastic number p, p^3 = p + 1: steps of 1/p and 1/p^2 spread points evenly (R. Roberts' sequence, from
memory)."""


def crosses_itself(mesh: Mesh) -> tuple[Finding, ...]:
    """Doubt a mesh in which some line from side to side is inside twice over, or inside out [mm].

    Derived here: along a line, inside goes from 0 to 1 and back.

    Examples
    --------
    >>> import manifold3d
    >>> from bodygen.mesh.cut import to_mesh
    >>> crosses_itself(to_mesh(manifold3d.Manifold.cube((60.0, 20.0, 10.0))))
    ()
    """
    corners = mesh.vertices[mesh.faces]
    low, high = mesh.vertices.min(axis=0), mesh.vertices.max(axis=0)
    boxes = corners[:, :, [0, 2]].min(axis=1), corners[:, :, [0, 2]].max(axis=1)
    count = int(np.clip(FACETS_ASKED / len(corners), *LINES))
    order = np.arange(1, count + 1)
    places = np.stack([low[0] + (high[0] - low[0]) * (order * PLASTIC % 1)], axis=1)
    places = np.concatenate([places, (low[2] + (high[2] - low[2]) * (order * PLASTIC**2 % 1))[:, None]], axis=1)
    wrong = [place[0] for place in places if _overlaps(corners, boxes, place)]
    if not wrong:
        return ()
    remedy = (
        "the skin runs through itself near x = {}, and what lies there is counted twice: mend it where it was made, by "
        "uniting its parts into one solid"
    )
    share, where = 100 * len(wrong) / count, (float(np.median(wrong)),)
    return (Finding("mesh-crosses-itself", "warning", "shape.mesh", remedy, share, 0.0, "% of lines", lengths=where),)


def _overlaps(corners: Array, boxes: tuple[Array, Array], place: Array) -> bool:
    """Whether the line along y through (x, z) is anywhere inside twice, or outside inwards."""
    near = ((boxes[0] <= place) & (place <= boxes[1])).all(axis=1)
    a, b, c = (corners[near, i] for i in range(3))
    if not len(a):
        return False
    flat = [p[:, [0, 2]] - place for p in (a, b, c)]
    areas = [_cross(flat[1], flat[2]), _cross(flat[2], flat[0]), _cross(flat[0], flat[1])]
    whole = areas[0] + areas[1] + areas[2]
    hit = ((areas[0] * whole > 0) & (areas[1] * whole > 0) & (areas[2] * whole > 0)) & (np.abs(whole) > 1e-12)
    if not hit.any():
        return False
    shares = [area[hit] / whole[hit] for area in areas]
    y = shares[0] * a[hit, 1] + shares[1] * b[hit, 1] + shares[2] * c[hit, 1]
    order = np.argsort(y)
    # a facet's normal has the y of the other sign than its area in x and z: a positive one is where the line goes in
    inside = np.cumsum(np.sign(whole[hit])[order])[:-1]
    lengths = np.diff(y[order])
    return bool((((inside > 1) | (inside < 0)) & (lengths > OVERLAP_MM)).any())


def _cross(one: Array, other: Array) -> Array:
    return np.asarray(one[:, 0] * other[:, 1] - one[:, 1] * other[:, 0])
