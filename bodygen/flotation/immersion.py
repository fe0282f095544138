"""Cutting the hull at the water: volume under it, centre of buoyancy, and the waterplane with its second moments.

Knows a hull and planes. Knows nothing of mass and balance (``descent.py``).

Every integral is one over the wetted skin. With s the height over the water and u the upward unit vector, the fields
s u, x_a s u, s^2/2 u (volume, its moments) vanish on the waterplane, and u, x_a u, x_a x_b u (waterplane area and its
moments, a and b horizontal) have no divergence; so no cap is ever built (Gauss's theorem). All of them are entries of
one 4 x 4 matrix, the integral of q q^T (u . n) over the wetted skin, q = (1, x_1, x_2, s).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bodygen.flotation.blocks import PAIRS, triangle_means
from bodygen.flotation.hull import Hull
from bodygen.form.integrals import Array
from bodygen.form.triples import cross

Indices = NDArray[np.intp]

PLANES_AT_ONCE = 12  # what the opened boxes of so many planes take stays in the processor's cache: 1.5 times as quick
_UNPACK = np.zeros((4, 4), dtype=np.int64)
for _column, (_i, _j) in enumerate(PAIRS):
    _UNPACK[_i, _j] = _UNPACK[_j, _i] = _column


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
    packed = np.empty((len(up), len(PAIRS)))
    for start in range(0, len(up), PLANES_AT_ONCE):
        few = slice(start, start + PLANES_AT_ONCE)
        packed[few] = _wetted(hull, up[few], level[few])
    matrix = packed[:, _UNPACK]
    along, across = horizontal_axes(up)
    axes = np.stack([along, across, up], axis=1)
    one, first = matrix[:, 0, 0], np.einsum("kad,kd->ka", axes, matrix[:, 0, 1:])
    second = axes @ matrix[:, 1:, 1:] @ axes.transpose(0, 2, 1)
    moments = second[:, :, 2] - level[:, None] * first
    moments[:, 2] = (moments[:, 2] - level * (first[:, 2] - level * one)) / 2
    volume, area = first[:, 2] - level * one, -one
    firsts, seconds = -first[:, :2], -second[:, :2, :2]
    if len(hull.sphere_radii):
        ball_volume, ball_moments, ball_area, ball_firsts, ball_seconds = _spheres(hull, axes, level)
        volume, moments, area = volume + ball_volume, moments + ball_moments, area + ball_area
        firsts, seconds = firsts + ball_firsts, seconds + ball_seconds
    return Immersion(up, height, level, along, across, volume, moments, area, firsts, seconds)


def _wetted(hull: Hull, up: Array, level: Array) -> Array:
    """Integrals (k, 10) of the products ``PAIRS`` times u . n over the wetted skin, about the hull's origin."""
    blocks = hull.blocks
    middle = up @ blocks.centres.T - level[:, None]
    reach = np.abs(up) @ blocks.half_sizes.T
    wet = (middle < -reach).astype(np.float64)
    # einsum, because a matrix product of this size starts threads, which wait on each other when the machine is busy
    sums = np.einsum("kb,cb->kc", wet, blocks.sums).reshape(len(up), 3, len(PAIRS))
    plane, box = np.nonzero(np.abs(middle) <= reach)
    packed: Array = np.einsum("kd,kdc->kc", up, sums) + _opened(hull, up, level, plane, box)
    return packed


def _opened(hull: Hull, up: Array, level: Array, plane: Indices, box: Indices) -> Array:
    """Wetted integrals (k, 10) of the boxes that a plane meets, given as pairs of plane and box indices."""
    blocks, count = hull.blocks, len(up)
    corners, directions = blocks.corners[box], up[plane]
    block = corners.shape[1]
    heights = (corners.reshape(len(box), 3 * block, 3) @ directions[:, :, None]).reshape(len(box), block, 3)
    heights -= level[plane, None, None]
    below = heights < 0
    wet_corners = below[..., 0].astype(np.int8) + below[..., 1] + below[..., 2]
    flux = (blocks.area_vectors[box] @ directions[:, :, None])[..., 0]
    whole = ((flux * (wet_corners >= 2))[:, None, :] @ blocks.means[box])[:, 0]
    # A triangle with two wet corners is the whole less its dry corner; with one, the wet corner alone.
    pair, triangle = np.nonzero((wet_corners == 1) | (wet_corners == 2))
    one_wet = wet_corners[pair, triangle] == 1
    lone = np.argmax(below[pair, triangle] == one_wet[:, None], axis=1)
    rows = 3 * (pair * block + triangle) + (lone + np.arange(3)[:, None]) % 3
    cut = np.ascontiguousarray(corners.reshape(-1, 3)[rows].transpose(0, 2, 1))
    s = heights.ravel()[rows]
    share = s[0] / (s[0] - s[1:])
    cut[1:] = cut[0] + share[:, None] * (cut[1:] - cut[0])
    corner_flux = flux[pair, triangle] * share[0] * share[1] * np.where(one_wet, 1.0, -1.0)
    corner = triangle_means(cut) * corner_flux
    owner = plane[pair]
    columns = [
        np.bincount(plane, whole[:, c], minlength=count) + np.bincount(owner, corner[c], minlength=count)
        for c in range(len(PAIRS))
    ]
    return np.stack(columns, axis=1)


def _spheres(hull: Hull, axes: Array, level: Array) -> tuple[Array, Array, Array, Array, Array]:
    """Volume, moments, area, its firsts and seconds of the spherical caps under the water, summed over the spheres.

    The cap below t (from the centre, up): volume pi (r^2 t - t^3/3 + 2 r^3/3); Archimedes, On the Sphere and Cylinder.
    """
    r = hull.sphere_radii
    centre = np.einsum("kad,pd->kpa", axes, hull.sphere_centres - hull.origin)
    s = centre[:, :, 2] - level[:, None]
    t = np.clip(-s, -r, r)
    volume = np.pi * (r**2 * t - t**3 / 3 + 2 * r**3 / 3)
    lift = s * volume + np.pi * (r**2 * t**2 / 2 - t**4 / 4 - r**4 / 4)
    area = np.pi * (r**2 - t**2)
    flat = centre[:, :, :2]
    moments = np.concatenate([np.einsum("kp,kpa->ka", volume, flat), lift.sum(axis=1)[:, None]], axis=1)
    firsts = np.einsum("kp,kpa->ka", area, flat)
    own = np.sum(area**2, axis=1) / (4 * np.pi)  # pi rho^4 / 4 for each circle
    seconds = np.einsum("kp,kpa,kpb->kab", area, flat, flat) + own[:, None, None] * np.eye(2)
    return volume.sum(axis=1), moments, area.sum(axis=1), firsts, seconds


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
