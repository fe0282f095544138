"""Stencils that stand off the body: a thin shell of its own shape for one flank, open where that region is painted.

The shell is the room between two skins moved outwards, up to the mid-plane, so it lies on and lifts off straight and
drags over no fresh paint. What holds it are its ears (ears.py). That shells tied by them do not slip off over back
or belly is asked of the skin itself; where they would, they keep a cap over nose and tail. Openings are cut square to
the skin, so no edge runs out to nothing.

Knows regions and the offset skin. Knows no paint.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import manifold3d
import numpy as np

from bodygen.errors import DesignError
from bodygen.findings import Finding
from bodygen.form.body import Body
from bodygen.form.cuts import Revolved, Tool
from bodygen.form.facing import SIDES, Side, outwards
from bodygen.form.integrals import Array
from bodygen.mesh.cut import to_manifold, to_mesh
from bodygen.mesh.float32 import repair_for_float32
from bodygen.mesh.skin import Mesh
from bodygen.shop.masks.ears import ENDS, Ear, ShellSize, default_shell, ear_solid, ears_of
from bodygen.shop.masks.film import default_film, outline_on
from bodygen.shop.masks.regions import Region, SideView
from bodygen.shop.part import Part, Parts
from bodygen.shop.skin.flank import flank_of
from bodygen.shop.skin.offset import offset_mesh, offset_skin
from bodygen.shop.skin.rolled import Rolled, rolled

FACETS_MM = 0.03
REPAIR_MM = 0.01
CRUMB = 0.02
"""A piece of a shell smaller than this share of it is dropped: what a relief cuts off at a tip."""
UNDER, OVER_MM = 0.4, 0.5
"""A cutting solid reaches from this share of the gap under a shell to so far over it."""
REACH = 0.08
"""A cut that reaches the middle of back or belly goes on beyond it by at most this share of half the girth."""
TRAVELS = (0.05, 0.1, 0.2, 0.3, 0.5)
"""How far shells are moved, in depths, to see whether they meet the body on their way off."""
MET_MM3 = 0.05
HAIR_MM = 0.02
"""A cut narrower than twice this is what two outlines of one edge leave between them."""
ROUND, MITER = manifold3d.JoinType.Round, manifold3d.JoinType.Miter
STEM_STEP = 8
"""Around a stem's mouth the skin is asked this many times as finely as its grid."""


@dataclass(frozen=True, slots=True, eq=False)
class MaskShell:
    """One stencil in the body's own axes, with the ears it has."""

    name: str
    side: Side
    solid: manifold3d.Manifold
    ears: tuple[Ear, ...]


@dataclass(frozen=True, slots=True, eq=False)
class _Cup:
    """One flank's whole shell, its skin rolled out, and what stems take away of that plane."""

    side: Side
    whole: manifold3d.Manifold
    cavity: manifold3d.Manifold
    plane: Rolled
    stems: manifold3d.CrossSection


def shells(
    body: Body | None,
    mesh: Mesh,
    view: SideView,
    regions: Sequence[Region],
    tools: Sequence[Tool],
    size: ShellSize | None = None,
) -> tuple[tuple[MaskShell, ...], tuple[Finding, ...]]:
    """One shell for each region on each flank that has it.

    Parameters
    ----------
    body : Body or None
        The surface; None where a mesh is taken as it is.
    mesh : Mesh
        The uncut body [mm].
    view : SideView
        The body from its side.
    regions : sequence of Region
        What is open in each.
    tools : sequence of Tool
        The recipe's cuts: ties and hangers stand out already when the bait is painted.
    size : ShellSize, optional
        Left out: the usual.

    Returns
    -------
    shells : tuple of MaskShell
        Each one piece; both of a pair have their ears at the same places.
    findings : tuple of Finding
        Where an opening had to end short of the rim, an ear has no place, or no shell can be made.
    """
    size = size or default_shell()
    try:
        cups = _cups(body, mesh, tools, size)
    except DesignError as error:
        return (), (Finding("mask-falls-apart", "warning", "mask", f"no shell can be made: {error}"),)
    made: list[MaskShell] = []
    findings: list[Finding] = []
    far = float(np.abs(mesh.vertices[:, 1]).max())
    narrowed = to_manifold(mesh).scale((1.0, 1.0 - size.hold / far, 1.0))
    for region in regions:
        opened, shapes, checks = _one_or_two(region, cups, view, size)
        findings += checks
        if opened and not _held(opened, narrowed, view):
            caps = _without_ends(shapes, view, size)
            again = {side: _opened(cups[side], shape, view, size) for side, shape in caps.items()}
            opened = {side: solid for side, solid in again.items() if solid is not None}
            shapes = {side: caps[side] for side in opened}
            remedy = "ends short of nose and tail, or the mask would slip off there: join up the paint by hand"
            findings.append(Finding("mask-bridged", "note", f"mask {region.name}", remedy, size.cap, None, "mm"))
            if opened and not _held(opened, narrowed, view):
                remedy = "nothing keeps the mask from slipping off over back or belly: hold it there with tape"
                findings.append(Finding("mask-loose", "warning", f"mask {region.name}", remedy))
        ears = ears_of(list(opened.items()), list(shapes.values()), view, tools, size)
        findings += _missing_ears(region, ears) if opened else []
        for side, solid in opened.items():
            whole = solid + ear_solid(ears, side, size) - cups[side].cavity if ears else solid
            made.append(MaskShell(region.name, side, whole, ears))
    return tuple(made), tuple(findings)


