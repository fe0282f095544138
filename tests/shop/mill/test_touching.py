"""Where a cutter touches: closed forms, a foreign drop cutter, and places close together against places alone."""

from functools import cache
from math import cos, sin, sqrt, tan

import manifold3d
import numpy as np
import pytest
from carved import body_skin

from bodygen.mesh.cut import to_manifold, to_mesh
from bodygen.mesh.skin import Mesh
from bodygen.shop.mill import touching
from bodygen.shop.mill.carving_setup import lying
from bodygen.shop.mill.cutters import cutter_named
from bodygen.shop.mill.drop_cutter import heights, surface_of
from bodygen.shop.mill.touching import facets_of, tips

FLAT, BALL = cutter_named("flat_3"), cutter_named("ball_3")
BOTH = pytest.mark.parametrize("cutter", [FLAT, BALL], ids=["flat", "ball"])


@cache
def half_body():
    """Half an ellipsoid with a leaning bore and a slot, flat side down: bulges, kinks, walls, floors."""
    half = to_manifold(lying(body_skin())).trim_by_plane((0.0, 0.0, 1.0), 0.0)
    low, high = half.bounding_box()[:3], half.bounding_box()[3:]
    middle = [(a + b) / 2 for a, b in zip(low, high, strict=True)]
    bore = (
        manifold3d.Manifold
        .cylinder(30.0, 2.5, 2.5, 40)
        .rotate((25.0, 10.0, 0.0))
        .translate((middle[0], middle[1], 3.0))
    )
    slot = (
        manifold3d.Manifold.cube((1.5, 60.0, 60.0)).rotate((0.0, 20.0, 0.0)).translate((middle[0] + 18.0, low[1], 2.0))
    )
    return to_mesh(half - bore - slot)


def scattered(count, mesh, seed):
    """Over a mesh and a little beside it."""
    low, high = mesh.vertices.min(axis=0)[:2] - 4.0, mesh.vertices.max(axis=0)[:2] + 4.0
    return np.random.default_rng(seed).uniform(low, high, (count, 2))


def soup(seed):
    """Triangles anyhow, most of them slivers, steep or below one another."""
    corners = np.random.default_rng(seed).uniform((0, 0, 0), (9.0, 9.0, 3.0), (120, 3, 3))
    corners[::7, 1:, :2] = corners[::7, :1, :2]  # upright ones
    corners[::5, :, 2] = corners[::5, :1, 2]  # level ones
    return Mesh(corners.reshape(-1, 3), np.arange(360).reshape(-1, 3))


def test_a_ball_stands_on_a_plane_and_on_an_edge_as_geometry_says():
    """Tip at the plane; beside a square edge the ball's own circle: z = h - r + sqrt(r^2 - d^2)."""
    box = to_mesh(manifold3d.Manifold.cube((20.0, 20.0, 5.0)))
    d = 0.8
    found = heights(surface_of(box, BALL, -4.0), np.array([[10.0, 10.0], [20.0 + d, 10.0], [40.0, 10.0]]))
    assert found[:, 0] == pytest.approx([5.0, 5.0 - BALL.radius + sqrt(BALL.radius**2 - d**2), -4.0])
    assert found[0, 1:] == pytest.approx([0.0, 0.0, 1.0])
    assert found[1, 1:] == pytest.approx([d / BALL.radius, 0.0, sqrt(1 - (d / BALL.radius) ** 2)])
    assert np.isnan(found[2, 1:]).all()


def test_on_a_slope_a_ball_stands_square_to_it_and_a_flat_end_on_its_rim():
    """On a plane leaning by a the ball's tip is r (1 / cos a - 1) above it, that of a flat end r tan a. Elementary."""
    lean = 0.6
    rise = 40.0 * tan(lean)
    plane = Mesh(np.array([[0, 0, 0], [40, 0, rise], [40, 40, rise], [0, 40, 0]]), np.array([[0, 1, 2], [0, 2, 3]]))
    under = 20.0 * tan(lean)
    ball, flat = (heights(surface_of(plane, cutter, -9.0), np.array([[20.0, 19.0]]))[0] for cutter in (BALL, FLAT))
    assert ball[0] == pytest.approx(under + BALL.radius * (1 / cos(lean) - 1), abs=1e-12)
    assert ball[1:] == pytest.approx([-sin(lean), 0.0, cos(lean)])
    assert flat[0] == pytest.approx(under + FLAT.radius * tan(lean), abs=1e-12)


