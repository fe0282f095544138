"""The two-part mould: two blocks that close around the uncut body's own shape, with keys, sprue, vents and seats.

They part at the mid-plane y = 0, not along the widest line. There the parting face is flat, so it seals and needs no
supports; the half body is a height above that plane at every place (no section of a drawn body turns back under
itself), so both halves draw straight off sideways whatever the outline does, where a face that followed the widest line
would be curved and still draw no better; and every tie and hanger in the middle of the bait lies in it, so that its
wire can be laid in. A body that is a mesh may have undercuts: they are measured and said.

Knows casting by hand of resin and foam. Not for metal. Bores for ballast and eyes, and kerfs, are cut in the casting.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import tan

import manifold3d
import numpy as np

from bodygen.findings import Finding
from bodygen.form.body import Body
from bodygen.form.cuts import Tool
from bodygen.form.integrals import Array
from bodygen.form.triples import doubled_areas
from bodygen.mesh.cut import cut_with, to_manifold, to_mesh
from bodygen.mesh.float32 import repair_for_float32
from bodygen.mesh.skin import Mesh, body_rings
from bodygen.shop.jigs.mould_channels import (
    SIDES,
    MouldSize,
    default_mould,
    in_mid_plane,
    lip_core,
    pouring,
    wire_seats,
)
from bodygen.shop.lip.plate import LipPlate
from bodygen.shop.part import Part, Parts

FACETS_MM = 0.003
"""How far the cavity's facets may leave the surface: 0.05 % of a bait's volume."""
REPAIR_MM = 0.002
ROOT_MM = 1.0
"""How far a key's cone reaches into the half that it stands on."""
LEAST_FACING = 1e-4
"""A face that looks away from the draw by less than this (sine of the angle) is parallel to it, but for rounding."""
TO_PARTING_UP = {
    "right": np.array([[1.0, 0.0, 0.0], [0.0, 0.0, 1.0], [0.0, -1.0, 0.0]]),
    "left": np.array([[1.0, 0.0, 0.0], [0.0, 0.0, -1.0], [0.0, 1.0, 0.0]]),
}
"""Turns a half about the x axis, its parting face up."""


@dataclass(frozen=True, slots=True, eq=False)
class Mould:
    """The printed parts, and the closed mould in the body's own axes.

    ``right`` and ``left`` are the halves; ``cavity`` the body's shape after the shrink factor; ``channels`` sprue,
    vents and seats by name; ``core`` what stands in the lip's slot.
    """

    parts: Parts
    right: manifold3d.Manifold
    left: manifold3d.Manifold
    cavity: manifold3d.Manifold
    channels: dict[str, manifold3d.Manifold]
    core: manifold3d.Manifold | None


def mould(
    body: Body | None,
    mesh: Mesh,
    tools: Sequence[Tool],
    plate: LipPlate | None,
    size: MouldSize | None = None,
) -> Mould:
    """Make the mould of a body.

    Parameters
    ----------
    body : Body or None
        The surface; None where a mesh is taken as it is.
    mesh : Mesh
        The uncut body [mm]; the mid-plane y = 0 goes through it.
    tools : sequence of Tool
        The recipe's cuts: ties and hangers in the mid-plane get a wire's seat, the lip's slot a core.
    plate : LipPlate or None
        The lip.
    size : MouldSize, optional
        Left out: the usual.

    Returns
    -------
    Mould
        Findings: an undercut, a key without room, a kerf that has to be sawn afterwards.
    """
    skin = mesh if body is None else body_rings(body, FACETS_MM).mesh()
    size = size or default_mould()
    centre = (skin.vertices.min(axis=0) + skin.vertices.max(axis=0)) / 2 * (1.0, 0.0, 1.0)
    cavity = to_manifold(Mesh(centre + size.scale * (skin.vertices - centre), skin.faces))
    low, high = np.array(cavity.bounding_box()[:3]), np.array(cavity.bounding_box()[3:])

    def moved(point: Sequence[float]) -> Array:
        return np.asarray(centre + size.scale * (np.array(point) - centre))

    core, seat = lip_core(tools, plate, moved, size)
    seats = wire_seats(tools, moved, size)
    seats |= {"lip seat": seat} if seat is not None else {}
    bottom, top = _block_box(low, high, seat, size)
    half = float(top[1])
    channels = seats | pouring(cavity, seats, float(top[2]), float(high[1] - low[1]), size)
    block = manifold3d.Manifold.cube(tuple(top - bottom)).translate(tuple(bottom))
    hollow = cut_with(block, [cavity, *channels.values()])
    right = hollow.trim_by_plane((0.0, 1.0, 0.0), 0.0)
    left = hollow.trim_by_plane((0.0, -1.0, 0.0), 0.0)
    places = _key_places(cavity, channels.values(), bottom, top, size)
    for x, z in places:
        right += _key(x, z, 0.0, size)
        left -= _key(x, z, size.key_clearance, size)
    findings = [*_undercuts(right, left, half), *_key_checks(len(places), size)]
    findings += [
        Finding("mould-kerf-by-hand", "note", tool.name, "the mould has no blade for a kerf: saw it in the casting")
        for tool in tools
        if tool.kind == "wire"
    ]
    parts = Parts(tuple(_parts(right, left, core, cavity.volume(), size)), tuple(findings))
    return Mould(parts, right, left, cavity, channels, core)


