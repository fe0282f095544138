"""Shells of masks: of one piece, open over their own region, thick enough everywhere, and held by what holds them."""

from functools import cache
from math import radians

import manifold3d
import numpy as np
import pytest
from amount import MORE
from carved import body, body_skin, tools
from painted import USUAL
from shaped import NAMES, recipe, shaped
from tube import HALF_DEPTH, HALF_WIDTHS, VIEW, tube

from bodygen.form.facing import outwards
from bodygen.form.ray_caster import ray_caster_of
from bodygen.mesh.cut import to_manifold, to_mesh
from bodygen.recipe.model import Mask
from bodygen.shop.masks.ears import default_shell
from bodygen.shop.masks.regions import regions, side_view_of
from bodygen.shop.masks.shell import mask_shells, shells

SIZE = default_shell()
FACETS_MM = 0.05
"""Facets of the shell's cavity and of the body leave their surfaces by up to 0.03 and 0.02 mm."""
ELLIPSOID = side_view_of(ray_caster_of(body()))


@cache
def of(name):
    a, r = shaped(name), recipe(name)
    view = side_view_of(a.caster)
    return a, view, regions(r.masks or USUAL, view, a.tools)[0]


@cache
def made_for(name):
    a, view, found = of(name)
    return shells(a.body, a.mesh, view, found, a.tools)


def shells_of(name):
    return made_for(name)[0]


@pytest.mark.parametrize("name", NAMES if MORE else NAMES[:1])
def test_a_shell_is_one_piece_and_keeps_its_clearance(name):
    """The gap is asked of one shell on each flank: all are cut from the same cup."""
    made, skin = shells_of(name), to_manifold(shaped(name).mesh)
    assert made
    assert all(len(shell.solid.decompose()) == 1 for shell in made)
    for side in ("right", "left"):
        shell = next(shell for shell in made if shell.side == side)
        assert shell.solid.min_gap(skin, 0.6) == pytest.approx(SIZE.clearance, abs=FACETS_MM)


@pytest.mark.parametrize("name", NAMES)
def test_a_shell_lifts_off_sideways_without_coming_nearer_to_the_fresh_paint(name):
    """Drawn off its flank in steps, it is never nearer to the skin than where it lay; all are of the same cups."""
    skin, made = to_manifold(shaped(name).mesh), shells_of(name)
    for shell in made[:2]:
        for away in (0.2, 2.0):
            moved = shell.solid.translate((0.0, outwards(shell.side) * away, 0.0))
            assert moved.min_gap(skin, 0.4) > SIZE.clearance - FACETS_MM


def pairs(name):
    made = shells_of(name)
    left = {shell.name: shell for shell in made if shell.side == "left"}
    return [(shell, left[shell.name]) for shell in made if shell.side == "right" and shell.name in left]


ONE = (-1.0, 1.0)
PULLS = [
    *((way, 0.0, 0.0) for way in ONE),
    *((0.0, way, 0.0) for way in ONE),
    *((0.0, way, up) for way in (-1.0, 0.0, 1.0) for up in ONE),
]


@pytest.mark.parametrize("name", NAMES if MORE else NAMES[:1])
def test_two_shells_tied_by_their_ears_hold_against_a_pull_in_any_direction(name):
    """Tied, they move as one. Pulled off, they meet even a body that is narrower by 0.2 mm at the widest.

    That is the interference on the way off: by how much the skin stands out behind the shells' edge, the undercut, less
    the gap in which they can move. Asked of the masks that leave least standing: over back and belly, and one more.
    """
    mesh = shaped(name).mesh
    narrow = 1.0 - 0.2 / np.abs(mesh.vertices[:, 1]).max()
    narrowed = to_manifold(mesh).scale((1.0, narrow, 1.0))
    weakest = [pair for pair in pairs(name) if pair[0].name in ("back", "belly")]
    for right, left in [*weakest, pairs(name)[0]][:3]:
        assert (right.ears, [ear.end for ear in right.ears]) == (left.ears, ["nose", "tail"])
        tied = right.solid + left.solid
        for pull in PULLS:
            way = np.array(pull) / np.linalg.norm(pull)
            met = (tied.translate(tuple(far * way)) ^ narrowed for far in (1.0, 2.0, 4.0, 7.0))
            assert any(wood.volume() > 0.0 for wood in met), (right.name, pull)


