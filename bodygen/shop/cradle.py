"""Cradles and vise jaws: what holds the shaped body without marking it.

A cradle takes the body up to its widest line and not farther, so it draws straight out; a jaw takes one flank, short of
the mid-plane, so that a vise can close. The cavity is the skin moved outwards by the fit asked for; it opens upwards as
printed, the back is flat, and windows free whatever comes out of the skin on that side.

Frame of a cradle: x as the body's, the draw upwards.

Knows the skin, the cuts and the fits. Knows nothing of the blank: that is held by the drill block.
"""

from dataclasses import dataclass
from typing import Literal

import manifold3d
import numpy as np

from bodygen.errors import DesignError
from bodygen.findings import Finding
from bodygen.form.body import Body
from bodygen.form.cuts import Tool
from bodygen.form.integrals import Array
from bodygen.mesh.cut import cut_with, to_manifold, to_mesh
from bodygen.mesh.skin import Mesh
from bodygen.mesh.tidy import tidy
from bodygen.recipe.model import Fit, Recipe
from bodygen.shop.bed import Bed, on_the_bed, usual_bed
from bodygen.shop.offset_skin import offset_mesh, offset_skin
from bodygen.shop.part import Part
from bodygen.shop.window import windows
from bodygen.tables import load

Holder = Literal["belly-up", "back-up", "left-jaw", "right-jaw"]
FACETS_MM = 0.008
TIDY_MM = 0.002
CRUMB_MM3 = 5.0
SIDES = 48
RIM_STEP_MM = 0.5
GRIP_MM2 = 0.2
"""So much of the cavity leaning inwards is the rounding of slivers at a pointed tip."""
UNDERCUT = 1e-3
"""A cavity's facet may lean this far inwards [-]: a facet of an upright flank is upright to about that."""
TURN: dict[Holder, tuple[tuple[float, float, float], ...]] = {
    "belly-up": ((1, 0, 0), (0, -1, 0), (0, 0, -1)),
    "back-up": ((1, 0, 0), (0, 1, 0), (0, 0, 1)),
    "left-jaw": ((1, 0, 0), (0, 0, -1), (0, 1, 0)),
    "right-jaw": ((1, 0, 0), (0, 0, 1), (0, -1, 0)),
}
"""Body axes to a cradle's own, the draw along its third."""


@dataclass(frozen=True, slots=True)
class CradleSize:
    """What a cradle is made to; lengths mm, the meanings as in ``tables/jigs.toml``; ``gap`` is the fit's."""

    gap: float
    wall: float
    floor: float
    flange: float
    rim_drop: float
    jaw_drop: float
    window: float
    slot_window: float
    screw: float
    screw_head: float
    magnet: tuple[float, float]
    least_cover: float
    rail: tuple[float, float]
    rail_pitch: float


def usual_cradle(fit: Fit = "slide") -> CradleSize:
    """The cradle of ``tables/jigs.toml`` with one of its fits: common practice, no published source."""
    row, fits = load("jigs")["cradle"], load("jigs")["fit"]
    return CradleSize(
        gap=fits[f"{fit}_mm"],
        wall=row["wall_mm"],
        floor=row["floor_mm"],
        flange=row["flange_mm"],
        rim_drop=row["rim_drop_mm"],
        jaw_drop=row["jaw_drop_mm"],
        window=row["window_mm"],
        slot_window=row["slot_window_mm"],
        screw=row["screw_mm"],
        screw_head=row["screw_head_mm"],
        magnet=(row["magnet_mm"][0], row["magnet_mm"][1]),
        least_cover=row["least_cover_mm"],
        rail=(row["rail_mm"][0], row["rail_mm"][1]),
        rail_pitch=row["rail_pitch_mm"],
    )


@dataclass(frozen=True, slots=True, eq=False)
class Cradles:
    """The cradles, ready to print, cavity up.

    ``placements`` (3, 4) take body axes to each part's own [mm]; the rails come last and have none.
    ``rims``: (k, 2) of x and height z or y below which each cradle holds the body, in the frame of its part [mm].
    """

    parts: tuple[Part, ...]
    placements: tuple[Array, ...]
    rims: tuple[Array, ...]
    findings: tuple[Finding, ...]


