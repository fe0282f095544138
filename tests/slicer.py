"""A slicer of its own for what a hull pushes aside: clips every triangle by the water and adds up cones.

Shares nothing with bodygen/flotation, which cuts no polygon and builds no cone: each wet polygon is the base of a cone
whose tip lies on the water plane, so that the waterplane itself adds nothing. Waterplane and second moments come from
the loop of cuts by Green's theorem, balls by summing thin discs.
"""

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class Wet:
    """Volume [mm^3] and its centre [mm] under the water; area [mm^2] of the waterplane, second moments (2, 2) [mm^4].

    The second moments are about the waterplane's own centre, along ``forward`` and across it.
    """

    volume: float
    centre: np.ndarray
    area: float
    seconds: np.ndarray


def sliced(hull, up, height):
    """What lies under the plane up . p = height: shells by their shares, balls besides."""
    up = np.asarray(up, dtype=float)
    tip = hull.vertices.mean(axis=0)
    tip = tip + (height - up @ tip) * up
    forward = np.array([1.0, 0, 0]) - up[0] * up
    forward = forward / np.linalg.norm(forward) if np.linalg.norm(forward) > 1e-9 else np.array([0.0, 0, 1])
    aside = np.cross(up, forward)
    volume, first, plane = 0.0, np.zeros(3), np.zeros(6)
    corners = hull.vertices[hull.faces]
    s = corners @ up - height
    wet = (s < 0).sum(axis=1)
    shares = np.concatenate([np.full(len(part.faces), part.share) for part in hull.parts])
    whole = corners[wet == 3] - tip
    cones = shares[wet == 3] * np.linalg.det(whole) / 6
    volume, first = float(cones.sum()), first + cones @ whole.sum(axis=1) / 4
    met = (wet > 0) & (wet < 3)
    for triangle, heights, share in zip(corners[met], s[met], shares[met], strict=True):
        polygon, crossing = [], []
        for k in range(3):
            a, b, ha, hb = triangle[k], triangle[(k + 1) % 3], heights[k], heights[(k + 1) % 3]
            if ha < 0:
                polygon.append(a - tip)
            if (ha < 0) != (hb < 0):
                cut = a + (b - a) * ha / (ha - hb) - tip
                polygon.append(cut)
                crossing.append((cut, ha < 0))
        for k in range(1, len(polygon) - 1):
            fan = np.array([polygon[0], polygon[k], polygon[k + 1]])
            cone = share * np.linalg.det(fan) / 6
            volume += cone
            first += cone * fan.sum(axis=0) / 4
        (p, leaves), (q, _) = crossing
        start, end = (q, p) if leaves else (p, q)  # round the waterplane with the wet part inside
        plane += share * _green(np.array([start @ forward, start @ aside]), np.array([end @ forward, end @ aside]))
    for centre, radius in zip(hull.sphere_centres, hull.sphere_radii, strict=True):
        ball, moment, disc, at = _ball(centre, radius, up, height)
        volume, first = volume + ball, first + moment - ball * tip
        f, a = (at - tip) @ forward, (at - tip) @ aside
        own = disc**2 / (4 * np.pi)
        plane += [disc, disc * f, disc * a, disc * f * f + own, disc * a * a + own, disc * f * a]
    area, mf, ma, ff, aa, fa = plane * np.sign(plane[0] or 1.0)
    if not area:
        return Wet(volume, tip + first / volume, 0.0, np.zeros((2, 2)))
    seconds = np.array([[ff - mf * mf / area, fa - mf * ma / area], [fa - mf * ma / area, aa - ma * ma / area]])
    return Wet(volume, tip + first / volume, area, seconds)


def _green(p, q):
    """Share of a straight edge in area, first and second moments of the polygon it bounds (cones from the origin)."""
    cross = p[0] * q[1] - q[0] * p[1]
    s = p + q
    xx, yy = (p[i] ** 2 + p[i] * q[i] + q[i] ** 2 for i in (0, 1))
    xy = (2 * p[0] * p[1] + p[0] * q[1] + q[0] * p[1] + 2 * q[0] * q[1]) / 2
    return cross * np.array([1 / 2, s[0] / 6, s[1] / 6, xx / 12, yy / 12, xy / 12])


def _ball(centre, radius, up, height):
    """Volume and first moment under the water of a ball by Gauss's rule over its discs (exact: they are cubics)."""
    t = np.clip(height - up @ centre, -radius, radius)
    nodes, weights = np.polynomial.legendre.leggauss(4)
    z = (nodes + 1) / 2 * (t + radius) - radius
    discs = np.pi * (radius**2 - z**2) * weights * (t + radius) / 2
    return discs.sum(), discs.sum() * centre + (discs @ z) * up, np.pi * (radius**2 - t**2), centre + t * up
