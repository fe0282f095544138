"""Clamped cubic B-splines along the length: basis, derivatives, interpolation.

Knows numbers only. Written out here, although libraries have it, because importing one costs more time than all the
rest of ``bodygen weigh`` together (measured: 0.35 s against a budget of 0.5 s); a test holds it against that library.
"""

from collections.abc import Sequence
from functools import lru_cache
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Number = TypeVar("Number", np.float64, np.int64)
DEGREE = 3


def basis(knots: Array, u: Array, order: int = 0) -> Array:
    """Values of every B-spline, or of its derivative, at given parameters.

    Parameters
    ----------
    knots : (n + 4,) array
        Knot vector, each end four times [-].
    u : (m,) array
        Parameters within the knots [-].
    order : int
        0 for values, 1 to 3 for derivatives with respect to u.

    Returns
    -------
    (m, n) array
        Row i holds the n splines at ``u[i]``.

    References
    ----------
    Piegl and Tiller, The NURBS Book (1997), eq. 2.5 (Cox-de Boor) and eq. 2.7 (derivatives); from memory.

    Examples
    --------
    >>> basis(np.array([0.0, 0, 0, 0, 1, 1, 1, 1]), np.array([0.5]))
    array([[0.125, 0.375, 0.375, 0.125]])
    """
    return _basis(knots, np.asarray(u, dtype=float), DEGREE, order)


def _basis(knots: Array, u: Array, degree: int, order: int) -> Array:
    if order:
        lower = _basis(knots, u, degree - 1, order - 1)
        count = len(knots) - degree - 1
        left, right = knots[degree : degree + count] - knots[:count], knots[degree + 1 :] - knots[1 : count + 1]
        return degree * (lower[:, :count] * _inverse(left) - lower[:, 1 : count + 1] * _inverse(right))
    # the last non-empty interval is closed on the right, so that u = 1 belongs to the curve
    span = np.searchsorted(knots, u, side="right") - 1
    span = np.clip(span, DEGREE, len(knots) - DEGREE - 2)
    values = np.zeros((len(u), len(knots) - 1))
    values[np.arange(len(u)), span] = 1.0
    for p in range(1, degree + 1):
        count = len(knots) - p - 1
        rise = (u[:, None] - knots[:count]) * _inverse(knots[p : p + count] - knots[:count])
        fall = (knots[p + 1 :] - u[:, None]) * _inverse(knots[p + 1 :] - knots[1 : count + 1])
        values = rise * values[:, :count] + fall * values[:, 1 : count + 1]
    return values


def _inverse(width: Array) -> Array:
    """1/width, and 0 where knots coincide: the convention 0/0 = 0 of the recursion."""
    safe = np.where(width > 0, width, 1.0)
    return np.where(width > 0, 1.0 / safe, 0.0)


def evaluate(knots: Array, poles: Array, u: Array, order: int = 0) -> Array:
    """The spline, or a derivative, at parameters u (m,) [-]: poles (n, ...) of any unit -> (m, ...) of the same.

    Only the four splines that live at each parameter are computed.

    References
    ----------
    Piegl and Tiller, The NURBS Book (1997), algorithm A2.2 and eq. 3.8 (poles of the derivative); from memory.

    Examples
    --------
    >>> poles = np.array([0.0, 20, 40, 60])
    >>> evaluate(np.array([0.0, 0, 0, 0, 1, 1, 1, 1]), poles, np.array([0.25])).tolist()   # evenly spread poles: a line
    [15.0]
    """
    degree = DEGREE
    for _ in range(order):
        knots, poles, degree = knots[1:-1], _slopes(knots, poles, degree), degree - 1
    span, values = _alive(knots, u, degree)
    return _summed(poles, span - degree, values[-1])


def evaluate_both(knots: Array, poles: Array, slopes: Array, u: Array) -> tuple[Array, Array]:
    """The spline and its derivative at parameters u (m,) [-], as ``evaluate`` has each, to the last digit.

    ``slopes`` are the derivative's poles, as ``slope_poles`` gives them. The splines of the lower degree are met on the
    way to those of the higher: both take little longer than one.

    References
    ----------
    As ``evaluate``.

    Examples
    --------
    >>> knots, poles = np.array([0.0, 0, 0, 0, 1, 1, 1, 1]), np.array([0.0, 20, 40, 60])
    >>> [each.tolist() for each in evaluate_both(knots, poles, slope_poles(knots, poles), np.array([0.25]))]
    [[15.0], [60.0]]
    """
    span, values = _alive(knots, u, DEGREE)
    first = span - DEGREE
    return _summed(poles, first, values[DEGREE]), _summed(slopes, first, values[DEGREE - 1])


def slope_poles(knots: Array, poles: Array) -> Array:
    """Poles (n - 1, ...) of the derivative, over the knots without the first and the last; mostly in [mm].

    References
    ----------
    Piegl and Tiller, The NURBS Book (1997), eq. 3.8 (from memory).

    Examples
    --------
    >>> slope_poles(np.array([0.0, 0, 0, 0, 1, 1, 1, 1]), np.array([0.0, 20, 40, 60])).tolist()
    [60.0, 60.0, 60.0]
    """
    return _slopes(knots, poles, DEGREE)


def _slopes(knots: Array, poles: Array, degree: int) -> Array:
    width = knots[degree + 1 : degree + len(poles)] - knots[1 : len(poles)]
    return np.asarray(degree * np.diff(poles, axis=0) * _inverse(width).reshape(-1, *[1] * (poles.ndim - 1)))