@pytest.mark.parametrize("name", NAMES)
def test_a_band_from_ear_to_ear_is_stretched_over_the_other_flank(name):
    """The straight line between two holes runs through wood: the far flank stands out beyond it.

    So far must the shell move before a band would hang loose. The undercut is that of the skin along the line, less
    the gap by which the shell moves before it lies on.
    """
    skin = to_manifold(shaped(name).mesh)
    for shell in shells_of(name):
        (x0, z0), (x1, z1) = (ear.hole for ear in shell.ears)
        way = outwards(shell.side)
        beyond = []
        for share in np.linspace(0.3, 0.7, 9):
            x, z = x0 + share * (x1 - x0), z0 + share * (z1 - z0)
            hits = skin.ray_cast((x, -way * 100.0, z), (x, 0.0, z))
            beyond += [100.0 * (1 - hit.distance) for hit in hits[:1]]
        band = SIZE.seam / 2 + SIZE.ear_thickness / 2
        assert max(beyond) + band - SIZE.clearance > 3.0


def test_each_ear_has_its_hole_clear_of_the_body_and_of_what_stands_out_of_it():
    for name in NAMES:
        a = shaped(name)
        for shell in {shell.ears: shell for shell in shells_of(name)}.values():
            for ear in shell.ears:
                hole = manifold3d.Manifold.cylinder(40.0, SIZE.ear_hole / 2 - 0.05, circular_segments=24, center=True)
                hole = hole.rotate((90.0, 0.0, 0.0)).translate((ear.hole[0], 0.0, ear.hole[1]))
                assert (hole ^ shell.solid).volume() < 1e-9
                assert hole.min_gap(to_manifold(a.mesh), 9.0) > 2.0
                for tool in a.tools:
                    if tool.kind in ("tie", "hanger"):
                        apart = np.array([ear.hole[0] - tool.origin[0], ear.hole[1] - tool.origin[2]])
                        out = -np.array([tool.axis[0], tool.axis[2]])
                        beside = np.linalg.norm(apart - max(apart @ out, 0.0) * out)
                        assert beside > tool.diameter / 2 + SIZE.relief + SIZE.ear_hole / 2


def facets(solid):
    mesh = to_mesh(solid)
    corner = mesh.vertices[mesh.faces]
    normal = np.cross(corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0])
    size = np.linalg.norm(normal, axis=1)
    return mesh, corner.mean(axis=1), normal / np.maximum(size, 1e-300)[:, None], size / 2


def sharpest_edge(solid):
    """The least angle of wood between two faces that meet in an edge longer than 0.2 mm [deg]."""
    mesh, _, normal, _ = facets(solid)
    faces, vertices = mesh.faces, mesh.vertices
    edges = np.sort(np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]]), axis=1)
    owner = np.tile(np.arange(len(faces)), 3)
    order = np.lexsort(edges.T)
    edge, one, other = edges[order[::2]], owner[order[::2]], owner[order[1::2]]
    apex = vertices[faces[other]].sum(axis=1) - vertices[edge].sum(axis=1)
    outward = ((apex - vertices[edge[:, 0]]) * normal[one]).sum(axis=1) < 0
    long = np.linalg.norm(vertices[edge[:, 0]] - vertices[edge[:, 1]], axis=1) > 0.2
    turn = np.degrees(np.arccos(np.clip((normal[one] * normal[other]).sum(axis=1), -1, 1)))
    return 180.0 - turn[outward & long].max()


@pytest.mark.parametrize("name", NAMES)
def test_no_wall_is_thinner_than_what_can_be_printed_and_none_runs_out_to_nothing(name):
    """Rays inwards from the middle of every fifth facet; beside an edge of less than 90 degrees they must be short.

    An edge of 50 degrees is as thick as the least wall 0.9 mm from its end; cut straight across instead of square to
    the skin, edges of a back's opening had 25 degrees.
    """
    for shell in shells_of(name)[::2]:
        _, middle, normal, area = facets(shell.solid)
        some = slice(None, None, 5)
        wall = []
        for p, n in zip(middle[some], normal[some], strict=True):
            hits = shell.solid.ray_cast(tuple(p - 1e-4 * n), tuple(p - 40.0 * n))
            wall.append(40.0 * hits[0].distance if hits else 40.0)
        assert area[some][np.array(wall) < SIZE.least_wall].sum() < 0.003 * area[some].sum()
        assert sharpest_edge(shell.solid) > 50.0


