"""A page: strokes of a few pens and lines of lettering, in mm from the top left corner.

Knows widths of lettering and the line types of ISO 128-2 (from memory). Knows nothing of what is drawn.
y runs down the page.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Literal
from unicodedata import east_asian_width

import numpy as np
from numpy.typing import NDArray

from bodygen.plane.shapes import Box, Point, box_of

Array = NDArray[np.float64]
Pen = Literal["outline", "visible", "path", "hidden", "widest", "centre", "wire", "thin", "hair"]
PENS: dict[Pen, tuple[float, tuple[float, ...]]] = {
    "outline": (0.5, ()),
    "visible": (0.35, ()),
    "path": (0.25, ()),
    "hidden": (0.25, (2.0, 1.0)),
    "widest": (0.25, (5.0, 1.5)),
    "centre": (0.18, (6.0, 1.0, 0.6, 1.0)),
    "wire": (0.18, (1.2, 0.6)),
    "thin": (0.18, ()),
    "hair": (0.13, ()),
}
"""Width of each pen and its dashes, on and off by turns [mm]; widths of the series 0.13, 0.18, 0.25, 0.35, 0.5."""

# Advance of each letter as a share of the font size, rounded up, of a wide sans-serif face (read off its own table):
# a narrower face than this leaves a little more air, a wider one is rare.
_ADVANCES = (
    (0.35, " '.,/:;IJijl|\\·"),
    (0.40, "()-[]ft"),
    (0.50, '!"*r²³_`°–'),
    (0.60, "?FLcksvxyz"),
    (0.70, "$0123456789ABCEKPRSTVXYZabdeghnopqu{}"),
    (0.80, "&DGHNOQUØ"),
    (0.90, "#+<=>M^w~×±−"),
    (1.00, "%@Wm½¼¾…"),
)
_ADVANCE = {letter: share for share, letters in _ADVANCES for letter in letters}
_BOLD = 1.12
ASCENT, DESCENT = 0.78, 0.24
"""Reach of lettering above and below its base line, as shares of the font size [-]."""
CAPITAL = 0.73
"""Height of a capital as a share of the font size [-]."""
FACES = "DejaVu Sans, Verdana, Arial, Helvetica, sans-serif"


@dataclass(frozen=True, slots=True)
class Stroke:
    """A line through points [mm], or the outline of a filled shape. ``part`` says what it shows.

    Colours are names or #rrggbb, as SVG has them.
    """

    points: tuple[Point, ...]
    pen: Pen
    closed: bool = False
    fill: str = "none"
    part: str = ""
    colour: str = "black"


@dataclass(frozen=True, slots=True)
class Label:
    """One line of lettering: font ``size`` [mm], ``at`` on its base line; ``upright`` reads from the right edge."""

    text: str
    at: Point
    size: float
    anchor: Literal["left", "centre", "right"] = "left"
    upright: bool = False
    bold: bool = False

    @property
    def box(self) -> Box:
        """Room that the lettering takes on the page [mm]."""
        wide = text_width(self.text, self.size, bold=self.bold)
        start = -wide * {"left": 0.0, "centre": 0.5, "right": 1.0}[self.anchor]
        x, y = self.at
        up, down = ASCENT * self.size, DESCENT * self.size
        if self.upright:
            return x - up, y - start - wide, x + down, y - start
        return x + start, y - up, x + start + wide, y + down


Mark = Stroke | Label


@dataclass(frozen=True, slots=True)
class PaperPage:
    """A finished page: size [mm], what it is, what it was made from, and its marks from back to front."""

    width: float
    height: float
    title: str
    about: str
    marks: tuple[Mark, ...]


def text_width(text: str, size: float, *, bold: bool = False) -> float:
    """Width of one line of lettering, rather too much than too little [mm].

    Parameters
    ----------
    text : str
        Any letters; those of no table count as broad ones.
    size : float
        Font size [mm].
    bold : bool
        Bold letters are wider.

    Examples
    --------
    >>> text_width("2-3/4", 2.5)
    7.125
    """
    total = sum(_ADVANCE.get(c) or (1.05 if east_asian_width(c) in "WFA" else 0.85) for c in text)
    return total * size * (_BOLD if bold else 1.0)


def shortened(text: str, width: float, size: float, *, bold: bool = False) -> str:
    """Return the text, cut at its end with an ellipsis where it is wider than ``width`` [mm]."""
    if text_width(text, size, bold=bold) <= width:
        return text
    while text and text_width(f"{text}…", size, bold=bold) > width:
        text = text[:-1]
    return f"{text.rstrip()}…"


def wrapped(text: str, width: float, size: float) -> list[str]:
    """Break the text between words into lines no wider than ``width`` [mm]; a word that is wider alone is cut."""
    lines: list[str] = []
    for word in text.split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and text_width(longer, size) <= width:
            lines[-1] = longer
        else:
            lines.append(shortened(word, width, size))
    return lines


def printable(text: str) -> str:
    """Return the text on one line, without the characters that XML 1.0 (section 2.2) does not allow."""
    return " ".join("".join(c for c in text if c.isprintable() or c.isspace()).split())


def stroke(points: Array | Sequence[Point], pen: Pen, *, closed: bool = False, part: str = "") -> Stroke:
    """Make a stroke of (k, 2) points [mm]."""
    return Stroke(tuple((float(x), float(y)) for x, y in points), pen, closed=closed, part=part)


def moved(marks: Iterable[Mark], dx: float, dy: float) -> list[Mark]:
    """Return the marks shifted on the page [mm]."""
    return [_moved(mark, dx, dy) for mark in marks]


def _moved(mark: Mark, dx: float, dy: float) -> Mark:
    if isinstance(mark, Label):
        at = mark.at[0] + dx, mark.at[1] + dy
        return Label(mark.text, at, mark.size, mark.anchor, mark.upright, mark.bold)
    points = tuple((x + dx, y + dy) for x, y in mark.points)
    return replace(mark, points=points)


def bounds(marks: Iterable[Mark]) -> Box:
    """Box round all the marks [mm]."""
    boxes = [mark.box if isinstance(mark, Label) else box_of(mark.points) for mark in marks]
    return box_of([corner for x0, y0, x1, y1 in boxes for corner in ((x0, y0), (x1, y1))])
