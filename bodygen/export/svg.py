"""SVG 1.1 in true millimetres: drawings of what is cut, y up in them and down in the file; and pages to look at."""

from collections import Counter
from itertools import groupby
from math import degrees, pi
from pathlib import Path
from xml.sax.saxutils import escape, quoteattr

from bodygen.plane.page import FACES, PENS, Label, Mark, PaperPage, Stroke
from bodygen.plane.shapes import Arc, Circle, Drawing, Item, Line, Loop, Piece, Text

_CAPITAL = 0.716  # height of a capital over the font size in the common sans faces (Helvetica, Arial: 1466/2048)
_LINE = 0.1  # mm: width of what is drawn


def write_svg(drawing: Drawing, path: Path, margin: float = 5.0) -> None:
    """Write a drawing at 1:1, as ``drawing_svg`` has it, to a file."""
    path.write_text(drawing_svg(drawing, margin), encoding="utf-8", newline="\n")


def drawing_svg(drawing: Drawing, margin: float = 5.0, line: float = _LINE) -> str:
    """Give a drawing at 1:1 as the text of a file.

    Parameters
    ----------
    drawing : Drawing
        Layers become groups with their names as ids; nothing is scaled.
    margin : float
        White left around what is drawn [mm].
    line : float
        Width of what is drawn [mm].
    """
    x0, y0, x1, y1 = drawing.box
    wide, tall = x1 - x0 + 2 * margin, y1 - y0 + 2 * margin
    view = f"{_n(x0 - margin)} {_n(-y1 - margin)} {_n(wide)} {_n(tall)}"
    size = f'width="{_n(wide)}mm" height="{_n(tall)}mm"'
    rows = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg xmlns="http://www.w3.org/2000/svg" version="1.1" {size} viewBox="{view}">',
        f"<title>{escape(drawing.name)}</title>",
    ]
    if drawing.about:
        rows.append(f"<desc>{escape(drawing.about)}</desc>")
    names: Counter[str] = Counter()
    for layer in drawing.layers:
        names[layer.name] += 1
        again = f"-{names[layer.name]}" if names[layer.name] > 1 else ""  # ids are unique
        style = f'fill="none" stroke="{layer.colour}" stroke-width="{_n(line)}"'
        rows.append(f"<g id={quoteattr(layer.name + again)} class={quoteattr(layer.role)} {style}>")
        rows += [_element(item, layer.colour) for item in layer.items]
        rows.append("</g>")
    rows.append("</svg>")
    return "\n".join(rows) + "\n"


def _element(item: Item, colour: str) -> str:
    match item:
        case Circle(centre=(x, y), radius=r):
            return f'<circle cx="{_n(x)}" cy="{_n(-y)}" r="{_n(r)}"/>'
        case Loop(pieces=pieces):
            return f'<path d="{_begin(pieces[0])}{"".join(map(_step, pieces))}Z"/>'
        case Line() | Arc():
            return f'<path d="{_begin(item)}{_step(item)}"/>'
        case Text():
            return _lettering(item, colour)


def _begin(piece: Piece) -> str:
    return f"M{_n(piece.start[0])},{_n(-piece.start[1])}"


def _step(piece: Piece) -> str:
    end = f"{_n(piece.end[0])},{_n(-piece.end[1])}"
    if isinstance(piece, Line):
        return f"L{end}"
    large, sense = int(abs(piece.sweep) > pi), int(not piece.ccw)  # the file's y runs down
    return f"A{_n(piece.radius)},{_n(piece.radius)} 0 {large} {sense} {end}"


def _lettering(text: Text, colour: str) -> str:
    anchor = {"left": "start", "centre": "middle", "right": "end", "middle": "middle"}[text.anchor]
    down = text.height / 2 if text.anchor == "middle" else 0.0
    move = f"translate({_n(text.at[0])},{_n(-text.at[1])}) rotate({_n(-degrees(text.angle))})"
    size = f'font-family="sans-serif" font-size="{_n(text.height / _CAPITAL)}"'
    return (
        f'<text transform="{move}" y="{_n(down)}" {size} text-anchor="{anchor}" fill="{colour}" stroke="none">'
        f"{escape(text.label)}</text>"
    )


def page_svg(page: PaperPage) -> str:
    """A page as SVG 1.1, true to size when printed at 100 %.

    Runs of strokes with the same pen and part share a group, whose ``class`` is the part. Lettering stays text. The
    same page gives the same bytes.
    """
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{_paper(page.width)}mm" height="{_paper(page.height)}mm"'
        f' viewBox="0 0 {_paper(page.width)} {_paper(page.height)}">'
    )
    lines = ['<?xml version="1.0" encoding="UTF-8"?>', head, f"<title>{escape(page.title)}</title>"]
    lines.append(f"<desc>{escape(page.about)}</desc>")
    lines.append(f'<rect width="{_paper(page.width)}" height="{_paper(page.height)}" fill="white"/>')
    for style, run in groupby(page.marks, key=_style):
        marks = list(run)
        lines += [f"<g {style}>", *(_mark(mark) for mark in marks), "</g>"]
    return "\n".join([*lines, "</svg>", ""])


def _style(mark: Mark) -> str:
    if isinstance(mark, Label):
        return f'font-family={quoteattr(FACES)} fill="black"'
    width, dashes = PENS[mark.pen]
    dash = f' stroke-dasharray="{" ".join(map(_paper, dashes))}"' if dashes else ""
    part = f"class={quoteattr(mark.part.replace(' ', '-'))} " if mark.part else ""
    look = f'fill="{mark.fill}" stroke="{mark.colour}" stroke-width="{_paper(width)}"{dash}'
    return f'{part}{look} stroke-linejoin="round" stroke-linecap="{"butt" if dashes else "round"}"'


def _mark(mark: Mark) -> str:
    if isinstance(mark, Stroke):
        path = "L".join(f"{_paper(x)} {_paper(y)}" for x, y in mark.points)
        return f'<path d="M{path}{"Z" if mark.closed else ""}"/>'
    x, y = (_paper(v) for v in mark.at)
    anchor = {"left": "", "centre": ' text-anchor="middle"', "right": ' text-anchor="end"'}[mark.anchor]
    turn = f' transform="rotate(-90 {x} {y})"' if mark.upright else ""
    bold = ' font-weight="bold"' if mark.bold else ""
    return f'<text x="{x}" y="{y}" font-size="{_paper(mark.size)}"{anchor}{bold}{turn}>{escape(mark.text)}</text>'


def _n(value: float) -> str:
    """Shortest text of a length to a millionth of a millimetre: a machine follows it."""
    return _decimal(value, 6)


def _paper(value: float) -> str:
    """Shortest text of a length to a micrometre: more than paper shows."""
    return _decimal(value, 3)


def _decimal(value: float, places: int) -> str:
    """A number without idle zeros or a negative zero."""
    text = f"{value:.{places}f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
