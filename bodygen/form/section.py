"""One cross-section: superellipse quarters as cubic Béziers, with optional straight flanks, back and belly.

Right half only, from the middle of the belly round the flank to the middle of the back; the left half is its mirror
image.
"""

from functools import lru_cache
from math import gamma, sqrt

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def superellipse_area(half_width: float, half_height: float, squareness: float) -> float:
    r"""Area inside a superellipse section, :math:`|y/a|^n + |z/b|^n = 1`.

    .. math:: A = 4ab\,\Gamma(1+1/n)^2 / \Gamma(1+2/n)

    Parameters
    ----------
    half_width, half_height : float
        a side to side, b back to belly [mm], both > 0.
    squareness : float
        n [-], n >= 1: 1 is a rhombus, 2 an ellipse, large n a rectangle.

    Returns
    -------
    float
        Area [mm^2], exact to rounding over the whole range.

    References
    ----------
    NIST DLMF eq. 5.14.1 (Dirichlet's integral) with z_1 = z_2 = 1/n.

    Examples
    --------
    >>> superellipse_area(8.0, 12.5, 2.5)   # 16 mm thick, 25 mm deep
    338.1
    """
    a, b, n = half_width, half_height, squareness
    return 4 * a * b * gamma(1 + 1 / n) ** 2 / gamma(1 + 2 / n)


@lru_cache(maxsize=256)  # most bodies have one squareness from nose to tail
def handle_ratio(squareness: float) -> float:
    """Handle length of a quarter's Bézier, as a share of its half sizes, that gives the superellipse's own area [-].

    A quarter with equal handle ratios k has the area ab (1/2 + 3k/5 - 3k^2/20): integrate y dz of the cubic
    (0, b), (ka, b), (a, kb), (a, 0). A handle that puts the middle of the arc on the superellipse instead misses the
    area by 0.4 to 0.6 %. The price: for n from 2 to 8 the curve leaves the superellipse by up to 0.0091 of the half
    size (at n = 4), twice what a handle chosen for that alone would leave.

    Derived here, and held in the tests against the area of the drawn curve.

    Parameters
    ----------
    squareness : float
        Superellipse exponent n [-], n >= 1.

    Returns
    -------
    float
        Handle ratio k [-], exact to rounding.

    Examples
    --------
    >>> handle_ratio(2.5)
    0.69675
    """
    share = superellipse_area(1.0, 1.0, squareness) / 4
    return 2 - sqrt(4 - (share - 0.5) / 0.15)


def smaller_of(size: Array, radius: float) -> Array:
    """A smooth minimum of a section's half size and a fixed edge radius [mm], always below both.

    The fourth-power mean keeps the edge's own radius where there is room for it (within 1.5 % from twice the radius on)
    and lets the edge close into a full round where the body runs thin, without a kink on the way.

    Derived here: the fourth-power mean of the inverses.

    Examples
    --------
    >>> smaller_of(np.array([4.0, 40.0]), 4.0).tolist()   # 4 / 2^(1/4); nearly the radius
    [3.3636, 3.9999]
    """
    ratio = size / radius
    return size / (1 + ratio**4) ** 0.25


def half_section(
    half_width: Array,
    top: Array,
    bottom: Array,
    widest: Array,
    handles: tuple[Array, Array],
    flat: tuple[Array, Array, Array] | None,
) -> Array:
    """Control polygons of the right half of many sections.

    Derived here: the handles lie along the tangents at the ends of each quarter, which are level or upright.

    Parameters
    ----------
    half_width, top, bottom, widest : (m,) arrays
        Half thickness, heights of back, belly and widest line [mm].
    handles : (back, belly) of (m,) arrays
        Handle ratios of the upper and the lower quarter [-].
    flat : (above, below, across) of (m,) arrays or None
        Straight run of the flank above and below the widest line, and half the flat across back and belly [mm].

    Returns
    -------
    (m, 3 s + 1, 2) array
        (y, z) of s cubic Béziers in a row: 2 without flats, 3 with flanks, 5 where back and belly are flat too.

    Examples
    --------
    >>> one = np.ones(1)
    >>> half_section(8 * one, 10 * one, -9 * one, 0 * one, (0.5 * one, 0.5 * one), None)[0].tolist()
    [[0.0, -9.0], [4.0, -9.0], [8.0, -4.5], [8.0, 0.0], [8.0, 5.0], [4.0, 10.0], [0.0, 10.0]]
    """
    above, below, across = flat or (np.zeros_like(half_width),) * 3
    up, down = top - widest - above, widest - bottom - below
    wide = half_width - across
    k_up, k_down = handles
    zero = np.zeros_like(half_width)
    lower = [
        (across, bottom),
        (across + k_down * wide, bottom),
        (half_width, widest - below - k_down * down),
        (half_width, widest - below),
    ]
    upper = [
        (half_width, widest + above),
        (half_width, widest + above + k_up * up),
        (across + k_up * wide, top),
        (across, top),
    ]
    if flat is None:
        chain = lower + upper[1:]
    else:
        chain = lower + _straight(lower[-1], upper[0]) + upper[1:]
        if np.any(across > 0):
            chain = [
                (zero, bottom),
                *_straight((zero, bottom), lower[0]),
                *chain[1:],
                *_straight(upper[-1], (zero, top)),
            ]
    return np.stack([np.stack(point, axis=-1) for point in chain], axis=1)


def _straight(start: tuple[Array, Array], end: tuple[Array, Array]) -> list[tuple[Array, Array]]:
    """The three control points that carry a cubic straight from start to end."""
    return [(start[0] + (end[0] - start[0]) * s, start[1] + (end[1] - start[1]) * s) for s in (1 / 3, 2 / 3, 1.0)]