def _missing_ears(region: Region, ears: Sequence[Ear]) -> list[Finding]:
    """Each end of a mask that nothing holds."""
    return [
        Finding(
            "mask-loose",
            "warning",
            f"mask {region.name}",
            f"no room for an ear at the {end}: hold the shell there by hand or with tape on the other flank",
        )
        for end in ENDS
        if end not in {ear.end for ear in ears}
    ]


def _one_or_two(
    region: Region, cups: dict[Side, _Cup], view: SideView, size: ShellSize
) -> tuple[dict[Side, manifold3d.Manifold], dict[Side, manifold3d.CrossSection], list[Finding]]:
    """The opened shell of each flank that can be made in one piece, and the shape that is open in it."""
    opened: dict[Side, manifold3d.Manifold] = {}
    shapes: dict[Side, manifold3d.CrossSection] = {}
    checks: list[Finding] = []
    for side, drawn in region.on.items():
        shape, where = drawn, f"mask {region.name} {side}"
        solid = _opened(cups[side], shape, view, size)
        if solid is None:
            shape = shape ^ view.outline().offset(-size.bridge, ROUND)
            solid = _opened(cups[side], shape, view, size)
            remedy = "ends short of the rim, or the mask would fall apart: join up the paint by hand there"
            checks.append(Finding("mask-bridged", "note", where, remedy, size.bridge, None, "mm"))
        if solid is None:
            remedy = "no shell of one piece can be made: fewer or narrower openings, or use the film"
            checks.append(Finding("mask-falls-apart", "warning", where, remedy))
        else:
            opened[side], shapes[side] = solid, shape
    return opened, shapes, checks


def _held(opened: dict[Side, manifold3d.Manifold], narrowed: manifold3d.Manifold, view: SideView) -> bool:
    """Whether shells that move as one meet a body narrowed by the hold on their way off over back and over belly."""
    tied = manifold3d.Manifold.batch_boolean(list(opened.values()), manifold3d.OpType.Add)
    ways = [share * view.depth for share in TRAVELS]
    return all(
        any((tied.translate((0.0, 0.0, sign * way)) ^ narrowed).volume() > MET_MM3 for way in ways)
        for sign in (1.0, -1.0)
    )


def _without_ends(
    shapes: dict[Side, manifold3d.CrossSection], view: SideView, size: ShellSize
) -> dict[Side, manifold3d.CrossSection]:
    """The shapes without what lies over the caps at nose and tail."""
    low, high = float(view.x[0]) + size.cap, float(view.x[-1]) - size.cap
    middle = manifold3d.CrossSection.square((max(high - low, 0.1), 8 * view.depth)).translate((low, -4 * view.depth))
    return {side: shape ^ middle for side, shape in shapes.items()}


def mask_shells(
    body: Body | None,
    mesh: Mesh,
    view: SideView,
    regions: Sequence[Region],
    tools: Sequence[Tool],
    size: ShellSize | None = None,
) -> Parts:
    """The shells of ``shells`` as parts to print, rim down; one that cannot be written is a finding."""
    made, findings = shells(body, mesh, view, regions, tools, size)
    pairs = {shell.name for shell in made if shell.side == "left"} & {s.name for s in made if s.side == "right"}
    parts: list[Part] = []
    checks = list(findings)
    for shell in made:
        name = f"mask {shell.name} {shell.side}"
        lying = shell.solid.rotate((90.0 * outwards(shell.side), 0.0, 0.0))
        box = np.array(lying.bounding_box())
        try:
            fit = repair_for_float32(to_mesh(lying.translate(tuple(-box[:3]))), REPAIR_MM)
        except DesignError as error:
            checks.append(Finding("no-file", "warning", name, f"left out of the build: {error}"))
            continue
        gap = (size or default_shell()).clearance
        purpose = f"covers the {shell.side} flank, {gap:g} mm off the skin, and leaves {shell.name} open for paint"
        band = "a rubber band from ear to ear across the other flank, where all paint is dry"
        tie = f"tie it to the shell of the other flank through the ears at nose and tail, or hold it by {band}"
        use = (
            f"print it rim down with supports inside; on dry coats only. Lay it on from the side and "
            f"{tie if shell.name in pairs else f'hold it by {band}'}. Thin passes of paint straight on; cut the "
            "threads or slip the band off, and lift it off sideways before the paint has set"
        )
        parts.append(Part(name, fit, purpose, use, ("ventilate", "solvent_fire"), "printed PETG"))
    return Parts(tuple(parts), tuple(checks))