def cradles(
    mesh: Mesh,
    body: Body | None,
    tools: tuple[Tool, ...],
    recipe: Recipe,
    size: CradleSize | None = None,
    bed: Bed | None = None,
) -> Cradles:
    """Belly-up and back-up cradle, a pair of vise jaws, and the rail that hangs them on a vise.

    Parameters
    ----------
    mesh : Mesh
        The uncut body [mm].
    body : Body or None
        The drawn body, whose true skin is used where there is one.
    tools : tuple of Tool
        The recipe's cuts: each gets a window where it comes out.
    recipe : Recipe
        Says how far the lip stands out.
    size, bed : CradleSize, Bed, optional
        The usual ones where left out.

    Returns
    -------
    Cradles
    """
    size, bed = size or usual_cradle(), bed or usual_bed()
    grown = offset_skin(body, size.gap, FACETS_MM) if body is not None else offset_mesh(mesh, size.gap)
    shell = to_manifold(grown)
    x, widest = _widest_line(mesh, body)
    parts, places, rims, findings = [], [], [], list[Finding]()
    for holder in ("belly-up", "back-up", "left-jaw", "right-jaw"):
        turn = np.array(TURN[holder])
        jaw = holder.endswith("jaw")
        height = np.zeros_like(x) if jaw else turn[2, 2] * widest
        moved = Mesh(grown.vertices @ turn.T, grown.faces)
        rim, grip = _rim(moved, x, height, size.jaw_drop if jaw else size.rim_drop)
        if grip > GRIP_MM2:
            remedy = f"the {holder} grips behind the body's widest line: ease its rim with a file until the body draws"
            findings.append(Finding("cradle-undercut", "warning", holder, remedy, round(grip, 2), GRIP_MM2, "mm2"))
        solid, keep = _solid(
            holder, shell.transform(np.column_stack([turn, np.zeros(3)])), turn, rim, tools, recipe, size
        )
        whole = max(solid.decompose(), key=lambda piece: piece.volume())
        if solid.volume() - whole.volume() > CRUMB_MM3:
            remedy = "the window for the lip parts it: it holds the body behind the slot only"
            findings.append(Finding("cradle-short", "note", holder, remedy))
        box = np.array(whole.bounding_box())
        flank = (box[4] - box[1]) / 2 - size.wall / 2
        middle, low_z = (box[1] + box[4]) / 2, box[2] + max(3.0, size.floor / 2)
        at = [(float(middle - flank), float(low_z)), (float(middle + flank), float(low_z))]
        split = on_the_bed(whole, bed, holder, keep, at)
        findings += split.findings
        for number, piece in enumerate(split.pieces, start=1):
            low = np.array(piece.bounding_box()[:3])
            name = (f"vise-{holder}" if jaw else f"cradle-{holder}") + (f"-{number}" if len(split.pieces) > 1 else "")
            try:
                parts.append(_part(name, holder, piece.translate(tuple(-low)), size))
            except DesignError as error:
                findings.append(Finding("no-file", "warning", name, f"left out of the build: {error}"))
                continue
            places.append(np.column_stack([turn, -low]))
            rims.append(rim - low[[0, 2]])
    rail = _rail(size, bed)
    parts.append(
        Part(
            "vise-rail",
            tidy(to_mesh(rail), TIDY_MM),
            "a strip that hangs a jaw or cradle on the top of a vise's jaw; one for each",
            f"Dowel it ({bed.dowel.diameter:g} mm) to the flat back: along the long edge, "
            "or at the nose end to hold the body nose up.",
        )
    )
    return Cradles(tuple(parts), tuple(places), tuple(rims), tuple(findings))


def _part(name: str, holder: Holder, solid: manifold3d.Manifold, size: CradleSize) -> Part:
    held = {
        "belly-up": "back down, up to its widest line, belly free",
        "back-up": "belly down, up to its widest line, back free",
        "left-jaw": "by its left flank in a vise",
        "right-jaw": "by its right flank in a vise",
    }[holder]
    use = (
        f"Flat back down or against the vise; screws in the corners, magnets or a rail on the back. "
        f"The gap is {size.gap:g} mm all round: line it with thin tape where paint must not be marked."
    )
    return Part(
        name, tidy(to_mesh(solid), TIDY_MM), f"holds the shaped body {held}", use, ("spinning_tools", "small_workpiece")
    )


def _widest_line(mesh: Mesh, body: Body | None) -> tuple[Array, Array]:
    """Height z of the widest line at x (k,), from nose to tail [mm]."""
    low, high = float(mesh.vertices[:, 0].min()), float(mesh.vertices[:, 0].max())
    x = np.linspace(low, high, max(3, int((high - low) / RIM_STEP_MM)))
    if body is not None:
        return x, body.polygons(body.parameter_at(x))[:, body.widest_index, 2]
    inner = x[1:-1]
    solid = to_manifold(mesh).transform(np.array([[0.0, 1, 0, 0], [0, 0, 1, 0], [1, 0, 0, 0]]))
    heights = []
    for at in inner:
        points = np.concatenate(solid.slice(float(at)).to_polygons())
        wide = np.abs(points[:, 0])
        heights.append(float(points[wide > wide.max() - 1e-3, 1].mean()))
    return x, np.interp(x, inner, heights)


def _rim(grown: Mesh, x: Array, height: Array, drop: float) -> tuple[Array, float]:
    """The rim (k, 2) of x and height, lowered until the cavity under it draws, and what still grips [mm^2].

    That is the area of the cavity's facets that lean inwards over the body.
    """
    corner = grown.vertices[grown.faces]
    normal = np.cross(corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0])
    size = np.linalg.norm(normal, axis=1)
    up = normal[:, 2] / np.maximum(size, 1e-300)
    lowest, at = corner[:, :, 2].min(axis=1), corner[:, :, 0].mean(axis=1)
    grip = 0.0
    for lowered in (drop, drop + 0.5, drop + 1.0, drop + 2.0):
        inward = (lowest < np.interp(at, x, height) - lowered) & (up > UNDERCUT)
        grip = float(size[inward].sum() / 2)
        if grip <= GRIP_MM2:
            break
    return np.stack([x, height - lowered], axis=1), grip


