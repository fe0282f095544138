"""A page as a picture: PNG, drawn by matplotlib's Agg from the same marks as the SVG.

Knows pixels. Letters are outlines of the wide sans-serif face that comes with matplotlib, so that no face need be
installed; a letter it lacks is drawn as an empty box.
"""

from collections.abc import Sequence
from functools import lru_cache
from io import BytesIO
from itertools import groupby
from typing import TYPE_CHECKING, Any

import numpy as np

from bodygen.plane.page import PENS, Label, Mark, PaperPage, Pen, Stroke

if TYPE_CHECKING:
    from matplotlib.backend_bases import GraphicsContextBase
    from matplotlib.backends.backend_agg import RendererAgg
    from matplotlib.path import Path
    from matplotlib.transforms import Affine2D
    from numpy.typing import NDArray

PACKED = 3
"""How hard a picture is packed, of 9: the usual 6 takes twice as long for files a sixth smaller."""
_POINTS = 72.0 / 25.4
"""Points in a millimetre, the renderer's unit of line width."""
_GREY = {"none", "black", "white"}
_MISSING = "□"
_SHORT = 100
"""Points of a line that the renderer draws whole; of a longer one it may leave some out, but not among many at once."""


def page_png(page: PaperPage, dots_to_an_inch: float = 200.0) -> bytes:
    """Draw the page as a PNG that says its own resolution, grey where no mark has a colour; the same bytes each time.

    Parameters
    ----------
    page : PaperPage
        Any page.
    dots_to_an_inch : float
        Resolution [1/in].
    """
    from matplotlib.backends.backend_agg import RendererAgg  # 0.3 s to load, for pictures alone
    from matplotlib.path import Path
    from matplotlib.transforms import Affine2D
    from PIL import Image

    dots = dots_to_an_inch / 25.4
    size = round(page.width * dots), round(page.height * dots)
    renderer = RendererAgg(*size, dots_to_an_inch)  # type: ignore[no-untyped-call]  # matplotlib's renderers carry no types
    onto = Affine2D().scale(dots, -dots).translate(0.0, page.height * dots)
    paper = renderer.new_gc()
    paper.set_linewidth(0.0)
    renderer.draw_path(paper, Path.unit_rectangle(), Affine2D().scale(*size), (1.0, 1.0, 1.0))  # type: ignore[no-untyped-call]  # as above
    pens: dict[tuple[Pen, str], GraphicsContextBase] = {}
    for look, run in groupby(page.marks, _look):
        if look is None:
            for mark in run:
                _draw_label(renderer, mark, onto)  # type: ignore[arg-type]  # a mark without a pen
            continue
        pens[look] = pens.get(look) or _context(renderer, *look)
        for short, strokes in groupby(run, _is_short_line):
            draw = _draw_lines if short else _draw_shapes
            draw(renderer, pens[look], list(strokes), onto)  # type: ignore[arg-type]  # marks with a pen
    rows: NDArray[np.uint8] = np.asarray(renderer.buffer_rgba())  # type: ignore[no-untyped-call]  # as above
    file = BytesIO()
    Image.fromarray(rows[:, :, :3] if _has_colours(page) else rows[:, :, 0]).save(
        file, format="PNG", dpi=(dots_to_an_inch, dots_to_an_inch), compress_level=PACKED
    )
    return file.getvalue()


def _has_colours(page: PaperPage) -> bool:
    return any(isinstance(mark, Stroke) and {mark.colour, mark.fill} - _GREY for mark in page.marks)


def _context(renderer: "RendererAgg", pen: Pen, colour: str) -> "GraphicsContextBase":
    """What the renderer is told of a pen: a router's picture draws thousands of lines with one."""
    context = renderer.new_gc()
    width, dashes = PENS[pen]
    context.set_linewidth(width * _POINTS)
    context.set_foreground(colour)
    context.set_joinstyle("round")
    context.set_capstyle("butt" if dashes else "round")
    context.set_snap(False)
    if dashes:
        context.set_dashes(0.0, [dash * _POINTS for dash in dashes])
    return context


def _look(mark: Mark) -> tuple[Pen, str] | None:
    """Pen and colour of a stroke; None of a label."""
    return (mark.pen, mark.colour) if isinstance(mark, Stroke) else None


def _is_short_line(mark: Mark) -> bool:
    return isinstance(mark, Stroke) and mark.fill == "none" and len(mark.points) < _SHORT


def _path(mark: Stroke) -> "Path":
    from matplotlib.path import Path

    return Path([*mark.points, mark.points[0]] if mark.closed else mark.points, closed=mark.closed)


def _draw_shapes(
    renderer: "RendererAgg", context: "GraphicsContextBase", marks: Sequence[Stroke], onto: "Affine2D"
) -> None:
    from matplotlib.colors import to_rgb

    for mark in marks:
        renderer.draw_path(context, _path(mark), onto, None if mark.fill == "none" else to_rgb(mark.fill))  # type: ignore[no-untyped-call]  # as above


def _draw_lines(
    renderer: "RendererAgg", context: "GraphicsContextBase", marks: Sequence[Stroke], onto: "Affine2D"
) -> None:
    """Many lines in one call, one after the other as if each were drawn by itself: the same pixels."""
    from matplotlib.transforms import IdentityTransform

    draw: Any = renderer.draw_path_collection  # its types forbid what its words ask for
    none, shifts, turns = np.zeros((0, 4)), np.zeros((0, 2)), np.zeros((0, 3, 3))
    paths, colours, widths = [_path(mark) for mark in marks], [context.get_rgb()], [context.get_linewidth()]
    dashes = [context.get_dashes()]
    draw(
        *(context, onto, paths, turns, shifts, IdentityTransform()),
        *(none, np.array(colours), np.array(widths), dashes, [True], [""], "screen"),
    )


def _draw_label(renderer: "RendererAgg", label: Label, onto: "Affine2D") -> None:
    from matplotlib.transforms import Affine2D

    path, wide = _letters(label.text, label.bold)
    context = renderer.new_gc()
    context.set_linewidth(0.0)
    shift = -wide * {"left": 0.0, "centre": 0.5, "right": 1.0}[label.anchor]
    place = Affine2D().translate(shift, 0.0).scale(label.size, -label.size)
    if label.upright:
        place.rotate_deg(-90.0)
    on_page = place.translate(*label.at) + onto
    renderer.draw_path(context, path, on_page, (0.0, 0.0, 0.0))  # type: ignore[no-untyped-call]  # as above


@lru_cache(maxsize=512)
def _letters(text: str, bold: bool) -> "tuple[Path, float]":
    """Outlines of one line of lettering and their width; base line at y = 0, font size 1."""
    from matplotlib.font_manager import FontProperties, findfont, get_font
    from matplotlib.path import Path
    from matplotlib.textpath import text_to_path

    face = FontProperties(family="DejaVu Sans", weight="bold" if bold else "normal")
    font = get_font(findfont(face))
    known = "".join(c if font.get_char_index(ord(c)) else _MISSING for c in text)
    vertices, codes = text_to_path.get_text_path(face, known)
    points = np.asarray(vertices, dtype=float).reshape(-1, 2) / text_to_path.FONT_SCALE
    return Path(points, codes if len(points) else None), float(points[:, 0].max(initial=0.0))
