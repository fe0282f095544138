"""The printer's bed: how a print lies on it, and where a jig is split and dowelled that does not fit.

Knows boxes and dowels. Knows nothing of what the print is for: it is told where it may be parted.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

import manifold3d
import numpy as np

from bodygen.findings import Finding
from bodygen.form.integrals import Array
from bodygen.mesh.cut import to_mesh
from bodygen.mesh.skin import Mesh
from bodygen.shop.jigs.halves import Dowel, default_dowel
from bodygen.shop.thin import stays_in
from bodygen.tables import load

SIDES = 32
STEP_MM = 0.5
OVER_MM = 1e-3
"""A print may be so much larger than the bed: numbers in files are rounded."""
TURNS = np.radians([0.0, 90.0, *(half / 2 for half in range(1, 360) if half != 180)])
"""How a print may be turned on the bed [rad]: as it is, a quarter, then in half degrees."""


@dataclass(frozen=True, slots=True)
class Bed:
    """Room for a print [mm]: ``size`` along x, y, up, less ``margin`` at each edge.

    Dowels are ``dowel_length`` long and have a ``wall`` around them at least.
    """

    size: tuple[float, float, float]
    margin: float
    dowel: Dowel
    dowel_length: float
    wall: float

    @property
    def usable(self) -> tuple[float, float, float]:
        """What a piece may measure along x, y and up [mm]."""
        x, y, z = self.size
        return x - 2 * self.margin, y - 2 * self.margin, z


def default_bed(size: tuple[float, float, float] | None = None) -> Bed:
    """The bed of ``tables/jigs.toml``, or of a printer's own ``size`` [mm], and the dowel of ``joinery.toml``.

    All of the tables' rows are common practice, no published source.
    """
    row, wall = load("jigs")["bed"], load("jigs")["print"]["least_wall_mm"]
    x, y, z = size or row["size_mm"]
    return Bed((x, y, z), row["margin_mm"], default_dowel(), row["dowel_length_mm"], wall)


@dataclass(frozen=True, slots=True, eq=False)
class SplitJig:
    """A jig as it fits on the bed, from its least x on; where it was parted [mm]."""

    pieces: tuple[manifold3d.Manifold, ...]
    cuts: tuple[float, ...]
    findings: tuple[Finding, ...]


def laid(mesh: Mesh, bed: Bed, name: str) -> tuple[Mesh, tuple[Finding, ...]]:
    """A print as it lies in its file: its lowest corner at the origin, turned about the upright where only that fits.

    Parameters
    ----------
    mesh : Mesh
        The side that it is printed on down [mm].
    bed : Bed
        The printer's.
    name : str
        Whom a doubt is about.

    Returns
    -------
    mesh : Mesh
        Vertices are no 32-bit numbers yet.
    findings : tuple of Finding
        A warning where it does not fit however it is turned.
    """
    turn, over = _least_over(mesh.vertices, bed)
    if over.max() > OVER_MM:
        axis, turn = int(np.argmax(over)), 0.0
        remedy = "does not fit on the printer's bed however it is turned: a larger bed, or mill it"
        value, limit = round(float(over[axis]) + bed.usable[axis], 1), bed.usable[axis]
        checks: tuple[Finding, ...] = (Finding("jig-off-bed", "warning", name, remedy, value, limit, "mm"),)
    else:
        checks = ()
    turned = mesh.vertices @ _about_upright(turn).T if turn else mesh.vertices
    return Mesh(turned - turned.min(axis=0), mesh.faces), checks


def _about_upright(angle: float) -> Array:
    if angle == TURNS[1]:
        return np.array([[0.0, -1.0, 0.0], [1.0, 0.0, 0.0], [0.0, 0.0, 1.0]])
    c, s = np.cos(angle), np.sin(angle)
    return np.array([[c, -s, 0.0], [s, c, 0.0], [0.0, 0.0, 1.0]])


def _least_over(points: Array, bed: Bed) -> tuple[float, Array]:
    """The first turn that fits, else the best [rad], and by how much points (n, 3) are then too large (3,) [mm]."""
    size = np.ptp(points, axis=0)
    over = size - np.array(bed.usable)
    if over.max() <= OVER_MM:
        return 0.0, over
    outline = np.concatenate(manifold3d.CrossSection.hull_points(points[:, :2]).to_polygons())
    across = np.ptp(outline @ np.stack([np.cos(TURNS), -np.sin(TURNS)]), axis=0) - bed.usable[0]
    along = np.ptp(outline @ np.stack([np.sin(TURNS), np.cos(TURNS)]), axis=0) - bed.usable[1]
    worst = np.maximum(across, along)
    fits = worst <= OVER_MM
    best = int(np.argmax(fits)) if fits.any() else int(np.argmin(worst))
    return float(TURNS[best]), np.array([across[best], along[best], over[2]])


def on_the_bed(
    solid: manifold3d.Manifold,
    bed: Bed,
    where: str,
    keep_whole: Sequence[tuple[float, float]],
    dowels_at: Sequence[tuple[float, float]],
) -> SplitJig:
    """Part a jig across its length, as seldom as the bed allows; none where it fits as a whole, turned or not.

    Parameters
    ----------
    solid : Manifold
        As it is to be printed, long side along x [mm].
    keep_whole : sequence of (from, to)
        Spans of x that must not be parted [mm], such as guides.
    dowels_at : sequence of (y, z)
        Where the dowels of every cut lie, each where a wall is left all round it [mm].

    Returns
    -------
    SplitJig
        Whether each fits is asked where it is laid on the bed.
    """
    box = np.array(solid.bounding_box())
    low, high = float(box[0]), float(box[3])
    usable = max(bed.usable[:2])  # along x: a print is turned where its file needs that
    cuts: list[float] = []
    whole = _least_over(to_mesh(solid.hull()).vertices, bed)[1][:2].max() <= OVER_MM
    count = 1 if whole else max(1, ceil((high - low) / usable - 1e-9))
    pieces, rest = [], solid
    for number in range(1, count):
        wanted = low + (high - low) * number / count
        before = cuts[-1] if cuts else low
        places = np.arange(before + bed.dowel_length, min(high - bed.dowel_length, before + usable), STEP_MM)
        free = [float(x) for x in places if not any(a < x < b for a, b in keep_whole)]
        if not free:
            continue
        x, dowels = _best_cut(rest, bed, sorted(free, key=lambda x: abs(x - wanted)), dowels_at)
        holes = [_hole(bed, x, y, z) for y, z in dowels]
        rest = manifold3d.Manifold.batch_boolean([rest, *holes], manifold3d.OpType.Subtract)
        rest, piece = rest.split_by_plane((1.0, 0.0, 0.0), x)
        pieces.append(piece)
        cuts.append(x)
    pieces.append(rest)
    findings: list[Finding] = []
    if cuts:
        remedy = f"longer than the bed: printed in {len(pieces)} pieces, glued on {bed.dowel.diameter:g} mm dowels"
        findings.append(Finding("jig-split", "note", where, remedy, round(high - low, 1), usable, "mm"))
    return SplitJig(tuple(pieces), tuple(cuts), tuple(findings))


def _best_cut(
    solid: manifold3d.Manifold, bed: Bed, places: Sequence[float], dowels_at: Sequence[tuple[float, float]]
) -> tuple[float, list[tuple[float, float]]]:
    """The first place where every dowel finds room, else the first where most do, and those dowels."""
    best: tuple[float, list[tuple[float, float]]] | None = None
    for x in places:
        found = [(y, z) for y, z in dowels_at if stays_in(_hole(bed, x, y, z, bed.wall), solid)]
        if best is None or len(found) > len(best[1]):
            best = x, found
        if len(found) == len(dowels_at):
            break
    assert best is not None  # noqa: S101  asked with one place at least
    return best


def _hole(bed: Bed, x: float, y: float, z: float, wall: float = 0.0) -> manifold3d.Manifold:
    length = bed.dowel_length + 2 * bed.dowel.clearance + 2 * wall
    rod = manifold3d.Manifold.cylinder(length, bed.dowel.hole_radius + wall, circular_segments=SIDES, center=True)
    return rod.rotate((0.0, 90.0, 0.0)).translate((x, y, z))