def _alive(knots: Array, u: Array, degree: int) -> tuple[NDArray[np.intp], list[Array]]:
    """The span of each parameter (m,), and by degree 0, 1, ... the (degree + 1, m) splines that live there."""
    most = len(knots) - degree - 2
    span = np.minimum(np.maximum(np.searchsorted(knots, u, side="right") - 1, degree), most)  # half the time of np.clip
    around = knots[span + np.arange(1 - degree, degree + 1)[:, None]]  # the knots that count, nearest in the middle
    left, right = u - around[:degree], around[degree:] - u
    values = [np.ones((1, len(u)))]
    for j in range(1, degree + 1):
        share = values[-1] / (around[degree : degree + j] - around[degree - j : degree])
        row = np.zeros((j + 1, len(u)))
        row[:-1] = right[:j] * share
        row[1:] += left[degree - j :] * share
        values.append(row)
    return span, values


def _summed(poles: Array, first: NDArray[np.intp], values: Array) -> Array:
    """Poles (n, ...) from ``first`` (m,) on, weighed by the splines that live there (d + 1, m): (m, ...)."""
    near = poles[first[:, None] + np.arange(len(values))]
    weight = np.ascontiguousarray(values.T)
    value: Array = (weight[:, None] @ near.reshape(*weight.shape, -1)).reshape(len(first), *poles.shape[1:])
    return value


def distinct(values: NDArray[Number]) -> NDArray[Number]:
    """Each of some values (n,) once, rising; ``numpy.unique`` loads masked arrays for that: 9 ms of each ``weigh``.

    Examples
    --------
    >>> distinct(np.array([2.0, 0.0, 2.0])).tolist()
    [0.0, 2.0]
    """
    rising = np.sort(values)
    different: NDArray[Number] = rising[np.append(True, rising[1:] != rising[:-1])[: len(rising)]]
    return different


def clamped_knots(parameters: Array) -> Array:
    """Knots at every parameter (m,) [-], the first and last four times: (m + 6,), two more splines than parameters.

    References
    ----------
    Piegl and Tiller, The NURBS Book (1997), section 2.4 (from memory).

    Examples
    --------
    >>> clamped_knots(np.array([0.0, 0.5, 1.0])).tolist()
    [0.0, 0.0, 0.0, 0.0, 0.5, 1.0, 1.0, 1.0, 1.0]
    """
    return np.concatenate([np.repeat(parameters[0], DEGREE), parameters, np.repeat(parameters[-1], DEGREE)])


def interpolate(
    parameters: Array, values: Array, flat_start: Sequence[int] = (), flat_end: Sequence[int] = ()
) -> Array:
    """Poles of the cubic spline through rows of values, with one knot at every row.

    The two spare conditions make the third derivative continuous at the second and the last but one row (not-a-knot),
    except for the columns in ``flat_start`` and ``flat_end``, whose first derivative vanishes at that end instead.

    Parameters
    ----------
    parameters : (m,) array
        Strictly increasing [-], m >= 4.
    values : (m, k) array
        What to pass through.

    Returns
    -------
    (m + 2, k) array
        Poles over ``clamped_knots(parameters)``.

    References
    ----------
    Not-a-knot: C. de Boor, A Practical Guide to Splines (1978), chapter IV (from memory).

    Examples
    --------
    >>> t = np.arange(4.0)
    >>> evaluate(clamped_knots(t), interpolate(t, t[:, None] ** 3), np.array([1.5])).tolist()   # a cubic stays
    [[3.375]]
    """
    inner, slope, jump = _conditions(parameters.tobytes())
    matrix = np.zeros((len(parameters) + 2,) * 2)
    matrix[1:-1] = inner
    right = np.zeros((len(parameters) + 2, values.shape[1]))
    right[1:-1] = values
    poles = np.empty_like(right)
    flat = np.zeros((2, values.shape[1]), dtype=bool)
    flat[0, list(flat_start)], flat[1, list(flat_end)] = True, True
    for start in (False, True):
        for end in (False, True):
            columns = np.flatnonzero((flat[0] == start) & (flat[1] == end))
            if len(columns):
                matrix[0] = slope[0] if start else jump[0]
                matrix[-1] = slope[1] if end else jump[1]
                poles[:, columns] = np.linalg.solve(matrix, right[:, columns])
    return poles


@lru_cache(maxsize=16)  # back, belly and plan often have their points at the same places
def _conditions(parameters: bytes) -> tuple[Array, Array, Array]:
    """Of interpolation at some parameters (m,): values there (m, m + 2), slopes at both ends, not-a-knot (2, m + 2)."""
    at = np.frombuffer(parameters)
    knots, middle = clamped_knots(at), (at[1:] + at[:-1]) / 2
    third = basis(knots, middle[[0, 1, -2, -1]], 3)
    return basis(knots, at), basis(knots, at[[0, -1]], 1), np.stack([third[1] - third[0], third[3] - third[2]])


def join(first: tuple[Array, Array], second: tuple[Array, Array]) -> tuple[Array, Array]:
    """Two (knots [-], poles) that share an end point become one spline with a corner there (a knot of multiplicity 3).

    References
    ----------
    Continuity over multiple knots: Piegl and Tiller, The NURBS Book (1997), section 2.2 (from memory).

    Examples
    --------
    >>> rise = np.array([0.0, 0, 0, 0, 1, 1, 1, 1]), np.array([0.0, 1, 2, 3])
    >>> fall = np.array([1.0, 1, 1, 1, 2, 2, 2, 2]), np.array([3.0, 2, 1, 0])
    >>> [each.tolist() for each in join(rise, fall)]
    [[0.0, 0.0, 0.0, 0.0, 1.0, 1.0, 1.0, 2.0, 2.0, 2.0, 2.0], [0.0, 1.0, 2.0, 3.0, 2.0, 1.0, 0.0]]
    """
    return np.concatenate([first[0][:-1], second[0][DEGREE + 1 :]]), np.concatenate([first[1], second[1][1:]])
