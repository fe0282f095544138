"""Stencils that clip on the body: a thin shell of its own shape for one flank, open where that region is painted.

The shell is the room between two skins moved outwards. It ends just past the mid-plane, so that its rim springs over
back and belly and holds by itself; how far it must spring is worked out, and the rim cut back where that is too much.

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
from bodygen.mesh.cut import cut_with, to_manifold, to_mesh
from bodygen.mesh.skin import Mesh
from bodygen.mesh.tidy import tidy
from bodygen.shop.masks import Region, SideView, opening
from bodygen.shop.offset_skin import offset_mesh, offset_skin
from bodygen.shop.part import Part, Parts
from bodygen.tables import load

FACETS_MM = 0.03
TIDY_MM = 0.01
CRUMB = 0.02
"""A piece of a shell smaller than this share of it is dropped: the tip of a sliver between two openings."""
ROD_SIDES = 24
GRIP_STEP_MM = 0.05
HALVINGS = 6
"""How often what a rim must spring open is bracketed."""
NOTHING_MM2 = 1e-3
UPRIGHT = np.array([[1.0, 0.0, 0.0, 0.0], [0.0, 0.0, 1.0, 0.0], [0.0, -1.0, 0.0, 0.0]])
"""Turns body axes to (x, z, -y), so that slices stand across y."""


@dataclass(frozen=True, slots=True)
class ShellSize:
    """What a shell is made to; lengths mm, the meanings as in ``tables/masks.toml``."""

    clearance: float
    thickness: float
    grip: float
    most_give: float
    bridge: float
    relief: float


def usual_shell() -> ShellSize:
    """The shell of ``tables/masks.toml``: common practice, no published source."""
    row = load("masks")["shell"]
    return ShellSize(
        row["clearance_mm"],
        row["thickness_mm"],
        row["grip_mm"],
        row["most_give_mm"],
        row["bridge_mm"],
        row["relief_mm"],
    )


@dataclass(frozen=True, slots=True, eq=False)
class Shell:
    """One stencil in the body's own axes, and how far its rim springs open on its way on and off [mm]."""

    name: str
    side: Side
    solid: manifold3d.Manifold
    give: float