def _solid(
    holder: Holder,
    shell: manifold3d.Manifold,
    turn: Array,
    rim: Array,
    tools: tuple[Tool, ...],
    recipe: Recipe,
    size: CradleSize,
) -> tuple[manifold3d.Manifold, list[tuple[float, float]]]:
    """The whole cradle in its frame, and the spans of x that its windows take."""
    low, high = np.array(shell.bounding_box()).reshape(2, 3)
    y0, y1 = float(low[1]) - size.wall, float(high[1]) + size.wall
    x0, x1 = float(low[0]) - size.flange, float(high[0]) + size.flange
    bottom = float(low[2]) - size.floor
    outline = np.array([(x0, bottom), (x1, bottom), (x1, rim[-1, 1]), *rim[::-1], (x0, rim[0, 1])])
    section = manifold3d.CrossSection([outline], manifold3d.FillRule.EvenOdd)
    stand = section.extrude(y1 - y0).transform(np.array([[1.0, 0, 0, 0], [0, 0, -1, y1], [0, 1, 0, 0]]))
    openings = [w for tool in tools for w in windows(tool, turn, recipe, size.window, size.slot_window)]
    cuts = [shell, *openings]
    top = float(rim[:, 1].max())
    inset, in_from_side = size.flange - size.screw_head / 2 - 0.5, size.screw_head / 2 + 0.5
    for x in (x0 + inset, x1 - inset):
        for y in (y0 + in_from_side, y1 - in_from_side):
            cuts += _screw(x, y, bottom, float(np.interp(x, rim[:, 0], rim[:, 1])), size)
    across, high_m = size.magnet
    beside = (y1 - y0) / 2 - in_from_side - (across + size.screw) / 2
    if beside > 0.5 and top - bottom > high_m + size.least_cover:
        for x in (x0 + inset, x1 - inset):
            cuts.append(_upright(x, (y0 + y1) / 2, bottom - 1.0, bottom + high_m, across / 2))
    cuts += _rail_holes(holder, (x0, x1, y0, y1), bottom, size)
    solid = cut_with(stand, cuts)
    spans = [
        (float(box[0]) - 3.0, float(box[3]) + 3.0)
        for box in (w.bounding_box() for w in openings if not (w ^ stand).is_empty())
    ]
    return solid, [span for span in spans if span[1] - span[0] < (x1 - x0) / 2]


def _screw(x: float, y: float, bottom: float, top: float, size: CradleSize) -> list[manifold3d.Manifold]:
    """A hole for a screw, its head sunk below the rim."""
    head = max(bottom + 3.0, top - 4.0)
    return [
        _upright(x, y, bottom - 1.0, top + 5.0, size.screw / 2),
        _upright(x, y, head, top + 50.0, size.screw_head / 2),
    ]


def _upright(x: float, y: float, low: float, high: float, radius: float) -> manifold3d.Manifold:
    return manifold3d.Manifold.cylinder(high - low, radius, circular_segments=SIDES).translate((x, y, low))


def _rail_holes(
    holder: Holder, box: tuple[float, float, float, float], bottom: float, size: CradleSize
) -> list[manifold3d.Manifold]:
    """Dowel holes in the flat back: along a long edge, and at the nose end."""
    x0, x1, y0, y1 = box
    bed = usual_bed()
    edge, half = size.rail[0] / 4, size.rail_pitch / 2
    deep = min(bed.dowel.depth, size.floor - size.least_cover) + bed.dowel.clearance
    # the upper edge of a jaw as it hangs in the vise: the back's side, third axis of the body
    y = {"left-jaw": y0 + edge, "right-jaw": y1 - edge, "belly-up": y1 - edge, "back-up": y1 - edge}[holder]
    places = [
        ((x0 + x1) / 2 - half, y),
        ((x0 + x1) / 2 + half, y),
        (x0 + edge, (y0 + y1) / 2 - half),
        (x0 + edge, (y0 + y1) / 2 + half),
    ]
    return [_upright(x, y, bottom - 1.0, bottom + deep, bed.dowel.hole_radius) for x, y in places]


def _rail(size: CradleSize, bed: Bed) -> manifold3d.Manifold:
    """A strip with two dowel holes, a quarter of its width from one edge."""
    wide, thick = size.rail
    length = size.rail_pitch + 2 * wide
    strip = manifold3d.Manifold.cube((length, wide, thick))
    holes = [
        _upright(
            length / 2 + way * size.rail_pitch / 2,
            wide / 4,
            thick - bed.dowel.depth - bed.dowel.clearance,
            thick + 1.0,
            bed.dowel.hole_radius,
        )
        for way in (-1, 1)
    ]
    return cut_with(strip, holes)
