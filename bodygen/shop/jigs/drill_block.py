"""The drill and slot block: a corner that the squared blank is pushed into, with a guide for every drill and the saw.

Two such corners serve all six faces. One lies against belly and left flank, the other against back and right flank;
both have the stop for the nose end, and a wedge on it that only goes into the nick sawn off the blank's nose and belly
edge: tail first, upside down or inside out, the blank stays out. The flank's side, the fence, lies on the print bed and
everything else stands upright on it, so nothing needs a support.

Knows the blank and the guides. Whether the bores are wise was asked in form/cuts/checks.py.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import cos, pi, sqrt, tan

import manifold3d
import numpy as np

from bodygen.errors import DesignError
from bodygen.findings import Finding
from bodygen.form.blank import Blank
from bodygen.form.cuts import Prism, Tool, slot_of
from bodygen.form.integrals import Array
from bodygen.form.ray_caster import RayCaster
from bodygen.mesh.cut import cut_with, to_mesh
from bodygen.mesh.float32 import repair_for_float32
from bodygen.recipe.model import Recipe
from bodygen.shop.jigs.block_labels import labels
from bodygen.shop.jigs.corner import (
    FAR_MM,
    SERVES,
    BlockSize,
    Corner,
    Guide,
    corner_of,
    default_block,
    ears_of,
    reach_of,
    rectangle,
    saw_span,
    slit,
)
from bodygen.shop.jigs.drill_guide import DrillEntry, entries, stop_length, stop_words
from bodygen.shop.jigs.print_bed import Bed, default_bed, on_the_bed
from bodygen.shop.part import Part
from bodygen.shop.thin import thin_parts

SIDES = 48
"""Sides of a guide's circle, drawn around it."""
REPAIR_MM = 0.001
SINK_MM = 0.01
"""How far what is cut off the sides reaches below the corner's groove, so that no skin stays between."""


@dataclass(frozen=True, slots=True, eq=False)
class DrillBlock:
    """The blocks, ready to print.

    ``placements`` (3, 4) take body axes to each part's own [mm]; ``nick`` is the leg of the bevel to saw off the
    blank's nose and belly edge first, 0 for none [mm]; ``saw_guide``: whether the lip's slot has one.
    """

    parts: tuple[Part, ...]
    placements: tuple[Array, ...]
    guides: tuple[Guide, ...]
    nick: float
    saw_guide: bool
    findings: tuple[Finding, ...]


def drill_block(
    recipe: Recipe,
    tools: tuple[Tool, ...],
    caster: RayCaster,
    blank: Blank,
    block: BlockSize | None = None,
    bed: Bed | None = None,
) -> DrillBlock:
    """The blocks that lead every drill and the lip's saw into the squared blank; none where there is nothing to lead.

    Parameters
    ----------
    recipe : Recipe
        Says drills and how depths are measured.
    tools : tuple of Tool
        The recipe's cuts, as ``tools_of`` gives them.
    caster : RayCaster
        The body's skin.
    blank : Blank
        The squared blank.
    block, bed : BlockSize, Bed, optional
        The usual ones where left out.

    Returns
    -------
    DrillBlock
        Parts lie fence down, as they are to be printed.
    """
    block, bed = block or default_block(), bed or default_bed()
    led, checks = entries(tools, blank, block.guide)
    findings = [*checks, *_counterbored(recipe, led)]
    slot = slot_of(tools)
    if slot is not None and not _crosses(slot, caster):
        remedy = "the slot is narrower than the body, so no saw cuts it: chisel or mill it, or widen lip.slot_width"
        findings.append(Finding("block-no-saw", "note", "lip.slot_width", remedy, round(2 * slot.half, 2), None, "mm"))
        slot = None
    nick = _nick(blank, caster, block)
    if nick == 0 and (led or slot):
        remedy = (
            "the body leaves no waste at the blank's nose and belly edge for the nick: mark NOSE and BELLY on the blank"
        )
        findings.append(Finding("block-no-nick", "warning", "drill block", remedy, None, None))
    made = []
    for wall_on in ("belly", "back"):
        own = tuple(e for e in led if e.face in SERVES[wall_on])
        saw = slot if wall_on == "belly" else None
        if own or saw is not None:
            made.append(_one(recipe, corner_of(wall_on, blank, own, saw, block), own, saw, nick, block, bed))
    return DrillBlock(
        tuple(part for one in made for part in one.parts),
        tuple(place for one in made for place in one.placements),
        tuple(guide for one in made for guide in one.guides),
        nick,
        slot is not None,
        (*findings, *(doubt for one in made for doubt in one.findings)),
    )


