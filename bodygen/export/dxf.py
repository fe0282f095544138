"""DXF R2000, mm: LINE, ARC and CIRCLE on cut layers, TEXT beside them on mark layers.

R2000 is the oldest version with units in the header, and every shop program reads it. Nothing in the file says when or
where it was written, so that two builds are alike byte for byte.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from io import StringIO
from math import degrees
from pathlib import Path
from typing import TYPE_CHECKING

from bodygen.plane.shapes import Arc, Circle, Drawing, Item, Line, Loop, Text

if TYPE_CHECKING:
    from ezdxf.layouts import Modelspace

_PLAIN = 7  # the format's black on white and white on black: a layer's name carries its meaning


def write_dxf(drawing: Drawing, path: Path, flat_sag: float | None = None) -> None:
    """Write a drawing at 1:1.

    Parameters
    ----------
    drawing : Drawing
        Layers keep their names; all are of one colour.
    path : Path
        File to write.
    flat_sag : float, optional
        Write loops and circles as closed polylines whose chords leave the curve by at most this [mm], for programs that
        ignore arcs; None: true arcs.
    """
    import ezdxf  # 0.25 s to load, and weigh never writes a drawing
    from ezdxf.enums import TextEntityAlignment

    with _without_clock():
        document = ezdxf.new("R2000", setup=False, units=4)
        document.header["$MEASUREMENT"] = 1
        space = document.modelspace()
        anchors = {
            "left": TextEntityAlignment.LEFT,
            "centre": TextEntityAlignment.CENTER,
            "right": TextEntityAlignment.RIGHT,
            "middle": TextEntityAlignment.MIDDLE_CENTER,
        }
        for layer in drawing.layers:
            if layer.name not in document.layers:
                document.layers.add(layer.name, color=_PLAIN)
            style = {"layer": layer.name}
            for item in layer.items:
                if isinstance(item, Text):
                    lettering = style | {"height": item.height, "rotation": degrees(item.angle)}
                    space.add_text(item.label, dxfattribs=lettering).set_placement(item.at, align=anchors[item.anchor])
                elif flat_sag is not None:
                    _add_flat(space, item, style, flat_sag)
                else:
                    _add(space, item, style)
        x0, y0, x1, y1 = drawing.box
        space.reset_extents(
            (x0 - 1, y0 - 1, 0.0), (x1 + 1, y1 + 1, 0.0)
        )  # a lower corner at the origin counts as unset
        stream = StringIO()
        document.write(stream)
        head = "".join(f"999\n{line}\n" for line in (drawing.name, drawing.about) if line)
        path.write_bytes(document.encode(head + stream.getvalue()))


@contextmanager
def _without_clock() -> Iterator[None]:
    """Leave out the dates and random ids that the library stamps, by its own switch for repeatable files."""
    import ezdxf

    before = ezdxf.options.write_fixed_meta_data_for_testing
    ezdxf.options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        ezdxf.options.write_fixed_meta_data_for_testing = before


def _add(space: "Modelspace", item: Item, style: dict[str, str]) -> None:
    """Add lines, arcs and circles as they are."""
    match item:
        case Circle():
            space.add_circle(item.centre, item.radius, dxfattribs=style)
        case Line():
            space.add_line(item.start, item.end, dxfattribs=style)
        case Arc():
            ends = (degrees(item.start_angle), degrees(item.end_angle))  # the format's arcs run counter-clockwise
            space.add_arc(item.centre, item.radius, *(ends if item.ccw else ends[::-1]), dxfattribs=style)
        case Loop():
            for piece in item.pieces:
                _add(space, piece, style)


def _add_flat(space: "Modelspace", item: Item, style: dict[str, str], sag: float) -> None:
    """Add closed polylines of straight sides."""
    if isinstance(item, Line | Arc):
        space.add_lwpolyline(item.points(sag), dxfattribs=style)
    elif isinstance(item, Loop | Circle):
        space.add_lwpolyline(item.points(sag), close=True, dxfattribs=style)