def _block_box(low: Array, high: Array, seat: manifold3d.Manifold | None, size: MouldSize) -> tuple[Array, Array]:
    """Corners of the closed block around a cavity's box and the seat of the lip's core, alike on both sides [mm]."""
    around = np.array([size.rim, size.wall, size.rim])
    bottom, top = low - around, high + around
    if seat is not None:
        box = np.array(seat.bounding_box())
        bottom, top = np.minimum(bottom, box[:3] - size.wall), np.maximum(top, box[3:] + size.wall)
    half = max(-bottom[1], top[1], size.funnel / 2 + size.cover)
    bottom[1], top[1] = -half, half
    return bottom, top


def printed_flat(half: manifold3d.Manifold, side: str) -> Mesh:
    """A half as it is printed: its parting face up, its back on z = 0."""
    turned = half.transform(np.column_stack([TO_PARTING_UP[side], np.zeros(3)]))
    box = turned.bounding_box()
    return repair_for_float32(to_mesh(turned.translate((-box[0], -box[1], -box[2]))), REPAIR_MM)


def _parts(
    right: manifold3d.Manifold,
    left: manifold3d.Manifold,
    core: manifold3d.Manifold | None,
    volume: float,
    size: MouldSize,
) -> list[Part]:
    use = (
        f"wax both halves, lay waxed wires and the core into their seats, clamp, pour slowly into the funnel until the "
        f"vents run: {volume / 1000:.1f} cm3 and what the channels hold. Resin or foam only, never metal"
    )
    grown = f", {size.shrink_percent:g} % larger for shrinkage" if size.shrink_percent else ""
    cautions = ("epoxy_skin", "isocyanate", "ventilate")
    parts = [
        Part(
            f"mould {side}",
            printed_flat(half, side),
            f"{side} half of the mould for copies of the body{grown}",
            use,
            cautions,
        )
        for side, half in (("right", right), ("left", left))
    ]
    if core is not None:
        box = np.array(core.bounding_box())
        flat = repair_for_float32(to_mesh(core.translate(tuple(-box[:3]))), REPAIR_MM)
        purpose = "keeps the lip's slot open in the casting"
        parts.append(
            Part(
                "mould lip core",
                flat,
                purpose,
                "wax it, stand it in its seat, pull it out along the slot when the casting is hard",
            )
        )
    return parts


def _key_places(
    cavity: manifold3d.Manifold, channels: Iterable[manifold3d.Manifold], bottom: Array, top: Array, size: MouldSize
) -> list[tuple[float, float]]:
    """Middles of the keys in the parting face (x, z), each as near to a corner of the block as there is room."""
    span = top - bottom
    frame = manifold3d.CrossSection.square((span[0], span[2])).translate((bottom[0], bottom[2]))
    keep_off = size.key_base / 2 + size.key_clearance + size.cover
    used = manifold3d.CrossSection.batch_boolean([in_mid_plane(s) for s in (cavity, *channels)], manifold3d.OpType.Add)
    free = frame.offset(-keep_off, manifold3d.JoinType.Miter) - used.offset(keep_off, manifold3d.JoinType.Round)
    if free.is_empty():
        return []
    candidates = np.concatenate(free.to_polygons())
    corners = [(x, z) for x in (bottom[0], top[0]) for z in (bottom[2], top[2])]
    chosen: list[tuple[float, float]] = []
    for corner in corners[: size.key_count]:
        x, z = candidates[np.argmin(np.linalg.norm(candidates - corner, axis=1))]
        if all(np.hypot(x - a, z - b) > size.key_base + size.cover for a, b in chosen):
            chosen.append((float(x), float(z)))
    return chosen


def _key(x: float, z: float, clearance: float, size: MouldSize) -> manifold3d.Manifold:
    """A cut-off cone that points to the left (-y) and goes on widening into the right half, where it is rooted."""
    taper = tan(size.key_draft)
    tall = size.key_height + clearance + ROOT_MM
    tip = size.key_base / 2 + clearance - size.key_height * taper
    cone = manifold3d.Manifold.cylinder(tall, tip + tall * taper, tip, SIDES)
    return cone.rotate((90.0, 0.0, 0.0)).translate((x, ROOT_MM, z))


def facing_away(half: manifold3d.Manifold, draw: float) -> tuple[float, float]:
    """How much of a half would tear the casting when it is drawn off along ``draw`` * y.

    Returns
    -------
    area, steepest : float
        Of the faces that look along the draw, but for the block's own back [mm^2]; sine of the worst one's angle [-].
    """
    mesh = to_mesh(half)
    corner = mesh.vertices[mesh.faces]
    normal = doubled_areas(corner)
    double = np.linalg.norm(normal, axis=1)
    facing = draw * normal[:, 1] / np.maximum(double, 1e-300)
    back = (draw * corner[..., 1]).min(axis=1) > (draw * mesh.vertices[:, 1]).max() - 1e-6
    wrong = (facing > LEAST_FACING) & ~back & (double > 1e-6)
    return float(double[wrong].sum() / 2), float(facing[wrong].max(initial=0.0))


def _undercuts(right: manifold3d.Manifold, left: manifold3d.Manifold, half: float) -> list[Finding]:
    found = []
    for side, solid, draw in (("right", right, 1.0), ("left", left, -1.0)):
        area, _ = facing_away(solid, draw)
        if area > LEAST_FACING * half:
            remedy = (
                "the body turns back under itself there: the casting would lock in the mould; fill the hollow first"
            )
            found.append(Finding("mould-undercut", "warning", f"mould {side}", remedy, round(area, 2), 0.0, "mm2"))
    return found


def _key_checks(keys: int, size: MouldSize) -> list[Finding]:
    if keys >= min(2, size.key_count):
        return []
    remedy = "no room for two keys: a wider rim, or register the halves by their edges"
    return [Finding("mould-keys", "warning", "mould", remedy, float(keys), 2.0, "keys")]
