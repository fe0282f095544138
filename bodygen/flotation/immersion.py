"""Cutting the hull at the water: volume under it, centre of buoyancy, and the waterplane with its second moments.

Knows a hull and planes. Knows nothing of mass and balance (``energy_minimiser.py``).

No cap is ever built. The wetted volume is the sum of the cones from the origin to the wetted skin and of one to the
waterplane (Gauss's theorem on the field x / 3), and the waterplane's integrals are sums over the pieces of the line in
which the water cuts its triangles (Green's theorem): a triangle that is wholly wet counts by four numbers of its own.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bodygen.flotation.blocks import BLOCK
from bodygen.flotation.hull import Hull
from bodygen.form.integrals import Array
from bodygen.form.triples import cross

Flags = NDArray[np.bool_]
Indices = NDArray[np.intp]

FEW_BOXES, FEW_AT_ONCE = 200, 3000  # measured: so few are all opened, for to look for those that are met takes longer
OPENED_AT_ONCE = 1000  # boxes: what they take, whatever the number of planes, stays in the processor's cache
ON_MM = 1e-9  # a box that rounding alone keeps off the plane is opened as its neighbours are: the waterline must close


@dataclass(frozen=True, slots=True)
class Immersion:
    """What k planes cut off; horizontal coordinates run along ``across`` from ``Hull.origin``.

    up (k, 3) unit vectors; height (k,): the water is where up . p = height [mm], p in body axes; level (k,): the same
    from the origin; along, across (k, 3): the horizontal projection of x, and the horizontal axis across it.
    volume (k,) [mm^3]; moments (k, 3): volume integrals of the two coordinates and of s [mm^4]; area (k,) [mm^2];
    area_firsts (k, 2) [mm^3] and area_seconds (k, 2, 2) [mm^4], both about the origin.
    """

    up: Array
    height: Array
    level: Array
    along: Array
    across: Array
    volume: Array
    moments: Array
    area: Array
    area_firsts: Array
    area_seconds: Array


def horizontal_axes(up: Array) -> tuple[Array, Array]:
    """Give unit vectors [-] along the horizontal projection of x and across it, (k, 3) each; up (k, 3) unit vectors.

    With x upright the projection is taken in its limit at roll 0: plus or minus z.

    Elementary.

    Examples
    --------
    >>> [way.tolist() for way in horizontal_axes(np.array([[0.0, 0.0, 1.0]]))]
    [[[1.0, 0.0, 0.0]], [[0.0, 1.0, 0.0]]]
    """
    along = -up[:, :1] * up
    along[:, 0] += 1
    upright = np.abs(up[:, 0]) > 1 - 1e-12
    if upright.any():
        along[upright] = np.array([0.0, 0.0, 1.0]) * -np.sign(up[upright, :1])
        along[upright] -= (along[upright] * up[upright]).sum(axis=1, keepdims=True) * up[upright]
    along /= np.linalg.norm(along, axis=1, keepdims=True)
    return along, cross(up, along)


def immerse(hull: Hull, up: Array, height: Array) -> Immersion:
    """Cut the hull by k planes at once, triangles exactly at the plane.

    Derived here from Gauss's theorem, see the head of this file; held in the tests against closed forms.

    Parameters
    ----------
    hull : Hull
        Shells and spheres [mm].
    up : (k, 3) array
        Unit vectors, the vertical in body axes [-].
    height : (k,) array
        The water stands where up . p = height [mm].

    Returns
    -------
    Immersion

    Notes
    -----
    A vertex exactly on the plane counts as dry; the integrals do not depend on it. Boxes of triangles that are wholly
    wet enter by their sums, and only those that the plane meets are opened: work grows as the square root of the
    number of triangles, not in step with it.

    Examples
    --------
    >>> import manifold3d
    >>> from bodygen.flotation.hull import Shell, build_hull
    >>> from bodygen.mesh.cut import to_mesh
    >>> box = to_mesh(manifold3d.Manifold.cube((60.0, 20.0, 10.0), True))
    >>> hull = build_hull([Shell(box.vertices, box.faces)])
    >>> cut = immerse(hull, np.array([[0.0, 0, 1]]), np.array([-1.0]))   # 4 mm deep
    >>> cut.volume.tolist(), cut.area.tolist(), float(cut.area_seconds[0, 1, 1])   # 60 * 20^3 / 12
    ([4800.0], [1200.0], 40000.0)
    """
    level = height - up @ hull.origin
    along, across = horizontal_axes(up)
    axes = np.stack([along, across, up], axis=1)
    cones, plane = _cut_skin(hull, axes, level)
    area, firsts, seconds = plane[:, 0], plane[:, 1:3], plane[:, [[3, 4], [4, 5]]]
    volume = cones[:, 0] + level * area / 3
    moments = np.einsum("kad,kd->ka", axes, cones[:, 1:])
    moments[:, :2] += level[:, None] * firsts / 4
    moments[:, 2] += level**2 * area / 4 - level * volume
    if len(hull.sphere_radii):
        ball_volume, ball_moments, ball_area, ball_firsts, ball_seconds = _spheres(hull, axes, level)
        volume, moments, area = volume + ball_volume, moments + ball_moments, area + ball_area
        firsts, seconds = firsts + ball_firsts, seconds + ball_seconds
    return Immersion(up, height, level, along, across, volume, moments, area, firsts, seconds)


def _cut_skin(hull: Hull, axes: Array, level: Array) -> tuple[Array, Array]:
    """Volume and first moments (k, 4) of the cones from the origin to the wetted skin; the waterplane's sums (k, 6).

    The moments are in body axes; the waterplane's are of 1, x_1, x_2, x_1 x_1, x_1 x_2, x_2 x_2, the horizontal axes.
    """
    blocks, up = hull.blocks, axes[:, 2]
    sums = np.zeros((len(up), 10))
    if len(blocks.shares) <= FEW_BOXES:
        at_once = max(1, FEW_AT_ONCE // len(blocks.shares))
        for start in range(0, len(up), at_once):
            few = slice(start, start + at_once)
            sums[few] = _all_opened(hull, axes[few], level[few])
        return sums[:, :4], sums[:, 4:]
    middle = up @ blocks.centres.T - level[:, None]
    reach = np.abs(up) @ blocks.half_sizes.T + ON_MM
    # einsum, because a matrix product of this size starts threads, which wait on each other when the machine is busy
    sums[:, :4] = np.einsum("kb,cb->kc", (middle < -reach).astype(np.float64), blocks.sums)
    met = np.abs(middle) <= reach
    at_once = max(1, OPENED_AT_ONCE * len(up) // max(1, int(np.count_nonzero(met))))
    for start in range(0, len(up), at_once):
        few = slice(start, start + at_once)
        sums[few] += _opened(hull, axes[few], level[few], *np.nonzero(met[few]))
    return sums[:, :4], sums[:, 4:]


def _all_opened(hull: Hull, axes: Array, level: Array) -> Array:
    """What all boxes of a small hull add to ``_cut_skin``'s sums (k, 10): to find those that are met takes longer."""
    height = np.einsum("kd,dn->kn", axes[:, 2], hull.places)
    height -= level[:, None]
    corners = hull.blocks.corners[:3].reshape(3, -1)
    count = corners.shape[1]
    below = np.take(height < 0, corners, axis=1)
    wet, at = _wet(below[:, 0], below[:, 1], below[:, 2])
    plane = at[0] // count
    added = _at_waterline(hull, axes, height, plane, at[0] - plane * count, at)
    added[:, :4] += wet @ hull.blocks.cones.reshape(-1, 4)  # too small a product to start threads
    return added


