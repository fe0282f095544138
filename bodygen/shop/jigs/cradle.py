"""Cradles and vise jaws: what holds the shaped body without marking it.

A cradle takes the body up to its widest line and not farther, so it draws straight out; a jaw takes one flank, short of
the mid-plane, so that a vise can close. The cavity is the skin moved outwards by the fit asked for; it opens upwards as
printed, the back is flat, and windows (drawn upwards) free whatever comes out of the skin on that side.

Frame of a cradle: x as the body's, the draw upwards.

Knows the skin, the cuts and the fits. Knows nothing of the blank: that is held by the drill block.
"""

from dataclasses import dataclass
from math import ceil

import manifold3d
import numpy as np

from bodygen.errors import DesignError
from bodygen.findings import Finding
from bodygen.form.body import Body
from bodygen.form.cuts import Prism, Revolved, Tool, square_to
from bodygen.form.integrals import Array
from bodygen.form.triples import doubled_areas
from bodygen.mesh.cut import cut_with, to_manifold, to_mesh
from bodygen.mesh.float32 import repair_for_float32
from bodygen.mesh.skin import Mesh
from bodygen.recipe.model import Recipe
from bodygen.shop.jigs.cradle_label import Holder, letters_of, named
from bodygen.shop.jigs.fastening import CradleSize, Fastened, default_cradle, fastened, rail
from bodygen.shop.jigs.print_bed import Bed, default_bed, on_the_bed
from bodygen.shop.part import Part
from bodygen.shop.skin.offset import offset_mesh, offset_skin
from bodygen.shop.thin import without_thin

FACETS_MM = 0.01
"""How far the cavity's facets may leave the surface: half of what the gap is held to."""
REPAIR_MM = 0.002
CRUMB_MM3 = 5.0
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
HOLDERS: tuple[Holder, ...] = ("belly-up", "back-up", "left-jaw", "right-jaw")
SIDES = 48
OUT_MM = 60.0
"""What comes out of the skin is given way so far, out of any cradle: a leaning one sweeps its way as the body lifts."""
UP_MM = 200.0
"""How far it lifts: farther than anything reaches out, or the window would close over it again."""


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
    recipe: Recipe,
    body: Body | None,
    mesh: Mesh,
    tools: tuple[Tool, ...],
    size: CradleSize | None = None,
    bed: Bed | None = None,
) -> Cradles:
    """Belly-up and back-up cradle, a pair of vise jaws, and the rail that hangs them on a vise.

    Parameters
    ----------
    recipe : Recipe
        Says how far the lip stands out.
    body : Body or None
        The drawn body, whose true skin is used where there is one.
    mesh : Mesh
        The uncut body [mm].
    tools : tuple of Tool
        The recipe's cuts: each gets a window where it comes out.
    size, bed : CradleSize, Bed, optional
        The usual ones where left out.

    Returns
    -------
    Cradles
    """
    size, bed = size or default_cradle(), bed or default_bed()
    grown = offset_skin(body, size.gap, FACETS_MM) if body is not None else offset_mesh(mesh, size.gap)
    line = _widest_line(body, mesh)
    made = [_one(recipe, tools, holder, grown, line, size, bed) for holder in HOLDERS]
    hung = Part(
        "vise-rail",
        repair_for_float32(to_mesh(rail(size, bed.dowel)), REPAIR_MM),
        "a strip that hangs a jaw or cradle on the top of a vise's jaw; one for each",
        f"Dowel it ({bed.dowel.diameter:g} mm), its lettering inwards, to the flat back: along the long edge, "
        "or at the nose end to hold the body nose up.",
    )
    return Cradles(
        (*(part for one in made for part in one.parts), hung),
        tuple(place for one in made for place in one.placements),
        tuple(rim for one in made for rim in one.rims),
        tuple(doubt for one in made for doubt in one.findings),
    )


