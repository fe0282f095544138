"""What a printer lays down for a part, and how long that takes, in the stated way of ``tables/making.toml``.

The part is sliced as thickly as its top and bottom are closed, and every slice has outlines, what is closed above or
below, and infill between; below overhangs stand supports. Knows no printer's own habits: travel, and the slowing at
corners, are one share on top.
"""

from dataclasses import dataclass
from itertools import pairwise

import manifold3d
import numpy as np

from bodygen.mesh.cut import known_manifold
from bodygen.mesh.skin import Mesh
from bodygen.tables import as_row, load

SIMPLE_MM = 0.02
"""Far less than a line is wide."""
CRACK_MM = 0.1
"""Narrower than this, what parts two supports is the slicing's own."""


@dataclass(frozen=True, slots=True)
class Way:
    """A way of printing: lengths [mm], speeds [mm/s], shares [-]; the meanings as in ``tables/making.toml``."""

    layer: float
    line: float
    outlines: int
    closed: float
    infill: float
    support: float
    support_face: float
    bridged: float
    outer_speed: float
    inner_speed: float
    closed_speed: float
    infill_speed: float
    first_layer_speed: float
    support_speed: float
    more: float

    @property
    def wall(self) -> float:
        """All outlines together [mm]."""
        return self.outlines * self.line


@dataclass(frozen=True, slots=True)
class Printed:
    """``plastic`` laid down, of it ``support`` [cm^3], and ``hours`` that takes."""

    plastic: float
    support: float
    hours: float


def default_way() -> Way:
    """The way of ``tables/making.toml``: common practice, no published source."""
    row = load("making")["print"]
    return as_row(
        Way,
        row,
        closed=row["closed_layers"] * row["layer_mm"],
        support_face=row["support_face_layers"] * row["layer_mm"],
    )


def printed_by(mesh: Mesh, way: Way) -> Printed:
    """Plastic and time for a part as it lies.

    Parameters
    ----------
    mesh : Mesh
        Closed, standing on its lowest z [mm].
    way : Way
        How it is printed.
    """
    solid = known_manifold(mesh)
    box = solid.bounding_box()
    count = max(1, round((box[5] - box[2]) / way.closed))
    step = (box[5] - box[2]) / count
    slices = [solid.slice(box[2] + (i + 0.5) * step).simplify(SIMPLE_MM) for i in range(count)]
    nothing = manifold3d.CrossSection()
    inner = [nothing, *(shape.offset(-way.wall, manifold3d.JoinType.Miter) for shape in slices), nothing]
    area = seconds = first = 0.0
    for number, shape in enumerate(slices):
        laid, took = _slice(shape, inner[number + 1], inner[number] ^ inner[number + 2], way)
        area, seconds = area + laid, seconds + took
        first = first or laid
    held, faces = _supports(slices, step, solid.slice(box[2] + way.layer / 2), way)
    support = held * way.support + faces * way.support_face
    seconds *= step / way.layer
    seconds += first / way.line * (1 / way.first_layer_speed - 1 / way.inner_speed)
    seconds += support / (way.line * way.layer) / way.support_speed
    plastic = area * step + support
    return Printed(plastic / 1000, support / 1000, seconds * (1 + way.more) / 3600)


def _slice(
    shape: manifold3d.CrossSection, inner: manifold3d.CrossSection, covered: manifold3d.CrossSection, way: Way
) -> tuple[float, float]:
    """Area that is laid down in one layer [mm^2], and how long that takes [s]; ``inner`` is within the outlines."""
    lengths = [_length(shape.offset(-(i + 0.5) * way.line, manifold3d.JoinType.Miter)) for i in range(way.outlines)]
    walls, closed = shape.area() - inner.area(), (inner - covered).area()
    infill = (inner.area() - closed) * way.infill
    # where the part is thinner than its outlines, what is left between them is filled as slowly as the outer one
    gaps = max(0.0, walls - sum(lengths) * way.line)
    seconds = (lengths[0] + gaps / way.line) / way.outer_speed + sum(lengths[1:]) / way.inner_speed
    seconds += (closed / way.closed_speed + infill / way.infill_speed) / way.line
    return walls + closed + infill, seconds


def _length(shape: manifold3d.CrossSection) -> float:
    return sum(float(np.linalg.norm(ring - np.roll(ring, -1, axis=0), axis=1).sum()) for ring in shape.to_polygons())


def _supports(
    slices: list[manifold3d.CrossSection], step: float, first: manifold3d.CrossSection, way: Way
) -> tuple[float, float]:
    """Room that supports take up [mm^3], and the area of them that carries the part [mm^2].

    ``first`` is the first layer; the lowest of the ``slices`` lies half a ``step`` over the bed.
    """
    held = faces = 0.0
    under, half = manifold3d.CrossSection(), way.bridged / 2
    for above, below in pairwise([*reversed(slices), first]):
        if under.is_empty() and (above - below).is_empty():  # as of a jig that only opens upwards
            continue
        apart = step / 2 if below is first else step
        flat = above - below.offset(apart, manifold3d.JoinType.Round)  # less than 45 degrees holds itself up
        over = flat.offset(apart, manifold3d.JoinType.Round) ^ above
        under = (under + over) - below
        whole = under.offset(CRACK_MM, manifold3d.JoinType.Miter)
        wide = whole.offset(-half - CRACK_MM, manifold3d.JoinType.Miter).offset(half, manifold3d.JoinType.Miter)
        held, faces = held + wide.area() * apart, faces + (over ^ wide).area()
    return held, faces
