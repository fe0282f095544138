"""The drill block: measured on the mesh itself, every guide lies on its bore; the blank goes in one way only."""

from dataclasses import replace
from math import atan, degrees, tan

import manifold3d
import numpy as np
import pytest
from shaped import FULL, NAMES, recipe, shaped
from walls import thin_walls

from bodygen.form.blank import blank_of, default_allowance
from bodygen.form.cuts import Prism, Revolved, square_to
from bodygen.mesh.cut import to_manifold, tool_mesh
from bodygen.shop.jigs.corner import default_block
from bodygen.shop.jigs.drill_block import drill_block
from bodygen.shop.jigs.print_bed import default_bed
from bodygen.shop.thin import thin_parts

BAITS = NAMES if FULL else NAMES[:6]
OFF_MM, OFF_DEG = 0.02, 0.1
"""What the axes may miss by: the bound of this project, well inside what a drill wanders (common practice)."""


def blank(name):
    caster, said = shaped(name).caster, recipe(name)
    return blank_of(caster.low, caster.high, default_allowance(said.units), said.wood.blank_size)


def made(name, **choices):
    s = shaped(name)
    return drill_block(recipe(name), s.tools, s.caster, blank(name), **choices)


def blank_solid(name, nick):
    box = blank(name)
    solid = manifold3d.Manifold.cube(box.size).translate(box.low)
    corner = np.array([[0.0, 0.0], [nick, 0.0], [0.0, nick]]) + np.array([box.low[0], box.low[2]])
    bevel = manifold3d.CrossSection([corner]).extrude(box.size[1])
    return solid - bevel.transform(np.array([[1.0, 0, 0, 0], [0, 0, -1, box.high[1]], [0, 1, 0, 0]]))


def circle_centre(points):
    """Least squares: x^2 + y^2 = 2 a x + 2 b y + c is linear in the centre (a, b)."""
    system = np.column_stack([2 * points, np.ones(len(points))])
    return np.linalg.lstsq(system, (points**2).sum(axis=1), rcond=None)[0][:2]


def guide_middles(part, place, tool, guide, radius):
    """Middles of the guide's circle in two slices of the mesh square to the bore, in the bore's own axes."""
    first, second = square_to(tool.axis)
    to_bore = np.stack([first, second, np.array(tool.axis)])
    back = place[:, :3].T
    turn = to_bore @ back
    start = to_bore @ (-back @ place[:, 3] - np.array(tool.origin))
    solid = to_manifold(part.mesh).transform(np.column_stack([turn, start]))
    middles = []
    for share in (0.25, 0.75):
        # an end guide in two-diameter walls: from the blank's face, the guide begins just above it
        at = -(guide.entry.waste + (1.2 if guide.entry.face == "tail" else 0.2) + share * guide.entry.tool.diameter)
        rings = [np.array(ring) for ring in solid.slice(at).to_polygons()]
        ring = min(rings, key=lambda r: abs(np.linalg.norm(r, axis=1).min() - radius))
        along = np.linspace(0, 1, 20, endpoint=False)[:, None, None]
        points = (ring + along * (np.roll(ring, -1, axis=0) - ring)).reshape(-1, 2)
        printed_up = (to_bore @ back)[:2, 2]
        under_roof = points @ printed_up > np.linalg.norm(points, axis=1) * np.linalg.norm(printed_up) * 0.6
        points = points[~under_roof] if np.linalg.norm(printed_up) > 0.7 else points
        middles.append((*circle_centre(points), at))
    return np.array(middles)


@pytest.mark.parametrize("name", BAITS)
def test_every_guide_lies_on_its_bores_axis(name):
    block = made(name)
    size = default_block().guide
    bores = [t for t in shaped(name).tools if isinstance(t, Revolved)]
    assert len(block.guides) == len(bores)
    for guide in block.guides:
        part, place = next(
            (p, m) for p, m in zip(block.parts, block.placements, strict=True) if p.name == f"drill-block-{guide.block}"
        )
        tool = guide.entry.tool
        one, two = guide_middles(part, place, tool, guide, (tool.diameter + size.running) / 2)
        assert np.linalg.norm(one[:2]) < OFF_MM
        assert np.linalg.norm(two[:2]) < OFF_MM
        assert degrees(np.linalg.norm((two - one)[:2]) / abs(two[2] - one[2])) < OFF_DEG


@pytest.mark.parametrize("name", BAITS)
def test_the_stop_length_brings_the_drill_to_the_bores_end(name):
    for guide in made(name).guides:
        bore, tool = recipe(name).bores[guide.entry.tool.bore], guide.entry.tool
        if bore.depth is None:
            assert guide.stop is None
            continue
        end = np.array(guide.rest) + guide.stop * np.array(tool.axis)
        wanted = tool.shoulder if bore.depth_to == "shoulder" else tool.point
        assert (end - tool.origin) @ np.array(tool.axis) == pytest.approx(wanted, abs=1e-9)


@pytest.mark.parametrize("name", BAITS)
def test_the_blank_goes_in_and_touches(name):
    block = made(name)
    for part, place in zip(block.parts, block.placements, strict=True):
        jig, wood = to_manifold(part.mesh), blank_solid(name, block.nick).transform(place)
        assert (jig ^ wood).volume() < 0.5  # mm3: files' rounding over the faces that touch
        for way in ((-0.1, 0, 0), (0, 0, -0.1)):  # against nose stop and fence
            assert (jig ^ wood.translate(way)).volume() > 5