def _one(
    recipe: Recipe,
    tools: tuple[Tool, ...],
    holder: Holder,
    grown: Mesh,
    line: tuple[Array, Array],
    size: CradleSize,
    bed: Bed,
) -> Cradles:
    """One cradle, whole or in pieces that fit on the bed; ``grown`` is its cavity's skin, ``line`` the widest."""
    parts, places, rims, findings = [], [], [], list[Finding]()
    turn, (x, widest) = np.array(TURN[holder]), line
    height = np.zeros_like(x) if _is_jaw(holder) else turn[2, 2] * widest
    moved = Mesh(grown.vertices @ turn.T, grown.faces)
    rim, grip = _rim(moved, x, height, size.jaw_drop if _is_jaw(holder) else size.rim_drop)
    if grip > GRIP_MM2:
        remedy = f"the {holder} grips behind the body's widest line: ease its rim with a file until the body draws"
        findings.append(Finding("cradle-undercut", "warning", holder, remedy, round(grip, 2), GRIP_MM2, "mm2"))
    held, keep, checks = _solid(recipe, tools, holder, to_manifold(moved), turn, rim, size, bed)
    box = np.array(held.solid.bounding_box())
    beside, low_z = size.wall / 2, float(box[2] + max(3.0, size.floor / 2))
    split = on_the_bed(
        held.solid, bed, holder, keep, [(float(box[1] + beside), low_z), (float(box[4] - beside), low_z)]
    )
    findings += [*checks, *split.findings]
    for number, piece in enumerate(split.pieces, start=1):
        low = np.array(piece.bounding_box()[:3])
        name = f"vise-{holder}" if _is_jaw(holder) else f"cradle-{holder}"
        if len(split.pieces) > 1:
            name += f"-{number}"
        lettered, unsaid = named(
            piece.translate(tuple(-low)), holder, recipe.name, (number, len(split.pieces)), letters_of(size)
        )
        findings += unsaid
        try:
            parts.append(_part(name, holder, lettered, held.words(), size))
        except DesignError as error:
            findings.append(Finding("no-file", "warning", name, f"left out of the build: {error}"))
            continue
        places.append(np.column_stack([turn, -low]))
        rims.append(rim - low[[0, 2]])
    return Cradles(tuple(parts), tuple(places), tuple(rims), tuple(findings))


def _is_jaw(holder: Holder) -> bool:
    return holder in ("left-jaw", "right-jaw")


def _part(name: str, holder: Holder, solid: manifold3d.Manifold, ways: str, size: CradleSize) -> Part:
    held = {
        "belly-up": "back down, up to its widest line, belly free",
        "back-up": "belly down, up to its widest line, back free",
        "left-jaw": "by its left flank in a vise",
        "right-jaw": "by its right flank in a vise",
    }[holder]
    use = (
        f"Flat back down or against the vise, held by {ways}. "
        f"The gap is {size.gap:g} mm all round: line it with thin tape where paint must not be marked."
    )
    return Part(
        name,
        repair_for_float32(to_mesh(solid), REPAIR_MM),
        f"holds the shaped body {held}",
        use,
        ("spinning_tools", "small_workpiece"),
    )