def test_in_a_groove_a_ball_hangs_between_both_edges():
    """Two square edges 2 d apart: the ball's middle hangs sqrt(r^2 - d^2) above them. Elementary."""
    wall = manifold3d.Manifold.cube((30.0, 10.0, 4.0))
    d = 1.1
    grooved = to_mesh(wall + wall.translate((0.0, 10.0 + 2 * d, 0.0)))
    (tip, *_), (outside, *_) = heights(
        surface_of(grooved, BALL, 0.0), np.array([[15.0, 10.0 + d], [15.0, -BALL.radius - 0.01]])
    )
    assert tip == pytest.approx(4.0 - BALL.radius + sqrt(BALL.radius**2 - d**2), abs=1e-12)
    assert outside == 0.0


@BOTH
@pytest.mark.parametrize("mesh", [half_body, lambda: soup(1), lambda: soup(2)], ids=["body", "soup 1", "soup 2"])
def test_a_foreign_drop_cutter_finds_the_same_heights(cutter, mesh):
    """opencamlib 2023.1.11. To 1e-7 mm: it has tolerances of its own where a contact lies on the rim of a triangle."""
    library = pytest.importorskip("opencamlib")
    mesh, lowest = mesh(), 0.25
    places = scattered(1500, mesh, 5)
    theirs = library.BatchDropCutter()
    theirs.setThreads(1)
    skin = library.STLSurf()
    up = tips(facets_of(mesh, cutter.radius, ball=cutter is BALL), places, lowest)
    for corners in facets_of(mesh, cutter.radius, ball=cutter is BALL).corners.tolist():
        skin.addTriangle(library.Triangle(*(library.Point(*corner) for corner in corners)))
    theirs.setSTL(skin)
    theirs.setCutter((library.BallCutter if cutter is BALL else library.CylCutter)(cutter.diameter, 200.0))
    for x, y in places.tolist():
        theirs.appendPoint(library.CLPoint(x, y, lowest))
    theirs.run()
    np.testing.assert_allclose(up[0], [point.z for point in theirs.getCLPoints()], atol=1e-7)
    assert 0.02 < (up[0] == lowest).mean() < 0.9


@BOTH
@pytest.mark.parametrize("seed", [3, 4])
def test_a_cutter_touches_and_goes_into_nothing(cutter, seed):
    """Points all over the triangles: none of them lies in the cutter, and what it touches lies on its skin."""
    mesh = soup(seed)
    facets = facets_of(mesh, cutter.radius, ball=cutter is BALL)
    places = scattered(60, mesh, seed)
    tip, touch = tips(facets, places, -5.0)
    share = np.random.default_rng(seed).dirichlet((0.4, 0.4, 0.4), (len(facets.corners), 400))
    points = np.einsum("tsc,tcx->tsx", share, facets.corners).reshape(-1, 3)

    def end(away):
        """Height of the cutter's end over its tip, so far from its axis; nothing beyond its radius."""
        bowl = cutter.radius - np.sqrt(np.maximum(cutter.radius**2 - away**2, 0.0)) if cutter is BALL else 0.0 * away
        return np.where(away <= cutter.radius, bowl, np.inf)

    away = np.linalg.norm(points[None, :, :2] - places[:, None], axis=2)
    assert (tip[:, None] + end(away) >= points[None, :, 2] - 1e-9).all()
    touched = tip > -5.0
    rim = np.minimum(np.linalg.norm(touch[touched, :2] - places[touched], axis=1), cutter.radius)
    np.testing.assert_allclose(tip[touched] + end(rim), touch[touched, 2], atol=1e-6)


@BOTH
def test_places_are_touched_alone_as_they_are_among_many(cutter, monkeypatch):
    """On the skin, at its edge, and beside it where nothing is; few pairs at once, as over many triangles."""
    mesh = half_body()
    surface = surface_of(mesh, cutter, -5.0)
    places = scattered(300, mesh, 3)
    many = heights(surface, places)
    np.testing.assert_array_equal(np.concatenate([heights(surface, some) for some in np.split(places, 100)]), many)
    monkeypatch.setattr(touching, "_AT_ONCE", 50)
    np.testing.assert_array_equal(heights(surface, places), many)
    assert 0.1 < np.isnan(many[:, 1]).mean() < 0.9


def test_no_place_and_no_triangle_is_no_work():
    assert heights(surface_of(half_body(), BALL, 0.0), np.empty((0, 2))).shape == (0, 4)
    down = Mesh(np.array([[0.0, 0, 0], [0, 9, 0], [9, 0, 0]]), np.array([[0, 1, 2]]))
    np.testing.assert_array_equal(heights(surface_of(down, BALL, -1.0), np.array([[2.0, 2.0]]))[0], [-1, *[np.nan] * 3])
