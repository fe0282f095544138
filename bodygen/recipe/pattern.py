"""How quantities are written, as patterns that an editor's schema can hold: the grammar of ``units.py``, no more.

A pattern tells a text's form, not its size: "900 mm" is a length. Where ``units`` takes several marks for one, so does
the pattern (a minus or a dash, an inch's or a typographer's quotes, ½). Digits are 0 to 9.
"""

import re

from bodygen.units import UNITS, Quantity

_SIGN = r"[+\-\u2212\u2013]?\s*"
_AND = r"\s*[\-\u2212\u2013]\s*"
_MIXED = rf"(?:[0-9]+(?:{_AND}|\s+))?[0-9]+\s*/\s*0*[1-9][0-9]*"
_ONE_MARK = rf"(?:[0-9]+\s*(?:{_AND})?)?[\u00bc-\u00be\u2150-\u215e]"
_DECIMAL = r"(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+\-\u2212\u2013]?[0-9]{1,2})?"
_NUMBER = rf"(?:{_MIXED}|{_ONE_MARK}|{_DECIMAL})"
_SAME = {"u": "[uU\u00b5\u03bc]", "°": "[°º]", '"': '["\u2033\u201d]', "/": r"\s*/\s*"}
DRILL = r"^ *(?:# *(?:[1-9]|[1-7] *[0-9]|8 *0)|[A-Za-z]) *$"
"""A number drill from #1 to #80, or a letter."""
DATE = r"^\s*[0-9]{4}-[0-9]{2}-[0-9]{2}\s*$"
CLOCK = r"^\s*[0-2]?[0-9]:[0-5][0-9]\s*$"
COLOUR = r"^\s*(?:#(?:[0-9a-fA-F]{3}|[0-9a-fA-F]{6})|[A-Za-z_\s-]+)\s*$"
"""A colour's digits, or a name however it is parted."""
TEXT = r"^[^\u0000-\u001f\u007f]*[^\s\u0000-\u001f\u007f][^\u0000-\u001f\u007f]*$"
"""One line that is not blank."""


def quantity(kind: Quantity) -> str:
    """Pattern of a text of this quantity, with or without its unit.

    >>> [bool(re.search(quantity("length"), text)) for text in ("2-3/4 in", '3/8"', "9.5", "1,5 mm", "3 g")]
    [True, True, True, False, False]
    """
    return rf"^\s*{_measure(kind)}\s*$"


def sized(*shapes: str) -> str:
    """Pattern of a cutter's shape and its size, "flat 1/16 in"."""
    return rf"^\s*(?:{'|'.join(_anyhow(shape) for shape in shapes)}) \s*{_measure('length')}\s*$"


def _measure(kind: Quantity) -> str:
    names = sorted(UNITS[kind], key=len, reverse=True)
    return rf"{_SIGN}{_NUMBER}\s*(?:(?:{'|'.join(_anyhow(name) for name in names)})\.*)?"


def _anyhow(name: str) -> str:
    """A name in large and small letters, and with any of the marks that stand for one of its own."""
    return "".join(
        _SAME.get(mark) or (f"[{mark}{mark.upper()}]" if mark.upper() != mark else re.escape(mark)) for mark in name
    )