def _widest_line(body: Body | None, mesh: Mesh) -> tuple[Array, Array]:
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
    normal = doubled_areas(corner)
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
    recipe: Recipe,
    tools: tuple[Tool, ...],
    holder: Holder,
    shell: manifold3d.Manifold,
    turn: Array,
    rim: Array,
    size: CradleSize,
    bed: Bed,
) -> tuple[Fastened, list[tuple[float, float]], list[Finding]]:
    """The whole cradle in its frame, the spans of x that its windows take, and the findings."""
    low, high = np.array(shell.bounding_box()).reshape(2, 3)
    y0, y1 = float(low[1]) - size.wall, float(high[1]) + size.wall
    x0, x1 = float(low[0]) - size.flange, float(high[0]) + size.flange
    bottom = float(low[2]) - size.floor
    outline = np.array([(x0, bottom), (x1, bottom), (x1, rim[-1, 1]), *rim[::-1], (x0, rim[0, 1])])
    section = manifold3d.CrossSection([outline], manifold3d.FillRule.EvenOdd)
    stand = section.extrude(y1 - y0).transform(np.array([[1.0, 0, 0, 0], [0, 0, -1, y1], [0, 1, 0, 0]]))
    openings = [w for tool in tools for w in windows(tool, turn, recipe, size.window, size.slot_window)]
    left = cut_with(stand, [shell, *openings])
    whole = max(left.decompose(), key=lambda piece: piece.volume())
    checks = []
    if left.volume() - whole.volume() > CRUMB_MM3:
        remedy = "the window for the lip parts it: it holds the body behind the slot only"
        checks.append(Finding("cradle-short", "note", holder, remedy))
    whole = max(without_thin(whole, size.least_wall).decompose(), key=lambda piece: piece.volume())
    first = (x1 - x0) / max(
        1, ceil((x1 - x0) / max(bed.usable[:2]))
    )  # the rail goes on the nose's piece, if it is split
    # the upper edge of a jaw as it hangs in the vise is the back's side
    held = fastened(whole, stand, rim, (x0 + first / 2, "low" if holder == "left-jaw" else "high"), size, bed.dowel)
    spans = [
        (float(box[0]) - 3.0, float(box[3]) + 3.0)
        for box in (w.bounding_box() for w in openings if not (w ^ stand).is_empty())
    ]
    return held, [span for span in spans if span[1] - span[0] < (x1 - x0) / 2], checks


def windows(
    tool: Tool, turn: Array, recipe: Recipe, around_bore: float, around_lip: float
) -> list[manifold3d.Manifold]:
    """What must be open where a cut comes out of the skin, drawn upwards so that the body still lifts out.

    Parameters
    ----------
    tool : Tool
        The cut, in body axes.
    turn : (3, 3) array
        Body axes to the cradle's own, which opens along its third.
    recipe : Recipe
        Says how far the lip stands out.
    around_bore, around_lip : float
        Room left around each [mm].
    """
    shapes = _bore_windows(tool, around_bore) if isinstance(tool, Revolved) else _slot_windows(tool, recipe, around_lip)
    found = []
    for shape in shapes:
        here = shape.transform(np.column_stack([turn, np.zeros(3)]))
        found.append(manifold3d.Manifold.batch_hull([here, here.translate((0.0, 0.0, UP_MM))]))
    return found


def _bore_windows(tool: Revolved, clearance: float) -> list[manifold3d.Manifold]:
    radius = max(r for _, r in tool.profile) + clearance
    axis, mouth = np.array(tool.axis), np.array(tool.origin)
    # from as deep as it is wide, where the cavity is: begun at the mouth, it would leave fins where the skin falls away
    ends = [(mouth + radius * axis, -axis)]
    if tool.through:
        ends.append((mouth + (tool.point - radius) * axis, axis))
    return [_rod(start, way, OUT_MM + radius, radius) for start, way in ends]


def _rod(start: Array, way: Array, length: float, radius: float) -> manifold3d.Manifold:
    frame = np.stack([*square_to(way.tolist()), way, start], axis=1)
    return manifold3d.Manifold.cylinder(length, radius, circular_segments=SIDES).transform(frame)


def _slot_windows(slot: Prism, recipe: Recipe, clearance: float) -> list[manifold3d.Manifold]:
    """Room for the lip as it stands out; a kerf is filled, and what comes out of it has a bore of its own."""
    if slot.kind != "slot" or recipe.lip is None:
        return []
    lip = recipe.lip
    half = lip.width / 2 + clearance
    thick = (lip.thickness + lip.fit) / 2 + clearance
    out = lip.length + 2 * clearance
    slab = manifold3d.Manifold.cube((out + 1.0, 2 * thick, 2 * half)).translate((-out, -thick, -half))
    along, normal = np.array(slot.along), np.array(slot.normal)
    return [slab.transform(np.stack([along, normal, np.cross(along, normal), np.array(slot.origin)], axis=1))]
