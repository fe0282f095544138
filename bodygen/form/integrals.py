"""Volume and skin integrals of the body, straight from its poles.

The two records are what every room downstream passes on: mass comes in where a density is known (weights/).
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from bodygen.form.body import Body, bernstein, bernstein_slope
from bodygen.form.triples import cross

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class VolumeIntegrals:
    """A closed region: volume [mm^3], centroid (3,) [mm], inertia (3, 3) per unit density about the centroid [mm^5].

    ``inertia`` is a tensor, products of inertia with the minus sign: multiply by a density in g/mm^3 for g mm^2.
    """

    volume: float
    centroid: Array
    inertia: Array


@dataclass(frozen=True, slots=True)
class SkinIntegrals:
    """A skin: area [mm^2], centroid (3,) [mm], inertia (3, 3) per unit areal density about the centroid [mm^4]."""

    area: float
    centroid: Array
    inertia: Array


def about_centroid(measure: float, first: Array, second: Array) -> tuple[Array, Array]:
    """Centroid (3,) [mm] and inertia (3, 3) from a measure [mm^k] and its first (3,) and second (3, 3) moments.

    References
    ----------
    The parallel axis theorem (Huygens-Steiner), on second moments.

    Examples
    --------
    >>> second = np.full((3, 3), 8.0) + 8 / 3 * np.eye(3)   # a cube of 2 mm with a corner at the origin
    >>> centre, inertia = about_centroid(8.0, np.full(3, 8.0), second)
    >>> centre.tolist(), float(inertia[0, 0])   # m (b^2 + c^2) / 12
    ([1.0, 1.0, 1.0], 5.3333)
    """
    centroid = first / measure
    central = second - measure * np.outer(centroid, centroid)
    return centroid, np.trace(central) * np.eye(3) - central


def body_volume(body: Body) -> VolumeIntegrals:
    """Volume [mm^3], centroid [mm] and inertia [mm^5] of the body, exact to rounding.

    By the divergence theorem with fields along y, so that the plane ends (normal along x) add nothing; the integrands
    are polynomials of degree 14 at most in either parameter, which eight Gauss points integrate exactly.

    References
    ----------
    The divergence theorem and Gauss-Legendre quadrature; derived here for this surface, and checked in the tests
    against meshes.

    Examples
    --------
    >>> from bodygen.form.fairing.offsets import Offsets, surface_through
    >>> one = np.ones(4)
    >>> bar = surface_through(Offsets(20 * np.arange(4), 10 * one, -10 * one, 8 * one, 0 * one, 2 * one, 2 * one))
    >>> body_volume(bar).volume   # an elliptical bar: pi a b l
    15079.64
    """
    point, normal = _quadrature(body, 8)
    x, y, z = point[..., 0], point[..., 1], point[..., 2]
    flux = normal[..., 1]
    total = 2 * np.sum(y * flux)
    first = np.array([2 * np.sum(x * y * flux), 0.0, 2 * np.sum(z * y * flux)])
    xx, yy, zz, xz = (2 * np.sum(f * flux) for f in (x * x * y, y**3 / 3, z * z * y, x * z * y))
    second = np.array([[xx, 0.0, xz], [0.0, yy, 0.0], [xz, 0.0, zz]])
    return VolumeIntegrals(float(total), *about_centroid(float(total), first, second))


def body_skin(body: Body) -> SkinIntegrals:
    """Area [mm^2], centroid [mm] and inertia [mm^4] of the whole skin, plane ends included.

    The area element is not a polynomial; 8 x 8 Gauss points a patch leave less than 1e-5 of the area (tested against
    refinement).

    Derived here: the length of the normal, integrated; the caps by the divergence theorem in their plane.
    """
    point, normal = _quadrature(body, 8)
    element = np.linalg.norm(normal, axis=-1)
    area = 2 * float(np.sum(element))
    first = 2 * np.einsum("ij,ijk->k", element, point) * (1.0, 0.0, 1.0)
    second = 2 * np.einsum("ij,ijk,ijl->kl", element, point, point)
    second[1, [0, 2]] = second[[0, 2], 1] = 0.0
    for flat, row in ((body.nose_flat, 0), (body.tail_flat, -1)):
        if flat:
            cap, cap_first, cap_second = _cap(body.poles[row])
            area, first, second = area + cap, first + cap_first, second + cap_second
    return SkinIntegrals(area, *about_centroid(area, first, second))


@lru_cache(maxsize=2)  # volume and skin of a body are asked for one after the other
def _quadrature(body: Body, count: int) -> tuple[Array, Array]:
    """Points and outward normals times area weight on the right half: (n, m, 3) each."""
    node, weight = gauss(count)
    breaks = body.breaks
    width = np.diff(breaks)
    u = (breaks[:-1, None] + width[:, None] * node).ravel()
    u_weight = (width[:, None] * weight).ravel()
    polygon, along = body.polygons_both(u)
    value, slope = bernstein(node), bernstein_slope(node)
    parts = range(body.segments)
    pick = [slice(3 * i, 3 * i + 4) for i in parts]
    point = np.concatenate([value @ polygon[:, p] for p in pick], axis=1)
    du = np.concatenate([value @ along[:, p] for p in pick], axis=1)
    dv = np.concatenate([slope @ polygon[:, p] for p in pick], axis=1)
    area_weight = u_weight[:, None] * np.tile(weight, body.segments)
    # around the section runs from belly to back over the right flank: u x v points into the body there
    return point, -cross(du, dv) * area_weight[..., None]


@lru_cache(maxsize=4)
def gauss(count: int) -> tuple[Array, Array]:
    """Nodes and weights (count,) of Gauss and Legendre from 0 to 1 [-]; exact up to degree 2 count - 1.

    >>> node, weight = gauss(3)
    >>> float(weight @ node**5)   # 1/6
    0.1667
    """
    node, weight = np.polynomial.legendre.leggauss(count)
    return (node + 1) / 2, weight / 2


def _cap(polygon: Array) -> tuple[float, Array, Array]:
    """Area, first and second moments about the origin of a plane end from its half control polygon (3 s + 1, 3)."""
    node, weight = gauss(8)
    x = float(polygon[0, 0])
    area, m_z, m_yy, m_zz = 0.0, 0.0, 0.0, 0.0
    for i in range((len(polygon) - 1) // 3):
        part = polygon[3 * i : 3 * i + 4]
        (y, z), dz = (bernstein(node) @ part)[:, 1:].T, (bernstein_slope(node) @ part)[:, 2] * weight
        area += 2 * float(y @ dz)
        m_z += 2 * float((y * z) @ dz)
        m_yy += 2 * float((y**3 / 3) @ dz)
        m_zz += 2 * float((y * z * z) @ dz)
    first = np.array([x * area, 0.0, m_z])
    second = np.array([[x * x * area, 0.0, x * m_z], [0.0, m_yy, 0.0], [x * m_z, 0.0, m_zz]])
    return area, first, second