@pytest.mark.parametrize("name", ["tarn-perch-70", "fell-reed-110"])
def test_no_wrong_way_round_goes_in(name):
    """The blank's three other right-handed ways into its own box, each about an axis of the box: all meet the wedge."""
    block, box = made(name), blank(name)
    middle = (np.array(box.low) + box.high) / 2
    for part, place in zip(block.parts, block.placements, strict=True):
        jig = to_manifold(part.mesh)
        for flip in ((-1, -1, 1), (-1, 1, -1), (1, -1, -1)):
            turned = np.column_stack([np.diag(flip).astype(float), middle - np.array(flip) * middle])
            wood = blank_solid(name, block.nick).transform(turned).transform(place)
            assert (jig ^ wood).volume() > 20


@pytest.mark.parametrize("name", BAITS)
def test_the_saw_guide_is_the_slot_itself(name):
    """Nothing of the block is left where the slot runs, and a hair beside it there is plastic on both sides."""
    block = made(name)
    slot = next((t for t in shaped(name).tools if isinstance(t, Prism) and t.kind == "slot"), None)
    if slot is None or not block.saw_guide:
        pytest.skip("no slot that a saw could cut")
    part, place = block.parts[0], block.placements[0]
    jig = to_manifold(part.mesh)
    blade = to_manifold(tool_mesh(replace(slot, half=min(slot.half, 30.0))))
    assert (jig ^ blade.transform(place)).volume() < 0.5
    for way in (-0.1, 0.1):
        beside = blade.translate(tuple(way * np.array(slot.normal))).transform(place)
        assert (jig ^ beside).volume() > 5


@pytest.mark.parametrize("name", BAITS)
def test_nothing_hangs_over_when_printed_fence_down(name):
    """Whatever faces down more steeply than 45 degrees, but for the bed, is a ledge or letter under 2 mm wide."""
    for part in made(name).parts:
        corner = part.mesh.vertices[part.mesh.faces]
        normal = np.cross(corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0])
        area = np.linalg.norm(normal, axis=1) / 2
        down = (normal[:, 2] < -0.72 * 2 * area) & (corner[:, :, 2].max(axis=1) > 0.01) & (area > 1e-6)
        shadow = manifold3d.CrossSection(list(corner[down][:, ::-1, :2]), manifold3d.FillRule.NonZero)
        assert shadow.offset(-1.0, manifold3d.JoinType.Miter).area() == pytest.approx(0, abs=1e-3)


@pytest.mark.parametrize("name", ["tarn-perch-70", "reedbed-roach-65", "fell-reed-110", "random-10", "random-12"])
def test_no_wall_or_saw_guide_of_a_block_runs_out_thin(name):
    """Letters are shallow, and left out: what stands between their strokes is no wall."""
    for part in made(name, block=replace(default_block(), engraved=0.0)).parts:
        where, thick = thin_walls(part.mesh)
        assert len(thick) == 0, f"{part.name}: {thick.min():.2f} mm at {where[np.argmin(thick)]}"


def test_the_saw_guides_edges_are_blunt():
    """The perch's slot leaves the wall at 40 degrees, the roach's the nose stop at 60: neither ends in a point."""
    for name in ("tarn-perch-70", "reedbed-roach-65"):
        block = made(name, block=replace(default_block(), engraved=0.0))
        solid = to_manifold(block.parts[0].mesh)
        for z in (3.0, solid.bounding_box()[5] - 3.0):
            shape = solid.slice(z)
            tips = thin_parts(shape, default_block().least_wall)
            assert tips.is_empty(), f"{name}: {[p.bounds() for p in tips.decompose()]}"


@pytest.mark.parametrize("name", NAMES)
def test_no_drill_leans_more_than_one_and_a_half_degrees_in_its_guide(name):
    """In a hole 0.2 mm wider, as long as the mesh has it: atan(0.2 / length). A hole of 3 mm let a #56 lean 3.8."""
    size = default_block().guide
    for guide in made(name).guides:
        length = guide.entry.guide_length(size) - guide.entry.tool.diameter / 2 * tan(guide.entry.lean)
        assert degrees(atan(size.running / length)) < 1.5


def test_a_thin_drills_guide_is_as_long_in_the_mesh():
    """The reed's thinnest drill, cut by planes along its axis: its circle is there from end to end of 8 mm."""
    name = "reedbed-roach-65"
    block = made(name)
    guide = min(block.guides, key=lambda g: g.entry.tool.diameter)
    part, place = next(
        (p, m) for p, m in zip(block.parts, block.placements, strict=True) if p.name == f"drill-block-{guide.block}"
    )
    tool, back = guide.entry.tool, place[:, :3].T
    to_bore = np.stack([*square_to(tool.axis), np.array(tool.axis)])
    start = to_bore @ (-back @ place[:, 3] - np.array(tool.origin))
    solid = to_manifold(part.mesh).transform(np.column_stack([to_bore @ back, start]))
    radius = (tool.diameter + default_block().guide.running) / 2
    for along in (0.2, 4.0, 7.8):
        rings = [np.array(ring) for ring in solid.slice(-(guide.entry.waste + along)).to_polygons()]
        assert min(abs(np.linalg.norm(ring, axis=1).min() - radius) for ring in rings) < OFF_MM


def test_a_bed_too_short_gets_the_block_in_pieces():
    small = replace(default_bed(), size=(80.0, 80.0, 80.0))
    block = made("fell-reed-110", bed=small)
    pieces = [p for p in block.parts if p.name.startswith("drill-block-belly")]
    assert len(pieces) == 2
    for piece in pieces:
        assert (piece.mesh.vertices.max(axis=0) <= np.array(small.usable) + 1e-6).all()
    assert "jig-split" in {f.code for f in block.findings}


def test_a_bait_without_cuts_needs_no_block():
    s = shaped("tarn-perch-70")
    assert drill_block(recipe("tarn-perch-70"), (), s.caster, blank("tarn-perch-70")).parts == ()
