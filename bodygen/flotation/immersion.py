"""Cutting the hull at the water: volume under it, centre of buoyancy, and the waterplane with its second moments.

Knows a hull and planes. Knows nothing of mass and balance (``energy_minimiser.py``).

No cap is ever built. The wetted volume is the sum of the cones from the origin to the wetted skin and of one to the
waterplane (Gauss's theorem on the field x / 3), and the waterplane's integrals are sums over the pieces of the line in
which the water cuts its triangles (Green's theorem): a triangle that is wholly wet counts by four numbers of its own.
"""

from dataclasses import dataclass

import numpy as np

from bodygen.flotation.blocks import cut_skin
from bodygen.flotation.hull import Hull
from bodygen.form.integrals import Array
from bodygen.form.triples import cross

_SECONDS = np.array([[7, 8], [8, 9]])  # of ``cut_skin``'s sums


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
    x, y, z = up.T
    flat = np.hypot(y, z)
    upright = np.abs(x) > 1 - 1e-12
    some = np.where(upright, 1.0, flat)
    c, s = y / some, z / some
    along, across = np.stack([flat, -x * c, -x * s], axis=1), np.stack([np.zeros(len(up)), s, -c], axis=1)
    if upright.any():
        level = np.array([0.0, 0.0, 1.0]) * -np.sign(up[upright, :1])
        level -= (level * up[upright]).sum(axis=1, keepdims=True) * up[upright]
        along[upright] = level / np.linalg.norm(level, axis=1, keepdims=True)
        across[upright] = cross(up[upright], along[upright])
    return along, across


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
    wet, cut = cut_skin(hull.blocks, hull.places, axes, level)
    area, firsts, seconds = cut[:, 4], cut[:, 5:7], np.take(cut, _SECONDS, axis=1)
    volume = wet[:, 0] + cut[:, 0] + level * area / 3
    moments = (axes @ wet[:, 1:, None])[:, :, 0] + cut[:, 1:4]
    moments[:, 2] += 0.75 * level * cut[:, 0]  # two of three corners of what is cut off lie in the water
    moments[:, :2] += level[:, None] * firsts / 4
    moments[:, 2] += level**2 * area / 4 - level * volume
    if len(hull.sphere_radii):
        ball_volume, ball_moments, ball_area, ball_firsts, ball_seconds = _spheres(hull, axes, level)
        volume, moments, area = volume + ball_volume, moments + ball_moments, area + ball_area
        firsts, seconds = firsts + ball_firsts, seconds + ball_seconds
    return Immersion(up, height, level, along, across, volume, moments, area, firsts, seconds)


def _spheres(hull: Hull, axes: Array, level: Array) -> tuple[Array, Array, Array, Array, Array]:
    """Volume, moments, area, its firsts and seconds of the spherical caps under the water, summed over the spheres.

    The cap below t (from the centre, up): volume pi (r^2 t - t^3/3 + 2 r^3/3); Archimedes, On the Sphere and Cylinder.
    """
    r = hull.sphere_radii
    square = r * r
    flat = axes @ (hull.sphere_centres - hull.origin).T
    s = flat[:, 2] - level[:, None]
    flat[:, 2] = 1
    t = np.minimum(np.maximum(-s, -r), r)  # np.clip takes several times as long for so few
    left = square - t * t
    area = np.pi * left
    volume = np.pi * (t * (square - t * t / 3) + 2 / 3 * square * r)
    lift = s * volume - (np.pi / 4) * left * left
    moments = (flat @ volume[:, :, None])[:, :, 0]
    sums = (flat * area[:, None]) @ flat.transpose(0, 2, 1)
    wet, moments[:, 2] = moments[:, 2].copy(), lift.sum(axis=1)
    seconds = sums[:, :2, :2] + ((area * area).sum(axis=1) / (4 * np.pi))[:, None, None] * np.eye(2)  # pi rho^4 / 4
    return wet, moments, sums[:, 2, 2], sums[:, :2, 2], seconds


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
    height = np.clip(_as_of_an_ellipsoid(hull, up, volume), 0.99 * low + 0.01 * high, 0.01 * low + 0.99 * high)
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


def _as_of_an_ellipsoid(hull: Hull, up: Array, volume: float) -> Array:
    """Heights (k,) [mm] at which an ellipsoid of the hull's moments would be cut to ``volume``: a few per cent off.

    Along any direction an ellipsoid's sections go as 1 - t^2 with a variance of 1 / 5 (elementary), and so its share
    under t is (2 + 3 t - t^3) / 4; the box's centre stands for its triangles in the second moments.
    """
    blocks, middle = hull.blocks, hull.centroid - hull.origin
    second = 0.8 * blocks.sums[1:] @ blocks.centres / hull.volume - np.outer(middle, middle)
    spread = np.sqrt(np.maximum(5 * np.einsum("kd,de,ke->k", up, second, up), 0))
    share = min(1.0, max(0.0, volume / hull.volume))
    height: Array = up @ hull.centroid + 2 * np.sin(np.arcsin(2 * share - 1) / 3) * spread
    return height