def _counterbored(recipe: Recipe, led: Sequence[DrillEntry]) -> Iterator[Finding]:
    """A guide leads one drill alone, the narrow one."""
    for entry in led:
        if recipe.bores[entry.tool.bore].counterbore is not None and not entry.tool.mirrored:
            remedy = f"{entry.tool.name}: its guide leads the narrow drill; open the counterbore on the shaped body"
            yield Finding("block-counterbore", "note", f"bore[{entry.tool.bore + 1}].counterbore", remedy)


def _one(
    recipe: Recipe,
    corner: Corner,
    own: tuple[DrillEntry, ...],
    saw: Prism | None,
    nick: float,
    block: BlockSize,
    bed: Bed,
) -> DrillBlock:
    """The block in one corner, whole or in pieces that fit on the bed."""
    parts: list[Part] = []
    places: list[Array] = []
    mine = tuple(_guide(corner, e, recipe, block) for e in own)
    solid, found = _solid(corner, mine, saw, nick, recipe, block)
    spans = [*(reach_of(corner, g, block) for g in mine), *saw_span(corner, saw)]
    keep = [(low - corner.ends[0], high - corner.ends[0]) for low, high in spans]
    down = np.column_stack([np.eye(3), (-corner.ends[0], corner.height, corner.fence)])
    upright = (corner.height + corner.wall / 2, (corner.fence + corner.thick) * 0.8)
    at = [upright, (corner.height * 0.3, corner.fence / 2)]
    split = on_the_bed(solid.transform(down), bed, f"drill block {corner.wall_on}", keep, at)
    findings = [*found, *split.findings]
    place = down[:, :3] @ corner.place
    place[:, 3] += down[:, 3]
    for number, piece in enumerate(split.pieces, start=1):
        low = np.array(piece.bounding_box()[:3])
        name = f"drill-block-{corner.wall_on}" + (f"-{number}" if len(split.pieces) > 1 else "")
        try:
            parts.append(_part(name, piece.translate(tuple(-low)), corner, mine, saw, nick, recipe))
        except DesignError as error:
            findings.append(Finding("no-file", "warning", name, f"left out of the build: {error}"))
            continue
        moved = place.copy()
        moved[:, 3] -= low
        places.append(moved)
    return DrillBlock(tuple(parts), tuple(places), mine, nick, saw is not None, tuple(findings))


def _part(
    name: str,
    solid: manifold3d.Manifold,
    corner: Corner,
    guides: tuple[Guide, ...],
    saw: Prism | None,
    nick: float,
    recipe: Recipe,
) -> Part:
    flank = "left" if corner.wall_on == "belly" else "right"
    leads = [stop_words(recipe, g.entry, g.stop) for g in guides]
    if saw is not None:
        leads.append("lip slot: saw along both faces of the guide until the teeth reach its end")
    first = f"Saw a {nick:.1f} mm bevel off the blank's nose and belly edge. " if nick else ""
    use = (
        f"{first}Push the blank home against the nose stop, the {corner.wall_on} and the {flank} flank, clamp it by "
        f"the ears with hands clear. Set each bit's stop from the top of the bush, along the bit, as engraved "
        f"(S to the shoulder, P to the point). {'; '.join(leads)}."
    )
    purpose = (
        f"drill and saw guide for the squared blank, on its {corner.wall_on} and {flank} flank; "
        "prints fence down without supports"
    )
    return Part(
        name,
        repair_for_float32(to_mesh(solid), REPAIR_MM),
        purpose,
        use,
        ("spinning_tools", "small_workpiece", "wood_dust"),
    )