def _opened(hull: Hull, axes: Array, level: Array, plane: Indices, box: Indices) -> Array:
    """What the boxes that a plane meets, given as pairs of plane and box, add to ``_cut_skin``'s sums (k, 10)."""
    height = np.einsum("kd,dn->kn", axes[:, 2], hull.places)
    height -= level[:, None]
    corners = hull.blocks.corners[:3, box]
    corners += (plane * height.shape[1])[:, None]  # where each stands among the heights over all planes
    wet, at = _wet(*(height < 0).ravel()[corners])
    pair = at[0] // BLOCK
    added = _at_waterline(hull, axes, height, plane[pair], box[pair] * BLOCK + at[0] % BLOCK, at)
    added[:, :4] += _by_plane((wet[:, None, :] @ hull.blocks.cones[box])[:, 0].T, plane, len(level))
    return added


def _wet(first: Flags, second: Flags, third: Flags) -> tuple[Array, Indices]:
    """Which triangles have two wet corners or more, as 0 and 1; (4, m) of those that the water cuts.

    Their places in the rows, flattened; whether two corners are wet, whether the second or the third is the lone one.
    """
    wet = (first & second) | (third & (first | second))
    at = np.flatnonzero((first != second) | (second != third))
    two, b, c = (row.ravel()[at] for row in (wet, second, third))
    return wet.astype(np.float64), np.stack([at, two, b != two, c != two])


