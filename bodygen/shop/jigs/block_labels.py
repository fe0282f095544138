"""What is written on a drill block: drill and stop length beside every guide, the nose, the wall's face.

Knows where words find room. Knows letters through engrave.py, and no drill.
"""

import manifold3d
import numpy as np

from bodygen.findings import Finding
from bodygen.form.bore_words import drill_name
from bodygen.form.cuts import Prism
from bodygen.form.integrals import Array
from bodygen.recipe.model import Recipe
from bodygen.shop.engrave import sunk, words, words_size
from bodygen.shop.jigs.corner import FAR_MM, BlockSize, Corner, Guide, rectangle, slit
from bodygen.shop.jigs.drill_guide import stop_mark

SEEK_MM = 30.0
"""How far from its guide a label may stand."""
LETTER_WALL_MM = 0.8
"""Left between letters and an edge: two lines of a 0.4 mm nozzle."""
Box = tuple[float, float, float, float]


def labels(
    corner: Corner,
    guides: tuple[Guide, ...],
    saw: Prism | None,
    ears: list[float],
    recipe: Recipe,
    block: BlockSize,
) -> tuple[list[manifold3d.Manifold], list[Finding]]:
    """Drill and stop length beside every guide, the nose and the face marked; what found no room is a note."""
    sunken: list[manifold3d.Manifold] = []
    checks: list[Finding] = []
    for side in ("wall", "fence", "nose", "tail"):
        own = [g for g in guides if corner.side(g.entry.face) == side]
        if side == "tail" and not corner.tail:
            continue
        origin, right, up, extents = corner.outside(side)
        places = [_on_face(corner, g, right, up) for g in own]
        taken = [*_slit_boxes(corner, saw, side), *(_ear_boxes(corner, ears, block) if side == "wall" else ())]
        for g, (u, v) in zip(own, places, strict=True):
            wide = g.entry.tool.diameter / 2 + (block.guide.collar / 2 if g.entry.lean else block.guide.relief / 2)
            taken.append((u - wide - 0.8, u + wide + 0.8, v - wide * 1.42 - 0.8, v + wide * 1.42 + 0.8))
        wanted: list[tuple[list[str], tuple[float, float], str]] = []
        for g, place in zip(own, places, strict=True):
            bore = recipe.bores[g.entry.tool.bore]
            wanted.append((
                [drill_name(bore, recipe.units), stop_mark(bore, g.stop, recipe.units)],
                place,
                g.entry.tool.name,
            ))
        if side == "fence":
            wanted.append((["NOSE"], (extents[0] + 12.0, corner.deep / 2), ""))
        if side == "wall":
            wanted.append(([corner.wall_on.upper()], (extents[1] - 12.0, -corner.thick / 2), ""))
        for lines, place, name in wanted:
            others = [p for p in places if p != place]
            found = _find_place(lines, place, others, extents, taken, block)
            if found is None:
                if name:
                    remedy = f"{name}: no room on the block for {' '.join(lines)}; write it on by hand"
                    checks.append(Finding("block-no-label", "note", f"drill block {corner.wall_on}", remedy))
                continue
            (u, v), height, box = found
            taken.append(box)
            sunken.append(sunk(words(lines, height), origin + u * right + v * up, right, up, block.engraved))
    return sunken, checks


def _on_face(corner: Corner, guide: Guide, right: Array, up: Array) -> tuple[float, float]:
    rest = corner.point(np.array(guide.rest))
    return float(rest @ right), float(rest @ up)


def _ear_boxes(corner: Corner, ears: list[float], block: BlockSize) -> list[Box]:
    """Where on the wall's outer face ears stand: letters would cut their roots."""
    half = block.ear_width / 2 + LETTER_WALL_MM
    return [(x - half, x + half, -LETTER_WALL_MM, corner.fence) for x in ears]


def _slit_boxes(corner: Corner, saw: Prism | None, side: str) -> list[Box]:
    """Where on an outer face the saw's guide opens."""
    if saw is None or side == "tail":
        return []
    (a, b), h = corner.ends, corner.height
    strip = {
        "wall": rectangle(a, b, corner.wall - 1, corner.wall),
        "fence": rectangle(a, b, -h, corner.wall),
        "nose": rectangle(a, a + 1, -h, corner.wall),
    }[side]
    open_at = slit(corner, saw) ^ strip
    if open_at.is_empty():
        return []
    x0, p0, x1, p1 = open_at.bounds()
    if side == "nose":
        return [(-FAR_MM, FAR_MM, -p1 - 1, -p0 + 1)]
    return [(x0 - 1, x1 + 1, -FAR_MM, FAR_MM) if side == "wall" else (x0 - 1, x1 + 1, -p1 - 1, -p0 + 1)]


def _find_place(
    lines: list[str],
    near: tuple[float, float],
    others: list[tuple[float, float]],
    extents: Box,
    taken: list[Box],
    block: BlockSize,
) -> tuple[tuple[float, float], float, Box] | None:
    """The place nearest to ``near`` where words fit, in letters as large as may be: middle, height, box [mm]."""
    step = np.arange(-SEEK_MM, SEEK_MM + 0.5, 1.0)
    grid = np.stack(np.meshgrid(step, step), axis=-1).reshape(-1, 2)
    grid = grid[np.argsort((grid**2).sum(axis=1), kind="stable")] + near
    for height in np.arange(block.letter, block.least_letter - 1e-9, -0.2):
        w, h = (s / 2 + LETTER_WALL_MM for s in words_size(lines, float(height)))
        u, v = grid[:, 0], grid[:, 1]
        fits = (u - w >= extents[0]) & (u + w <= extents[1]) & (v - h >= extents[2]) & (v + h <= extents[3])
        for x0, x1, y0, y1 in taken:
            fits &= (u + w <= x0) | (u - w >= x1) | (v + h <= y0) | (v - h >= y1)
        for other in others:
            fits &= ((grid - near) ** 2).sum(axis=1) <= ((grid - other) ** 2).sum(axis=1)
        if fits.any():
            u0, v0 = grid[np.argmax(fits)]
            return (float(u0), float(v0)), float(height), (u0 - w, u0 + w, v0 - h, v0 + h)
    return None