def _crosses(slot: Prism, caster: RayCaster) -> bool:
    """Whether the slot is at least as wide as the body all along, so that a saw can cut it."""
    across = np.array([0.0, 1.0, 0.0])
    for depth in np.linspace(0.02, 0.98, 7) * slot.depth:
        at = np.array(slot.origin) + depth * np.array(slot.along)
        hits = caster.crossings(at - caster.reach * across, across) - caster.reach
        if len(hits) and max(-hits[0], hits[-1]) > slot.half + 0.1:
            return False
    return True


def _nick(blank: Blank, caster: RayCaster, block: BlockSize) -> float:
    """The largest bevel at the nose and belly edge, up to the usual one, that stays in waste by 0.5 mm; 0 for none."""
    for leg in np.arange(block.nick, block.least_nick - 1e-9, -0.5):
        ahead = np.linspace(0.0, leg, 20)
        belly = caster.heights(blank.low[0] + ahead)[0]
        if not (belly < blank.low[2] + leg - ahead + 0.5).any():  # nan, beside the body, is never less
            return float(leg)
    return 0.0


def _guide(corner: Corner, entry: DrillEntry, recipe: Recipe, block: BlockSize) -> Guide:
    gap = corner.tail_gap if entry.face == "tail" else 0.0
    top = entry.top(block.guide, corner.thickness(entry.face), gap)
    x, y, z = (float(c) for c in np.array(entry.tool.origin) - top * np.array(entry.tool.axis))
    return Guide(entry, corner.wall_on, (x, y, z), stop_length(recipe.bores[entry.tool.bore], top))


def _solid(
    corner: Corner, guides: tuple[Guide, ...], saw: Prism | None, nick: float, recipe: Recipe, block: BlockSize
) -> tuple[manifold3d.Manifold, list[Finding]]:
    """The block in its own corner, and the findings about it."""
    (a, b), (nose, tail), f = corner.ends, corner.length, corner.fence
    top = corner.thick
    ears, checks = ears_of(corner, guides, saw, block)
    adds = [
        _box((a, -corner.height, -f), (b, corner.wall, 0.0)),
        _box((a, 0.0, -f), (b, corner.wall, top)),
        _box((a, -corner.height, -f), (nose, corner.wall, top)),
        *(_ear(corner, x, block) for x in ears),
    ]
    if corner.tail:
        adds.append(_box((tail + corner.tail_gap, -corner.height, -f), (b, corner.wall, top)))
    wedge = _wedge(corner, nick)
    free = _box((nose, -corner.deep - 1.0, 0.0), (tail + corner.tail_gap, 0.0, top + FAR_MM))
    if wedge is not None:
        adds.append(wedge ^ _box((a, -corner.height, -f), (b, corner.wall, top)))
        free -= wedge
    dust = block.corner_relief
    grooves = _box((nose, -dust, -dust), (tail + 1.0, 0.0, 0.0)) + _box(
        (nose, -corner.height - 1, -dust), (nose + dust, 0.0, 0.0)
    )
    cuts = [free, grooves if wedge is None else grooves - wedge.translate((0.0, 0.0, -dust))]
    for x in ears:
        through = np.array([x, corner.wall + block.ear * 0.6, -f - 1.0])
        cuts.append(_round(through, np.array([0.0, 0.0, 1.0]), f + 2.0, block.ear_hole / 2))
    for guide in guides:
        cuts += _holes(corner, guide, block)
    if saw is not None:
        cuts.append(slit(corner, saw).extrude(FAR_MM).translate((0.0, 0.0, -f - 1.0)))
        cuts += _saw_tips(corner, saw, nick, block)
    whole = manifold3d.Manifold.batch_boolean(adds, manifold3d.OpType.Add)
    engraved, more = labels(corner, guides, saw, ears, recipe, block)
    return cut_with(whole, [*cuts, *engraved]), [*checks, *more]