def shells(
    body: Body | None,
    mesh: Mesh,
    view: SideView,
    regions: Sequence[Region],
    tools: Sequence[Tool],
    size: ShellSize | None = None,
) -> tuple[tuple[Shell, ...], tuple[Finding, ...]]:
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
    shells : tuple of Shell
        Each one piece.
    findings : tuple of Finding
        Where an opening had to end short of the rim, or no shell can be made.
    """
    size = size or usual_shell()
    inner = _moved_out(body, mesh, size.clearance)
    whole = _moved_out(body, mesh, size.clearance + size.thickness) - inner
    whole = cut_with(whole, _stems(tools, size))
    far = float(np.abs(mesh.vertices).max()) + 10.0
    made: list[Shell] = []
    findings: list[Finding] = []
    cups: dict[Side, tuple[manifold3d.Manifold, float]] = {}
    for side in SIDES:
        way = outwards(side)
        grip, give = _grip(inner, mesh, way, size)
        cups[side] = whole.trim_by_plane((0.0, way, 0.0), -grip), give
    for region in regions:
        for side, shape in region.on.items():
            cup, give = cups[side]
            solid = _opened(cup, shape, side, far)
            if solid is None:
                short = shape ^ view.outline().offset(-size.bridge, manifold3d.JoinType.Round)
                solid = _opened(cup, short, side, far)
                remedy = "ends short of the rim, or the mask would fall apart: join up the paint by hand there"
                findings.append(
                    Finding("mask-bridged", "note", f"mask {region.name} {side}", remedy, size.bridge, None, "mm")
                )
            if solid is None:
                remedy = "no shell of one piece can be made: fewer or narrower openings, or use the film"
                findings.append(Finding("mask-falls-apart", "warning", f"mask {region.name} {side}", remedy))
            else:
                made.append(Shell(region.name, side, solid, give))
    return tuple(made), tuple(findings)


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
    parts: list[Part] = []
    doubts = list(findings)
    for shell in made:
        name = f"mask {shell.name} {shell.side}"
        turn = 90.0 if shell.side == "right" else -90.0
        lying = shell.solid.rotate((turn, 0.0, 0.0))
        box = np.array(lying.bounding_box())
        try:
            fit = tidy(to_mesh(lying.translate(tuple(-box[:3]))), TIDY_MM)
        except DesignError as error:
            doubts.append(Finding("no-file", "warning", name, f"left out of the build: {error}"))
            continue
        purpose = f"clips over the {shell.side} flank and leaves {shell.name} open for paint"
        use = (
            "print it rim down with supports inside, in a springy plastic; on dry coats only, thin passes of paint "
            "straight on, and take it off sideways before the paint has set"
        )
        parts.append(Part(name, fit, purpose, use, ("ventilate", "solvent_fire"), "printed PETG"))
    return Parts(tuple(parts), tuple(doubts))


def _moved_out(body: Body | None, mesh: Mesh, distance: float) -> manifold3d.Manifold:
    return to_manifold(offset_mesh(mesh, distance) if body is None else offset_skin(body, distance, FACETS_MM))


def _stems(tools: Sequence[Tool], size: ShellSize) -> list[manifold3d.Manifold]:
    """Rods around what stands out of the middle of the bait."""
    rods = []
    for tool in tools:
        if isinstance(tool, Revolved) and tool.kind in ("tie", "hanger"):
            out = -np.array(tool.axis)
            side = np.array([0.0, 1.0, 0.0]) if abs(out[1]) < 0.9 else np.array([1.0, 0.0, 0.0])
            side = np.cross(out, side) / np.linalg.norm(np.cross(out, side))
            place = np.column_stack([side, np.cross(out, side), out, tool.origin])
            radius = tool.diameter / 2 + size.relief
            long = 4 * (size.clearance + size.thickness) + 2 * radius
            rods.append(
                manifold3d.Manifold.cylinder(2 * long, radius, circular_segments=ROD_SIDES, center=True).transform(
                    place
                )
            )
    return rods


def _grip(inner: manifold3d.Manifold, mesh: Mesh, way: float, size: ShellSize) -> tuple[float, float]:
    """How far past the mid-plane the rim may reach, and how far it then springs open at back or belly [mm]."""
    turned = inner.transform(UPRIGHT)
    profile = to_manifold(mesh).transform(UPRIGHT).slice(0.0)
    least, most = 0.0, size.grip
    if not _stands_out(profile, turned.slice(way * most), size.most_give):
        least = most
    while most - least > GRIP_STEP_MM:
        grip = (least + most) / 2
        free = not _stands_out(profile, turned.slice(way * grip), size.most_give)
        least, most = (grip, most) if free else (least, grip)
    return least, _give(profile, turned.slice(way * least), size.most_give)


def _give(profile: manifold3d.CrossSection, gap: manifold3d.CrossSection, most: float) -> float:
    """How far the body's profile stands out of the opening, no more than ``most`` [mm]."""
    low, high = 0.0, most
    if not _stands_out(profile, gap, low):
        return low
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        low, high = (middle, high) if _stands_out(profile, gap, middle) else (low, middle)
    return high


def _stands_out(profile: manifold3d.CrossSection, gap: manifold3d.CrossSection, give: float) -> bool:
    """Whether the profile is wider than the opening sprung open by ``give`` [mm]."""
    open_gap = gap.offset(give, manifold3d.JoinType.Round) if give else gap
    return bool((profile - open_gap).area() > NOTHING_MM2)


def _opened(
    cup: manifold3d.Manifold, shape: manifold3d.CrossSection, side: Side, far: float
) -> manifold3d.Manifold | None:
    """The cup with its opening, crumbs dropped; None when it falls apart."""
    knife = opening(shape, side, far).translate((0.0, -outwards(side) * far / 2, 0.0))
    pieces = sorted((cup - knife).decompose(), key=lambda piece: piece.volume(), reverse=True)
    total = sum(piece.volume() for piece in pieces)
    if not pieces or pieces[0].volume() < (1 - CRUMB) * total:
        return None
    return pieces[0]
