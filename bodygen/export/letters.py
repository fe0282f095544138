"""Letters of a PDF: of the face that every reader has; words that it cannot write are set in DejaVu Sans, embedded.

Letter by letter from left to right: scripts that are joined, stacked or read from the right need more than that.
"""

from functools import cache
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING, Literal
from unicodedata import bidirectional, combining, normalize

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

Face = Literal["Helvetica", "Helvetica-Bold"]
WIDER: dict[Face, str] = {"Helvetica": "DejaVuSans", "Helvetica-Bold": "DejaVuSans-Bold"}
"""By a face that every reader has: the one with more letters."""


def runs_of(text: str, face: Face) -> list[tuple[str, str]]:
    """Parts of a text, each with the name of its face; a letter that neither has without its accent, or as "?".

    Examples
    --------
    >>> runs_of("zander 70", "Helvetica")
    [('Helvetica', 'zander 70')]
    """
    if all(map(_writable, text)):
        return [(face, text)] if text else []
    runs: list[tuple[str, str]] = []
    for place, word in enumerate(normalize("NFC", text).split(" ")):
        plain = all(map(_writable, word))
        shown = word if plain else "".join(c if _drawable(c, face) else _instead(c) for c in word)
        name = face if all(map(_writable, shown)) else WIDER[face]
        if place:
            before, said = runs.pop()
            runs.append((before, f"{said} "))
        if runs and runs[-1][0] == name:
            shown = runs.pop()[1] + shown
        runs.append((name, shown))
    return runs


def printed_width(text: str, face: Face, size: float) -> float:
    """Width of one line as it is printed, in the unit of ``size``.

    Examples
    --------
    >>> printed_width("00", "Helvetica", 10.0)   # a figure is 0.556 of the size wide in Adobe's metrics of the face
    11.12
    """
    from reportlab.pdfbase.pdfmetrics import stringWidth

    return float(sum(stringWidth(words, name, size) for name, words in runs_of(text, face)))


def draw_words(canvas: "Canvas", text: str, face: Face, size: float, anchor: str, drop: float = 0.0) -> None:
    """Write one line at the canvas's origin, or so far above it [pt]: its left end, its right one or its middle."""
    runs = runs_of(text, face)
    x = 0.0
    if anchor != "left":
        wide = printed_width(text, face, size)
        x = -wide if anchor == "right" else -wide / 2
    for name, words in runs:
        canvas.setFont(name, size)
        canvas.drawString(x, drop, words)
        x += canvas.stringWidth(words, name, size)


def _writable(letter: str) -> bool:
    """Whether the faces that every reader has can write it: Windows code page 1252."""
    try:
        letter.encode("cp1252")
    except UnicodeEncodeError:
        return False
    return letter.isprintable()


def _drawable(letter: str, face: Face) -> bool:
    joined = bidirectional(letter) in {"R", "AL", "NSM"} or combining(letter)
    return letter.isprintable() and not joined and ord(letter) in _wider_letters(face)


def _instead(letter: str) -> str:
    return normalize("NFKD", letter).encode("ascii", "ignore").decode() or "?"


@cache
def _wider_letters(face: Face) -> frozenset[int]:
    """Make the face with more letters ready to be embedded, and tell which it has; none where it is not there.

    It comes with the library that draws (``paper``), which is looked up, but not loaded for that.
    """
    from reportlab.pdfbase.pdfmetrics import registerFont
    from reportlab.pdfbase.ttfonts import TTFont

    spec = find_spec("matplotlib")
    for folder in (spec.submodule_search_locations or []) if spec is not None else []:
        file = Path(folder, "mpl-data/fonts/ttf", f"{WIDER[face]}.ttf")
        if file.exists():
            font = TTFont(WIDER[face], file)
            registerFont(font)
            return frozenset(font.face.charToGlyph)
    return frozenset()