def _ear(corner: Corner, x: float, block: BlockSize) -> manifold3d.Manifold:
    half = block.ear_width / 2
    foot = -corner.height if x + half > corner.ends[1] else 0.0
    return _box((x - half, foot, -corner.fence), (x + half, corner.wall + block.ear, 0.0))


def _box(low: tuple[float, float, float], high: tuple[float, float, float]) -> manifold3d.Manifold:
    size = tuple(b - a for a, b in zip(low, high, strict=True))
    return manifold3d.Manifold.cube(size).translate(low)


def _wedge(corner: Corner, nick: float) -> manifold3d.Manifold | None:
    """What fills the nick: a three-cornered bar on the nose stop, at the belly."""
    if not nick:
        return None
    return _nick_filled(corner, nick).extrude(corner.thick + FAR_MM)


def _nick_filled(corner: Corner, nick: float) -> manifold3d.CrossSection:
    """The three corners of the nick in (x, p)."""
    nose = corner.length[0]
    edge, way = (0.0, -1.0) if corner.wall_on == "belly" else (-corner.deep, 1.0)
    corners = np.array([[nose, edge], [nose + nick, edge], [nose, edge + way * nick]])
    return manifold3d.CrossSection([corners], manifold3d.FillRule.EvenOdd)


def _saw_tips(corner: Corner, saw: Prism, nick: float, block: BlockSize) -> list[manifold3d.Manifold]:
    """The feather edges where the saw's cut leaves the block's faces at a slant: of wall and stop, and of the fence."""
    (a, b), h, open_at = corner.ends, corner.height, slit(corner, saw)
    sides = rectangle(a, b, 0.0, corner.wall) + rectangle(a, corner.length[0], -h, corner.wall)
    sides += _nick_filled(corner, nick)
    above, below = (thin_parts(flat - open_at, block.least_wall) for flat in (sides, rectangle(a, b, -h, corner.wall)))
    tips = [(above, FAR_MM, -block.corner_relief - SINK_MM), (below, corner.fence + 1.0, -corner.fence - 1.0)]
    return [flat.extrude(tall).translate((0.0, 0.0, low)) for flat, tall, low in tips if not flat.is_empty()]


def _holes(corner: Corner, guide: Guide, block: BlockSize) -> list[manifold3d.Manifold]:
    """Guide, relief and seat of one drill."""
    entry, size = guide.entry, block.guide
    mouth, out = corner.point(np.array(entry.tool.origin)), -corner.way(np.array(entry.tool.axis))
    gap = corner.tail_gap if entry.face == "tail" else 0.0
    face = entry.waste + gap / cos(entry.lean)
    led = face + entry.guide_length(size)
    rest = entry.top(size, corner.thickness(entry.face), gap)
    r = (entry.tool.diameter + size.running) / 2
    inside = r * tan(entry.lean) + 0.5
    holes = [_round(mouth + (face - inside) * out, out, rest - face + inside + 1.0, r)]
    if rest - led > 0.5:
        holes.append(_round(mouth + led * out, out, rest - led + 1.0, r + size.relief / 2))
    if entry.lean:
        holes.append(_round(mouth + rest * out, out, 60.0, (entry.tool.diameter + size.collar) / 2))
    return holes


def _round(start: Array, way: Array, length: float, radius: float) -> manifold3d.Manifold:
    """A round hole; one that lies as printed has a roof of 45 degrees, so that its top does not sag."""
    angle = 2 * pi * (np.arange(SIDES) + 0.5) / SIDES
    points = radius / cos(pi / SIDES) * np.stack([np.cos(angle), np.sin(angle)], axis=1)
    up = np.array([0.0, 0.0, 1.0])
    lying = abs(way[2]) < sqrt(0.5)
    if lying:
        points = np.concatenate([points, [[0.0, radius * sqrt(2.0)]]])
    second = up - (up @ way) * way if lying else np.array([0.0, 1.0, 0.0]) - way[1] * way
    second /= np.linalg.norm(second)
    corner = np.stack([np.cross(second, way), second, way, start], axis=1)
    return manifold3d.CrossSection.hull_points(points).extrude(length).transform(corner)