def _cups(body: Body | None, mesh: Mesh, tools: Sequence[Tool], size: ShellSize) -> dict[Side, _Cup]:
    cavity = _moved_out(body, mesh, size.clearance)
    whole = _moved_out(body, mesh, size.clearance + size.thickness) - cavity
    film = default_film()
    cups: dict[Side, _Cup] = {}
    for side in SIDES:
        plane = rolled(flank_of(body, mesh, film.step, film.around, film.least_girth, side))
        cup = whole.trim_by_plane((0.0, outwards(side), 0.0), size.seam / 2)
        cups[side] = _Cup(side, cup, cavity, plane, _stems(plane, tools, size))
    return cups


def _moved_out(body: Body | None, mesh: Mesh, distance: float) -> manifold3d.Manifold:
    return to_manifold(offset_mesh(mesh, distance) if body is None else offset_skin(body, distance, FACETS_MM))


def _stems(plane: Rolled, tools: Sequence[Tool], size: ShellSize) -> manifold3d.CrossSection:
    """Where the skin is nearer to a stem that stands out of it than the relief."""
    rows, columns = plane.flank.points.shape[:2]
    row, way = np.linspace(0, rows - 1, STEM_STEP * rows), np.linspace(0, 1, STEM_STEP * columns)
    points = _bilinear(plane.flank.points, STEM_STEP)
    rings = []
    for tool in tools:
        if not (isinstance(tool, Revolved) and tool.kind in ("tie", "hanger")):
            continue
        out, apart = -np.array(tool.axis), points - tool.origin
        far = apart @ out
        beside = np.linalg.norm(apart - far[..., None] * out, axis=2)
        near = (beside < tool.diameter / 2 + size.relief) & (far > -(size.clearance + size.thickness))
        some = np.flatnonzero(near.any(axis=1))
        if len(some) > 1:
            low, high = near[some].argmax(axis=1), near.shape[1] - 1 - near[some, ::-1].argmax(axis=1)
            ring = [plane.flat(row[some], way[low]), plane.flat(row[some], way[high])[::-1]]
            rings.append(np.concatenate(ring))
    return manifold3d.CrossSection(rings, manifold3d.FillRule.NonZero) if rings else manifold3d.CrossSection()


def _bilinear(grid: Array, times: int) -> Array:
    """A grid (m, k, 3) between its points, so many times as fine both ways."""
    for axis in (0, 1):
        count = grid.shape[axis]
        at = np.linspace(0, count - 1, times * count)
        first = np.minimum(at.astype(int), count - 2)
        part = (at - first).reshape((-1, 1, 1) if axis == 0 else (1, -1, 1))
        grid = (1 - part) * np.take(grid, first, axis) + part * np.take(grid, first + 1, axis)
    return grid


def _opened(cup: _Cup, shape: manifold3d.CrossSection, view: SideView, size: ShellSize) -> manifold3d.Manifold | None:
    """The cup with its opening, crumbs dropped; None when it falls apart.

    What is left is worn off and grown again by half the least wall first, so that nothing narrower is left standing.
    """
    plane, half = cup.plane, size.least_wall / 2
    chains = [plane.flat(row, way) for row, way in outline_on(shape, plane.flank, view)]
    region = manifold3d.CrossSection(chains, manifold3d.FillRule.EvenOdd) if chains else manifold3d.CrossSection()
    left = plane.strip(beyond=4 * size.least_wall) - region - cup.stems
    left = left.offset(-half, ROUND).offset(half, ROUND)
    parts = [part.area() for part in (left ^ plane.strip()).decompose()]
    if not parts or max(parts) < (1 - CRUMB) * sum(parts):  # a flat end's wall alone would hold them together
        return None
    cut = (plane.strip() - left).offset(-HAIR_MM, MITER).offset(HAIR_MM, MITER)
    beyond = plane.strip(-REACH, 1 + REACH) - plane.strip()
    cut = cut + (cut.offset(size.thickness, MITER) ^ beyond)
    cutting_solid = plane.cutting_solid(cut, UNDER * size.clearance, size.clearance + size.thickness + OVER_MM)
    pieces = sorted((cup.whole - cutting_solid).decompose(), key=lambda piece: piece.volume(), reverse=True)
    return pieces[0] if pieces else None
