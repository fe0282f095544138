"""A bait drawn home from a cast, the rod's tip held still: its deepest point. SI units throughout.

Without drag of the line there is a closed form, which is a bound and never an answer: line drag halves it, or worse.
The answer is a fit to runs of a chain of links (``fishing.toml``; the chain itself is in the tests).
"""

from dataclasses import dataclass
from math import asin, atan, exp, log, sin

from bodygen.tables import load


@dataclass(frozen=True, slots=True)
class Bound:
    """Deepest point if line had no drag: ``line_out`` there [m], its ``dip`` below horizontal [rad], ``depth`` [m]."""

    line_out: float
    dip: float
    depth: float


def bound(down_over_drag: float, cast: float, tip: float) -> Bound:
    """Deepest point of a bait on a line without drag: no depth can be more, and none is as much.

    Parameters
    ----------
    down_over_drag : float
        Down force over drag of the bait, k [-].
    cast : float
        Line out when the bait begins to swim at the surface [m].
    tip : float
        Of the rod above the water [m].

    Returns
    -------
    Bound
        At the surface itself, of depth 0, where the line at the cast's end is steeper already.

    Notes
    -----
    Derived here: polar about the tip, the force across the line vanishes when r d(psi)/dt = k V, so
    psi = psi0 + k ln(r0/r), deepest where tan(psi) = k.

    Examples
    --------
    >>> round(bound(0.3, 25.0, 1.0).depth, 6)
    2.107009
    """
    start, dip = asin(tip / cast), atan(down_over_drag)
    if dip <= start:
        return Bound(cast, start, 0.0)
    line_out = cast * exp(-(dip - start) / down_over_drag)
    return Bound(line_out, dip, line_out * sin(dip) - tip)


def line_drag(diameter: float, c_n: float, cast: float, bait_drag: float, water: float) -> float:
    """Drag of the whole line over that of the bait, both square to the way at one speed, L [-].

    Parameters
    ----------
    diameter, cast : float
        Of the line, and its length when the bait begins to swim [m].
    c_n : float
        Drag of a line square to itself [-].
    bait_drag : float
        Of the bait over the square of its speed, b [N s^2/m^2].
    water : float
        Density [kg/m^3].

    Notes
    -----
    Elementary: (density/2) d c_n r0 U^2 over b U^2.

    Examples
    --------
    >>> line_drag(0.001, 1.5, 20.0, 0.5, 1000.0)
    30.0
    """
    return water * diameter * c_n * cast / (2 * bait_drag)


def out_of_range(down_over_drag: float, drag: float, cast: float, tip: float) -> dict[str, tuple[float, float, float]]:
    """What lies outside of all the runs that the fit was made from: each with its figure, least and most [-].

    Parameters
    ----------
    down_over_drag, drag : float
        k and L [-].
    cast, tip : float
        Line out at first, and the rod's tip above the water [m].

    Returns
    -------
    dict
        Empty where ``depth_of`` may be asked.

    Notes
    -----
    The ranges of the runs in ``fishing.toml``, derived here.

    Examples
    --------
    >>> out_of_range(1.5, 10.0, 30.0, 1.0)
    {'down_over_drag': (1.5, 0.1, 1.3)}
    """
    row = load("fishing")["retrieve"]
    figures = {
        "down_over_drag": (down_over_drag, *row["k_range"]),
        "line_over_bait_drag": (drag, *row["drag_range"]),
        "tip_over_cast": (tip / cast, *row["tip_over_cast_range"]),
        "tip_over_cast_k": (max(tip, 0.0) / (cast * down_over_drag), *row["tip_over_cast_k_range"]),
    }
    return {name: (value, low, high) for name, (value, low, high) in figures.items() if not low <= value <= high}


def depth_of(down_over_drag: float, drag: float, cast: float, tip: float) -> float:
    """Deepest point of a bait drawn home on a line with drag [m].

    Parameters
    ----------
    down_over_drag : float
        Down force over drag of the bait, buoyancy taken off, k [-].
    drag : float
        As of ``line_drag``, L [-].
    cast, tip : float
        Line out at first, and the rod's tip above the water [m].

    Returns
    -------
    float
        Below the surface [m].

    Raises
    ------
    ValueError
        Outside of what the fit was made from (``out_of_range``).

    Notes
    -----
    Fitted to runs of a chain of links, derived here; worst 8 %, rms 2.7 %. What a weak bait and a steep line add is
    nought where the first 75 runs were.

    Examples
    --------
    >>> round(depth_of(0.65, 9.35625, 25.0, 1.0), 6)
    2.837997
    """
    outside = out_of_range(down_over_drag, drag, cast, tip)
    if outside:
        msg = f"outside of what was run: {', '.join(outside)}"
        raise ValueError(msg)
    row = load("fishing")["retrieve"]
    k, by_drag = log(down_over_drag), log(drag)
    taken = row["constant"] + row["log_drag"] * by_drag + row["log_k"] * k + row["log_k_squared"] * k**2
    steep = tip / (cast * down_over_drag)
    taken += (row["tip"] + row["tip_log_drag"] * by_drag) * steep
    taken += row["low_k"] * max(0.0, log(row["low_k_below"]) - k)
    taken += (row["high_tip"] + row["high_tip_k"] * steep) * max(0.0, tip / cast - row["high_tip_above"])
    return bound(down_over_drag, cast, tip).depth / (1 + exp(taken))


def time_deep(down_over_drag: float, drag: float, cast: float, tip: float) -> float:
    """How much of the time from cast to rod the bait is deeper than 80 % of its deepest point [-].

    Parameters
    ----------
    down_over_drag, drag, cast, tip : float
        As for ``depth_of`` [-, -, m, m].

    Notes
    -----
    Fitted to runs of a chain of links, derived here; worst 0.03, of a steep line 0.09.

    Examples
    --------
    >>> round(time_deep(0.65, 9.35625, 25.0, 1.0), 2)
    0.47
    """
    row, above = load("fishing")["time_deep"], load("fishing")["retrieve"]["high_tip_above"]
    share = row["constant"] + row["log_drag"] * log(drag) + row["log_k"] * log(down_over_drag)
    share += row["high_tip"] * log(drag) * max(0.0, tip / cast - above)
    return float(share + row["tip"] * tip / (cast * down_over_drag))
