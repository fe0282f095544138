"""How a bore is said, the same on every sheet: the bit that drills it, and a depth with both ends of its measure.

One hole has one depth, the recipe's: along the bit's axis from the skin to the shoulder, or to the point where the
recipe measures so. A depth from the blank's face or from a guide's bush is that and what lies above the skin, to the
same end.
"""

import re
from collections.abc import Callable
from typing import Literal

from bodygen.recipe.model import Bore, Tip
from bodygen.units import inch_fraction, length_text

Start = Literal["the skin", "the blank's face", "the top of the bush"]
BITS: dict[Tip, str] = {"twist": "drill", "flat": "flat bit", "ball": "ball bit"}
THROUGH = "right through"
_WHOLE = 1e-6


def drill_name(bore: Bore, units: str) -> str:
    """The drill as the maker named it, else its diameter: tenths of a mm or 64ths of an inch where it is whole ones."""
    if bore.drill is not None:
        return bore.drill
    tenths, inches = bore.diameter * 10, bore.diameter / 25.4
    if units == "in" and abs(inches * 64 - round(inches * 64)) < _WHOLE:
        return inch_fraction(inches)
    return f"{bore.diameter:.4g} mm" if units == "mm" or abs(tenths - round(tenths)) < _WHOLE else f"{inches:.3f} in"


def bit_words(bore: Bore, units: str) -> str:
    """The bit by its shape and size.

    >>> bit_words(Bore("b", "any", "belly", 6.35, 9.0, drill="1/4"), "mm")
    'drill 1/4 in'
    >>> bit_words(Bore("eye", "eye", "side", 5.0, 1.0, tip="flat"), "in")
    'flat bit 5 mm'
    """
    name = drill_name(bore, units)
    inches = " in" if re.fullmatch(r"[\d/ -]+", name) else ""
    return f"{BITS[bore.tip]} {name}{inches}"


def to_words(tip: Tip, depth_to: Literal["shoulder", "point"]) -> str:
    """The inner end of a depth's measure."""
    if tip == "flat":
        return "to the flat bottom"
    if tip == "ball" and depth_to == "point":
        return "to the tip of the ball"
    return f"to the {depth_to}"


def depth_words(bore: Bore, units: str, start: Start = "the skin", above: float = 0.0) -> str:
    """A bore's depth from where to where, along the axis.

    Parameters
    ----------
    bore : Bore
        Its depth and what it is measured to.
    units : str
        The recipe's.
    start : str
        Where the measure begins.
    above : float
        How far that lies above the skin, on the axis [mm].

    Examples
    --------
    >>> depth_words(Bore("b", "any", "belly", 6.0, 14.0), "mm")
    '14.00 mm from the skin to the shoulder'
    """
    if bore.depth is None:
        return THROUGH
    return f"{length_text(bore.depth + above, units)} from {start} {to_words(bore.tip, bore.depth_to)}"


def depth_figures(bore: Bore, figure: Callable[[float], str]) -> str:
    """The depth [mm] as a row of a table whose head names its start, the skin, and the unit of ``figure``.

    Examples
    --------
    >>> depth_figures(Bore("b", "any", "belly", 6.0, 14.0), "{:.1f}".format)
    '14.0 to the shoulder'
    """
    return THROUGH if bore.depth is None else f"{figure(bore.depth)} {to_words(bore.tip, bore.depth_to)}"
