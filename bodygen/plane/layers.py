"""Layers of what is cut from sheet: one name for one meaning, in every file.

``CUT``: the machine goes through. ``ENGRAVE``: the surface alone; a shop may leave it out. ``MARK_...``: nothing is cut
or engraved there, it is for the eye: where tabs may stay, where to bend, where the sheet ends, how long something is.
The name carries the meaning; a colour is for paper and pictures alone.
"""

from collections.abc import Sequence

from bodygen.plane.kerf import plain
from bodygen.plane.shapes import Item, Layer, Loop, Shape

WIDTH_MM = 0.18


def cut_layer(outlines: Sequence[Loop], holes: Sequence[Shape], width: float = WIDTH_MM) -> Layer:
    """Everything that is cut through, on one layer, so that every reader sees holes as holes.

    They come before the outlines, since a part that is cut free may move.
    """
    paths = (plain(shape) if isinstance(shape, Loop) else shape for shape in (*holes, *outlines))
    return Layer("CUT", "cut", tuple(paths), "red", width)


def engraved(items: Sequence[Item]) -> Layer:
    """Lettering and lines on the part."""
    return Layer("ENGRAVE", "mark", tuple(items), "blue", WIDTH_MM)
