"""The squared blank: the block of wood that the body is carved from, in body axes.

Every face of it is a datum while it is square: the nose end for lengths, belly or back and one flank for the rest.
Knows the body's extents and how much is left over. Knows nothing of what is drilled.
"""

from dataclasses import dataclass
from math import ceil

import numpy as np

from bodygen.findings import Finding
from bodygen.form.integrals import Array
from bodygen.recipe.model import Point3, Units
from bodygen.tables import as_row, load

ROUNDING_MM = 1e-6
"""A size this little above a whole step is that step."""


@dataclass(frozen=True, slots=True)
class Allowance:
    """How much larger than the body the blank is.

    ``nose`` and ``tail`` beyond the ends, ``face`` over back and belly each, ``flank`` over each side; every face then
    lies on the next whole ``step`` from nose, parting line and mid-plane [mm].
    """

    nose: float
    tail: float
    face: float
    flank: float
    step: float


@dataclass(frozen=True, slots=True)
class Blank:
    """Corners with the least and the greatest x, y, z [mm]; the nose tip lies ``-low[0]`` behind the nose end."""

    low: Point3
    high: Point3
    findings: tuple[Finding, ...] = ()

    @property
    def size(self) -> Point3:
        """Length, thickness side to side, depth belly to back [mm].

        Examples
        --------
        >>> Blank((-3.0, -10.0, -13.5), (73.0, 10.0, 13.0)).size
        (76.0, 20.0, 26.5)
        """
        x, y, z = (b - a for a, b in zip(self.low, self.high, strict=True))
        return x, y, z

    @property
    def middle(self) -> Array:
        """Centre of the block (3,) [mm].

        Examples
        --------
        >>> Blank((-3.0, -10.0, -13.5), (73.0, 10.0, 13.0)).middle.tolist()
        [35.0, 0.0, -0.25]
        """
        return (np.array(self.low) + self.high) / 2


def default_allowance(units: Units) -> Allowance:
    """The allowance of ``tables/jigs.toml`` [mm], in steps of the recipe's ruler: common practice, no published source.

    Examples
    --------
    >>> default_allowance("in").step * 16 / 25.4   # sixteenths of an inch
    1.0
    """
    row = load("jigs")["blank"]
    step = row["step_in_mm"] if units == "in" else row["step_mm"]
    return as_row(Allowance, row, step=step)


def blank_of(low: Array, high: Array, allowance: Allowance, in_hand: Point3 | None = None) -> Blank:
    """The blank around a body.

    Elementary: the extents and the allowance, rounded outwards to the step.

    Parameters
    ----------
    low, high : (3,) arrays
        The body's extents [mm], nose at the least x.
    allowance : Allowance
        What to leave for saw and rasp.
    in_hand : (length, width, height) or None
        A squared blank that exists already [mm]: it is used as it is where the body fits into it, its wider side for
        the body's larger one, with ``allowance.nose`` (or half of what is over, if that is less) ahead of the nose and
        the rest at the tail, and the body in the middle otherwise.

    Returns
    -------
    Blank
        With a warning, and of the size the allowance asks for, where the blank in hand is too small.

    Examples
    --------
    >>> blank_of(np.array([0, -8, -11.2]), np.array([70, 8, 11]), Allowance(3, 3, 2, 2, 0.5)).size
    (76.0, 20.0, 26.5)
    """
    body = high - low
    findings: tuple[Finding, ...] = ()
    if in_hand is not None:
        narrow, wide = sorted(in_hand[1:])
        size = np.array([in_hand[0], wide, narrow] if body[1] > body[2] else [in_hand[0], narrow, wide])
        over = size - body
        if (over >= 0).all():
            ahead = np.array([min(allowance.nose, over[0] / 2), over[1] / 2, over[2] / 2])
            return Blank(_triple(low - ahead), _triple(low - ahead + size))
        short = int(np.argmin(over))
        remedy = (
            f"the blank in hand is too small for the body, so its jigs are made for a larger one: {_words(size)} mm"
        )
        findings = (
            Finding(
                "blank-too-small",
                "warning",
                "wood.blank",
                remedy,
                round(float(size[short]), 2),
                round(float(body[short]), 2),
                "mm",
            ),
        )
    before = np.array([allowance.nose, allowance.flank, allowance.face])
    after = np.array([allowance.tail, allowance.flank, allowance.face])
    return Blank(
        _triple([-_up(-(a - b), allowance.step) for a, b in zip(low, before, strict=True)]),
        _triple([_up(a + b, allowance.step) for a, b in zip(high, after, strict=True)]),
        findings,
    )


def _up(length: float, step: float) -> float:
    return ceil(length / step - ROUNDING_MM) * step


def _words(size: Array) -> str:
    return " x ".join(f"{s:.1f}" for s in size)


def _triple(values: Array | list[float]) -> Point3:
    return float(values[0]), float(values[1]), float(values[2])
