"""The printer's bed: whether a jig fits on it, and where it is split and dowelled if not.

Knows boxes and dowels. Knows nothing of what the jig is for: it is told where it may be parted.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

import manifold3d
import numpy as np

from bodygen.findings import Finding
from bodygen.shop.halves import Dowel, usual_dowel
from bodygen.tables import load

SIDES = 32
STEP_MM = 0.5


@dataclass(frozen=True, slots=True)
class Bed:
    """Room for a print [mm]: ``size`` along x, y, up, less ``margin`` at each edge; dowels ``dowel_length`` long."""

    size: tuple[float, float, float]
    margin: float
    dowel: Dowel
    dowel_length: float

    @property
    def room(self) -> tuple[float, float, float]:
        """What a piece may measure along x, y and up [mm]."""
        x, y, z = self.size
        return x - 2 * self.margin, y - 2 * self.margin, z


def usual_bed(size: tuple[float, float, float] | None = None) -> Bed:
    """The bed of ``tables/jigs.toml``, or of a printer's own ``size`` [mm], and the dowel of ``joinery.toml``.

    All of the tables' rows are common practice, no published source.
    """
    row = load("jigs")["bed"]
    x, y, z = size or row["size_mm"]
    return Bed((x, y, z), row["margin_mm"], usual_dowel(), row["dowel_length_mm"])


@dataclass(frozen=True, slots=True, eq=False)
class Pieces:
    """A jig as it fits on the bed, from its least x on; where it was parted [mm]."""

    pieces: tuple[manifold3d.Manifold, ...]
    cuts: tuple[float, ...]
    findings: tuple[Finding, ...]


def on_the_bed(
    solid: manifold3d.Manifold,
    bed: Bed,
    where: str,
    keep_whole: Sequence[tuple[float, float]],
    dowels_at: Sequence[tuple[float, float]],
) -> Pieces:
    """Part a jig across its length, as seldom as the bed allows.

    Parameters
    ----------
    solid : Manifold
        As it is to be printed, long side along x [mm].
    keep_whole : sequence of (from, to)
        Spans of x that must not be parted [mm], such as guides.
    dowels_at : sequence of (y, z)
        Where the dowels of every cut lie [mm].

    Returns
    -------
    Pieces
        With a warning where a piece is still larger than the bed.
    """
    box = np.array(solid.bounding_box())
    low, high = float(box[0]), float(box[3])
    room = bed.room
    cuts: list[float] = []
    count = max(1, ceil((high - low) / room[0] - 1e-9))
    for number in range(1, count):
        wanted = low + (high - low) * number / count
        start = (cuts[-1] if cuts else low) + bed.dowel_length
        places = np.arange(start, min(high - bed.dowel_length, (cuts[-1] if cuts else low) + room[0]), STEP_MM)
        free = [x for x in places if not any(a < x < b for a, b in keep_whole)]
        if free:
            cuts.append(float(min(free, key=lambda x: abs(x - wanted))))
    pieces, rest = [], solid
    for x in cuts:
        holes = [_hole(bed, x, y, z) for y, z in dowels_at]
        rest = manifold3d.Manifold.batch_boolean([rest, *holes], manifold3d.OpType.Subtract)
        rest, piece = rest.split_by_plane((1.0, 0.0, 0.0), x)
        pieces.append(piece)
    pieces.append(rest)
    sizes = [np.diff(np.array(piece.bounding_box()).reshape(2, 3), axis=0)[0] for piece in pieces]
    too_large = [size for size in sizes if (size > np.array(room) + 1e-6).any()]
    findings: list[Finding] = []
    if cuts:
        remedy = f"longer than the bed: printed in {len(pieces)} pieces, glued on {bed.dowel.diameter:g} mm dowels"
        findings.append(Finding("jig-split", "note", where, remedy, round(high - low, 1), room[0], "mm"))
    if too_large:
        over = max(too_large, key=lambda size: float((size - np.array(room)).max()))
        axis = int(np.argmax(over - np.array(room)))
        remedy = "does not fit on the printer's bed even in pieces: a larger bed, or mill it"
        findings.append(Finding("jig-off-bed", "warning", where, remedy, round(float(over[axis]), 1), room[axis], "mm"))
    return Pieces(tuple(pieces), tuple(cuts), tuple(findings))


def _hole(bed: Bed, x: float, y: float, z: float) -> manifold3d.Manifold:
    length = bed.dowel_length + 2 * bed.dowel.clearance
    rod = manifold3d.Manifold.cylinder(length, bed.dowel.hole_radius, circular_segments=SIDES, center=True)
    return rod.rotate((0.0, 90.0, 0.0)).translate((x, y, z))