def _at_waterline(hull: Hull, axes: Array, height: Array, owner: Indices, triangle: Indices, at: Indices) -> Array:
    """What triangles that a plane (``owner``, rising) cuts add to the sums (k, 10); ``height`` (k, n) of the vertices.

    A triangle with two wet corners is the whole, counted already, less its dry corner; with one, the wet corner alone.
    """
    blocks, (planes, vertices) = hull.blocks, height.shape
    count = blocks.corners[0].size
    _, two, second, third = at
    start = (second + 2 * third) * count + triangle  # of the lone corner, which the other two follow
    corner = blocks.corners.ravel()[start + count * np.arange(3)[:, None]]
    signed = 1.0 - 2.0 * two
    cone, share = blocks.cones.reshape(-1, 4)[triangle, 0] * signed, blocks.shares[triangle // BLOCK] * signed
    points, over = np.take(hull.places, corner, axis=1), height.ravel()[corner + owner * vertices]
    ways = np.take(axes[:, :2].transpose(1, 2, 0), owner, axis=2)
    return _by_plane(_corners(points, over, cone, share, ways), owner, planes)


def _corners(points: Array, height: Array, cone: Array, share: Array, ways: Array) -> Array:
    """What m corners cut off triangles add to ``_cut_skin``'s sums (10, m).

    ``points`` (3, 3, m), coordinates by corners, the lone corner first; their ``height`` (3, m) over the water; the
    whole triangles' ``cone`` volumes (m,) and ``share`` (m,), negative where the lone corner is dry; the horizontal
    ``ways`` (2, 3, m). Closed forms for a cone and for a triangle between the origin and a piece of the waterline.
    """
    cut = height[0] / (height[0] - height[1:])
    points[:, 1:] = points[:, :1] + cut * (points[:, 1:] - points[:, :1])
    cone = cone * cut[0] * cut[1]
    flat = [ways[:, d, None] * points[d, 1:] for d in range(3)]
    (x, x2), (y, y2) = flat[0] + flat[1] + flat[2]
    turn = share * (x2 * y - x * y2)  # twice the triangle's area
    sums = np.empty((10, len(cone)))
    sums[0], sums[1:4] = cone, points.sum(axis=1) * (cone / 4)
    sums[4], sums[5], sums[6] = turn / 2, turn / 6 * (x + x2), turn / 6 * (y + y2)
    for row, (a, a2, b, b2) in enumerate(((x, x2, x, x2), (x, x2, y, y2), (y, y2, y, y2)), start=7):
        sums[row] = turn / 24 * ((a + a2) * (b + b2) + a * b + a2 * b2)
    return sums


def _by_plane(rows: Array, owner: Indices, count: int) -> Array:
    """Sums (count, c) over the columns of rows (c, m) that each plane owns; owners rise."""
    starts = np.searchsorted(owner, np.arange(count))
    some = np.append(starts[1:], len(owner)) > starts
    sums = np.zeros((count, len(rows)))
    sums[some] = np.add.reduceat(rows, starts[some], axis=1).T
    return sums


def _spheres(hull: Hull, axes: Array, level: Array) -> tuple[Array, Array, Array, Array, Array]:
    """Volume, moments, area, its firsts and seconds of the spherical caps under the water, summed over the spheres.

    The cap below t (from the centre, up): volume pi (r^2 t - t^3/3 + 2 r^3/3); Archimedes, On the Sphere and Cylinder.
    """
    r = hull.sphere_radii
    square = r * r
    centre = axes @ (hull.sphere_centres - hull.origin).T
    flat, s = centre[:, :2], centre[:, 2] - level[:, None]
    t = np.minimum(np.maximum(-s, -r), r)  # np.clip takes several times as long for so few
    left = square - t * t
    area = np.pi * left
    volume = np.pi * (t * (square - t * t / 3) + 2 / 3 * square * r)
    lift = s * volume - (np.pi / 4) * left * left
    sums = np.stack([volume, area], axis=1)
    (flat_volume, flat_area) = (flat @ sums[:, k, :, None] for k in (0, 1))
    seconds = (flat * area[:, None]) @ flat.transpose(0, 2, 1)
    seconds[:, [0, 1], [0, 1]] += ((area * area).sum(axis=1) / (4 * np.pi))[:, None]  # pi rho^4 / 4 for each circle
    moments = np.concatenate([flat_volume[:, :, 0], lift.sum(axis=1)[:, None]], axis=1)
    return volume.sum(axis=1), moments, area.sum(axis=1), flat_area[:, :, 0], seconds


def centre_of_buoyancy(hull: Hull, cut: Immersion) -> Array:
    """Centres of the immersed volumes (k, 3) [mm], body axes; NaN where nothing is immersed.

    Elementary: first moment over volume.

    Examples
    --------
    >>> import manifold3d
    >>> from bodygen.flotation.hull import Shell, build_hull
    >>> from bodygen.mesh.cut import to_mesh
    >>> box = to_mesh(manifold3d.Manifold.cube((60.0, 20.0, 10.0), True))
    >>> hull = build_hull([Shell(box.vertices, box.faces)])
    >>> centre_of_buoyancy(hull, immerse(hull, np.array([[0.0, 0, 1]]), np.array([-1.0]))).tolist()   # 4 mm deep
    [[0.0, 0.0, -3.0]]
    """
    mean = cut.moments / np.where(cut.volume > 0, cut.volume, np.nan)[:, None]
    vertical = (mean[:, 2] + cut.level)[:, None]
    centre: Array = hull.origin + mean[:, :1] * cut.along + mean[:, 1:2] * cut.across + vertical * cut.up
    return centre


def height_range(hull: Hull, up: Array) -> tuple[Array, Array]:
    """Heights (k,), (k,) [mm] along ``up`` between which the water meets the hull, spheres included.

    Elementary: the extents of the boxes, which may reach a little beyond the hull.

    Examples
    --------
    >>> import manifold3d
    >>> from bodygen.flotation.hull import Shell, build_hull
    >>> from bodygen.mesh.cut import to_mesh
    >>> box = to_mesh(manifold3d.Manifold.cube((60.0, 20.0, 10.0), True))
    >>> hull = build_hull([Shell(box.vertices, box.faces)])
    >>> [height.tolist() for height in height_range(hull, np.array([[0.0, 0, 1]]))]
    [[-5.0], [5.0]]
    """
    blocks = hull.blocks
    middle, reach = up @ blocks.centres.T, np.abs(up) @ blocks.half_sizes.T
    low, high = (middle - reach).min(axis=1), (middle + reach).max(axis=1)
    base = up @ hull.origin
    low, high = low + base, high + base
    if len(hull.sphere_radii):
        at = up @ hull.sphere_centres.T
        low = np.minimum(low, (at - hull.sphere_radii).min(axis=1))
        high = np.maximum(high, (at + hull.sphere_radii).max(axis=1))
    return low, high


def immerse_volume(hull: Hull, up: Array, volume: float, tolerance: float = 1e-12) -> Immersion:
    """Cut the hull so that each of k directions leaves the same volume under water.

    Newton's method, elementary.

    Parameters
    ----------
    hull : Hull
        Shells and spheres [mm].
    up : (k, 3) array
        Unit vectors [-].
    volume : float
        What is to lie under water, between 0 and the hull's own [mm^3].
    tolerance : float
        Largest share of ``volume`` by which it may be missed [-].

    Returns
    -------
    Immersion

    Notes
    -----
    Newton's method with the waterplane area as slope, halving the bracket where a step leaves it.

    Examples
    --------
    >>> import manifold3d
    >>> from bodygen.flotation.hull import Shell, build_hull
    >>> from bodygen.mesh.cut import to_mesh
    >>> box = to_mesh(manifold3d.Manifold.cube((60.0, 20.0, 10.0), True))
    >>> hull = build_hull([Shell(box.vertices, box.faces)])
    >>> immerse_volume(hull, np.array([[0.0, 0, 1]]), 3000.0).height.tolist()
    [-2.5]
    """
    low, high = height_range(hull, up)
    height = low + (high - low) * volume / hull.volume
    for _ in range(100):
        cut = immerse(hull, up, height)
        excess = cut.volume - volume
        open_ones = (np.abs(excess) > tolerance * volume) & (high - low > 1e-14 * hull.size)
        if not open_ones.any():
            break
        low, high = np.where(excess < 0, height, low), np.where(excess > 0, height, high)
        step = height - excess / np.maximum(cut.area, 1e-9 * hull.size**2)
        step = np.where((step > low) & (step < high), step, (low + high) / 2)
        height = np.where(open_ones, step, height)
    return cut
