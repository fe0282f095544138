"""No wall of a jig is too thin to print, and what is sunk or drilled into it has a wall all round."""

from dataclasses import replace
from functools import cache
from math import pi

import manifold3d
import numpy as np
import pytest
from amount import only_with_more
from shaped import recipe, shaped
from walls import LEAST_MM, thin_walls

from bodygen.mesh.cut import to_manifold, to_mesh
from bodygen.shop.face_label import Face, FaceLabel, Letters, letters_on
from bodygen.shop.jigs.cradle import cradles
from bodygen.shop.jigs.cradle_label import letters_of, named
from bodygen.shop.jigs.fastening import default_cradle
from bodygen.shop.jigs.print_bed import default_bed
from bodygen.shop.thin import without_thin

PLAIN = replace(default_cradle(), engraved=0.0)
"""Letters are shallow: what stands between their strokes is no wall."""


@cache
def held(name, bed=None):
    s = shaped(name)
    return cradles(recipe(name), s.body, s.mesh, s.tools, PLAIN, bed)


def test_the_rays_see_a_fin_and_a_feather_edge():
    """What the measure is worth: a plate with a fin 0.5 mm thick, and one whose edge runs out at 20 degrees."""
    plate = manifold3d.Manifold.cube((30.0, 20.0, 5.0))
    assert len(thin_walls(to_mesh(plate))[0]) == 0
    fin = plate + manifold3d.Manifold.cube((20.0, 0.5, 4.0)).translate((5.0, 5.0, 5.0))
    assert thin_walls(to_mesh(fin))[1].min() == pytest.approx(0.5, abs=0.01)
    feather = manifold3d.CrossSection([np.array([[0, 0], [20, 0], [20, 7.28]])]).extrude(10.0)
    assert thin_walls(to_mesh(feather))[1].min() < LEAST_MM


def test_fins_and_feather_edges_are_cut_away_and_thick_walls_stay():
    plate = manifold3d.Manifold.cube((40.0, 20.0, 5.0))
    thin = manifold3d.Manifold.cube((30.0, 0.9, 6.0)).translate((5.0, 4.0, 5.0))
    thick = manifold3d.Manifold.cube((30.0, 2.0, 6.0)).translate((5.0, 12.0, 5.0))
    left = without_thin(plate + thin + thick, 1.2)
    wanted, slice_high, fringe = plate.volume() + thick.volume(), 0.2, 0.8
    assert left.volume() < wanted + 30 * 0.9 * slice_high  # a foot as high as a slice at most
    assert left.volume() > wanted - (30 + 2 * fringe) * (0.9 + 2 * fringe) * slice_high  # or a groove as deep


@pytest.mark.parametrize(
    ("name", "bed"),
    [
        pytest.param("tarn-perch-70", None, marks=only_with_more),
        pytest.param("reedbed-roach-65", default_bed((80.0, 80.0, 80.0)), marks=only_with_more),
    ],
)
def test_no_wall_of_a_cradle_is_too_thin(name, bed):
    for part in held(name, bed).parts:
        where, thick = thin_walls(part.mesh)
        assert len(thick) == 0, f"{part.name}: {thick.min():.2f} mm at {where[np.argmin(thick)]}"


@only_with_more
def test_the_joints_dowels_run_into_no_other_hole():
    """Each dowel hole of a split cradle is a whole circle to its end, half a dowel deep, and closed behind."""
    bed = default_bed((80.0, 80.0, 80.0))
    pieces = [p for p in held("tarn-perch-70", bed).parts if p.name.endswith("-1")]
    assert len(pieces) == 4
    for piece in pieces:
        solid = to_manifold(piece.mesh).transform(np.array([[0.0, 1, 0, 0], [0, 0, 1, 0], [1, 0, 0, 0]]))
        end = float(piece.mesh.vertices[:, 0].max())

        def rings(depth, solid=solid, end=end):
            wanted = pi * bed.dowel.hole_radius**2
            shape = solid.slice(end - depth)
            holes = [
                manifold3d.CrossSection([r[::-1]])
                for r in shape.to_polygons()
                if manifold3d.CrossSection([r[::-1]]).area() > 0
            ]
            return [h.bounds() for h in holes if h.area() == pytest.approx(wanted, rel=0.02)]

        deep = bed.dowel_length / 2
        assert len(rings(0.5)) >= 1
        assert len(rings(deep / 2)) == len(rings(deep - 0.3)) == len(rings(0.5))
        assert rings(deep + bed.dowel.clearance + 0.5) == []


@only_with_more
def test_every_cradle_says_what_it_is_and_which_end_and_side_is_which():
    """Lettered and plain ones differ by shallow cuts in the long sides, at both ends and between; none is left out."""
    s = shaped("tarn-perch-70")
    named = cradles(recipe("tarn-perch-70"), s.body, s.mesh, s.tools)
    assert "jig-no-label" not in {f.code for f in named.findings}
    for lettered_part, plain in zip(named.parts, held("tarn-perch-70").parts, strict=True):
        cut = to_manifold(plain.mesh) - to_manifold(lettered_part.mesh)
        if lettered_part.name == "vise-rail":
            continue
        strokes = [np.array(piece.bounding_box()).reshape(2, 3) for piece in cut.decompose() if piece.volume() > 0.3]
        assert len(strokes) > 20  # NOSE, TAIL, a side and a name
        length, width, _ = plain.mesh.vertices.max(axis=0)
        for low, high in strokes:
            assert high[2] < plain.mesh.vertices[:, 2].max()
            assert high[1] < default_cradle().engraved + 0.01 or low[1] > width - default_cradle().engraved - 0.01
        assert min(low[0] for low, _ in strokes) < 20
        assert max(high[0] for _, high in strokes) > length - 20


def test_a_label_finds_the_nearest_room_and_says_when_there_is_none():
    x, _, z = np.eye(3)
    plate = manifold3d.Manifold.cube((60.0, 5.0, 10.0)) - manifold3d.Manifold.cylinder(20.0, 4.0, 4.0, 48).rotate((
        90,
        0,
        0,
    )).translate((30.0, 10.0, 5.0))
    letters = Letters(4.0, 2.6, 0.6, 1.2)
    face = Face(0.0 * x, x, z)
    tools, left = letters_on(plate, [face], [FaceLabel(("NOSE",), 30.0, 60.0)], letters)
    assert left == ()
    box = (plate ^ tools[0]).bounding_box()
    assert box[3] < 30.0 - 4.0 - 1.1 or box[0] > 30.0 + 4.0 + 1.1  # beside the hole, a wall between
    assert letters_on(plate, [face], [FaceLabel(("FAR TOO LONG FOR THIS",), 30.0, 60.0)], letters)[1]


def test_a_cradles_name_goes_on_its_end_where_its_sides_have_no_room():
    """A piece of 50 x 28 x 14 mm: NOSE, TAIL and a side fill its long faces; the name stands on the end."""
    piece = manifold3d.Manifold.cube((50.0, 28.0, 14.0))
    marked, checks = named(piece, "belly-up", "Reed", (2, 2), letters_of(default_cradle()))
    assert checks == []
    on_the_end = [p for p in (piece - marked).decompose() if p.bounding_box()[3] < default_cradle().engraved + 0.01]
    assert len(on_the_end) > 10