@pytest.mark.parametrize("name", NAMES)
def test_a_shell_is_open_over_its_region_on_its_own_flank_and_covers_the_rest(name):
    """Rays straight out of the skin; nearer than 0.8 mm to the region's edge, to the rim or to a stem none is asked."""
    a, view, found = of(name)
    _, middle, normal, area = facets(to_manifold(a.mesh))
    bridged = {f.where: f.remedy for f in made_for(name)[1] if f.code == "mask-bridged"}
    kept = (area > 0.01) & (np.abs(middle[:, 1]) > 1.0)
    for tool in a.tools:
        if tool.kind in ("tie", "hanger"):
            apart = middle - tool.origin
            beside = np.linalg.norm(apart - (apart @ np.array(tool.axis))[:, None] * tool.axis, axis=1)
            kept &= beside > tool.diameter / 2 + SIZE.relief + 1.0
    for shell in shells_of(name):
        region = next(region for region in found if region.name == shell.name).on[shell.side]
        if f"mask {shell.name} {shell.side}" in bridged:
            region ^= view.outline().offset(-SIZE.bridge, manifold3d.JoinType.Round)
        if f"mask {shell.name}" in bridged:
            low, high = view.x[0] + SIZE.cap, view.x[-1] - SIZE.cap
            region ^= manifold3d.CrossSection.square((high - low, 200.0)).translate((low, -100.0))
        inner, outer = (region.offset(way * 0.8, manifold3d.JoinType.Round) for way in (-1, 1))
        here = kept & (middle[:, 1] * outwards(shell.side) > 0)
        chosen = np.flatnonzero(here)[:: max(1, here.sum() // 200)]
        places = middle[chosen][:, [0, 2]]
        for i, open_there, near in zip(chosen, inside(inner, places), inside(outer, places), strict=True):
            p, n = middle[i], normal[i]
            hits = shell.solid.ray_cast(tuple(p), tuple(p + 3.0 * n))
            if open_there:
                assert not hits
            elif not near:
                assert hits


def inside(shape, points):
    """Whether points (k, 2) lie in a shape: how often a line from each to the right crosses its contours."""
    odd = np.zeros(len(points), dtype=int)
    for ring in shape.to_polygons():
        a, b = ring, np.roll(ring, -1, axis=0)
        for p, q in zip(a, b, strict=True):
            spans = (p[1] > points[:, 1]) != (q[1] > points[:, 1])
            with np.errstate(divide="ignore", invalid="ignore"):
                x = p[0] + (points[:, 1] - p[1]) / (q[1] - p[1]) * (q[0] - p[0])
            odd += spans & (points[:, 0] < x)
    return odd % 2 == 1


def test_shells_are_thin_lie_rim_down_and_say_how_they_are_held():
    found = regions([Mask("gill", "gill")], ELLIPSOID, tools())[0]
    parts = mask_shells(body(), body_skin(), ELLIPSOID, found, tools())
    assert [part.name for part in parts.parts] == ["mask gill right", "mask gill left"]
    for part in parts.parts:
        low = part.mesh.vertices.min(axis=0)
        assert low == pytest.approx((0.0, 0.0, 0.0), abs=1e-5)
        solid = to_manifold(part.mesh)
        assert solid.slice(0.05).area() > 0.9 * solid.slice(0.6).area()  # the whole rim and the ears lie on the bed
        assert "tie it to the shell of the other flank" in part.use
    one = [tool for tool in tools() if tool.kind == "eye" and tool.axis[1] < 0]
    eye = regions([Mask("eye", "eye")], ELLIPSOID, one)[0]
    (part,) = mask_shells(body(), body_skin(), ELLIPSOID, eye, one).parts
    assert part.name == "mask eye right"
    assert "rubber band from ear to ear" in part.use
    assert "tie it to" not in part.use


def test_an_opening_that_would_cut_the_shell_apart_ends_short_of_the_rim():
    found = regions([Mask("bars", "bars", low=0.0, high=1.0, count=3)], ELLIPSOID, ())[0]
    made, findings = shells(body(), body_skin(), ELLIPSOID, found, ())
    assert len(made) == 2
    assert {(f.code, f.value) for f in findings} == {("mask-bridged", SIZE.bridge)}


def test_where_paint_leaves_no_room_for_an_ear_that_is_told():
    """The back half of the body is open all round: its shell has nothing at the tail to hang an ear on."""
    found = regions([Mask("flank", "after", start=40.0, low=0.0, high=1.0)], ELLIPSOID, ())[0]
    made, findings = shells(body(), body_skin(), ELLIPSOID, found, ())
    assert [[ear.end for ear in shell.ears] for shell in made] == [["nose"], ["nose"]]
    (loose,) = (f for f in findings if f.code == "mask-loose")
    assert "tail" in loose.remedy


def test_flanks_that_differ_have_each_a_shell_that_fits():
    """On the tube the right shell stands off 11 mm at its widest, the left 3 mm, each by the clearance."""
    bars = Mask("bars", "bars", start=20.0, end=52.0, low=0.2, high=0.8, count=3, width=4.0, slant=radians(20.0))
    found, _ = regions([bars], VIEW, ())
    made, _ = shells(None, tube(), VIEW, found, ())
    for shell in made:
        low, high = np.array(shell.solid.bounding_box()).reshape(2, 3)
        reach = high[1] if shell.side == "right" else -low[1]
        assert reach == pytest.approx(HALF_WIDTHS[shell.side] + SIZE.clearance + SIZE.thickness, abs=FACETS_MM)
        assert shell.solid.min_gap(to_manifold(tube()), 0.6) == pytest.approx(SIZE.clearance, abs=FACETS_MM)
        assert high[2] > HALF_DEPTH
