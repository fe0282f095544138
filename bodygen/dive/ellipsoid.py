"""How much water an ellipsoid carries along when it is moved: Lamb's factors, by Carlson's integral.

Knows three semi-axes. The integral is our own, as weighing loads no scipy.
"""

from math import fsum, sqrt

NEAR = 1e-4
"""Arguments this near to their mean leave an error of the order of its sixth power."""


def added_mass(along: float, side: float, up: float) -> tuple[float, float]:
    r"""Inertia factors k_x and k_z [-]: water carried along over water displaced, moving lengthwise and up.

    .. math:: k_i = Q_i/(2 - Q_i), \quad Q_x = \tfrac23 abc\,R_D(b^2, c^2, a^2)

    and Q_z likewise with c^2 last.

    Parameters
    ----------
    along, side, up : float
        Semi-axes a, b, c along x, y and z [mm], all > 0.

    References
    ----------
    H. Lamb, Hydrodynamics, 6th ed. (1932), arts. 114-115 (from memory).

    Examples
    --------
    >>> added_mass(10.0, 10.0, 10.0)   # a sphere: half the water that it displaces, every way
    (0.5, 0.5)
    """
    a, b, c = along, side, up
    q_x = 2 / 3 * a * b * c * carlson_rd(b * b, c * c, a * a)
    q_z = 2 / 3 * a * b * c * carlson_rd(a * a, b * b, c * c)
    return q_x / (2 - q_x), q_z / (2 - q_z)


def added_inertia(along: float, side: float, up: float) -> tuple[float, float]:
    r"""Inertia of the water carried along over the mass of water displaced [mm^2]: rolling about x, pitching about y.

    .. math:: \frac{I'_x}{m} = \frac15
        \frac{(b^2-c^2)^2 (Q_z - Q_y)}{2(b^2-c^2) + (b^2+c^2)(Q_y - Q_z)}

    and about y with c, a for b, c. Null about an axis round which the ellipsoid is round.

    Parameters
    ----------
    along, side, up : float
        Semi-axes a, b, c along x, y and z [mm], all > 0.

    References
    ----------
    H. Lamb, Hydrodynamics, 6th ed. (1932), arts. 114-115 (from memory).

    Examples
    --------
    >>> added_inertia(1e5, 2.0, 1.0)[0]   # a long one rolls as its strips do: (b^2 - c^2)^2 / (10 b c)
    0.45
    """
    a, b, c = along, side, up
    share = 2 / 3 * a * b * c
    q_x = share * carlson_rd(b * b, c * c, a * a)
    q_y = share * carlson_rd(a * a, c * c, b * b)
    q_z = share * carlson_rd(a * a, b * b, c * c)
    return _turned_about(b, c, q_y, q_z), _turned_about(c, a, q_z, q_x)


def _turned_about(b: float, c: float, q_b: float, q_c: float) -> float:
    away = b * b - c * c
    if abs(away) < NEAR * NEAR * b * c:
        return 0.0
    return away**2 * (q_c - q_b) / (2 * away + (b * b + c * c) * (q_b - q_c)) / 5


def carlson_rd(x: float, y: float, z: float) -> float:
    r"""Carlson's symmetric elliptic integral of the second kind [z^(-3/2)].

    .. math:: R_D(x, y, z) = \tfrac32 \int_0^\infty \frac{dt}{\sqrt{(t + x)(t + y)}\,(t + z)^{3/2}}

    By duplication until the arguments are alike, then a series of fifth order; relative error below 1e-14.

    Parameters
    ----------
    x, y, z : float
        Of one unit, squares of lengths [mm^2]; x, y >= 0, not both 0; z > 0.

    References
    ----------
    B. C. Carlson, Numerical computation of real or complex elliptic integrals (1995); NIST DLMF 19.36 (from memory).

    Examples
    --------
    >>> carlson_rd(4.0, 4.0, 4.0)   # all alike: z^(-3/2)
    0.125
    """
    scale, gathered = 1.0, []
    while True:
        mean = (x + y + 3 * z) / 5
        off = [(mean - each) / mean for each in (x, y, z)]
        if max(map(abs, off)) < NEAR:
            break
        root_x, root_y, root_z = sqrt(x), sqrt(y), sqrt(z)
        add = root_x * root_y + root_x * root_z + root_y * root_z
        gathered.append(scale / (root_z * (z + add)))
        scale /= 4
        x, y, z = (x + add) / 4, (y + add) / 4, (z + add) / 4
    dx, dy, _ = off
    dz = -(dx + dy) / 3
    e2 = dx * dy - 6 * dz * dz
    e3 = (3 * dx * dy - 8 * dz * dz) * dz
    e4 = 3 * (dx * dy - dz * dz) * dz * dz
    e5 = dx * dy * dz**3
    series = 1 - 3 * e2 / 14 + e3 / 6 + 9 * e2 * e2 / 88 - 3 * e4 / 22 - 9 * e2 * e3 / 52 + 3 * e5 / 26
    return scale * series / (mean * sqrt(mean)) + 3 * fsum(gathered)
