"""Cutting at the water: exact, against another library's cutting and against closed forms."""

import numpy as np
import pytest
import trimesh
from trimesh.intersections import slice_mesh_plane

from bodygen.flotation import blocks
from bodygen.flotation.hull import PointVolume, Shell, build_hull
from bodygen.flotation.immersion import centre_of_buoyancy, height_range, horizontal_axes, immerse, immerse_volume


def unit(rng, count):
    up = rng.normal(size=(count, 3))
    return up / np.linalg.norm(up, axis=1)[:, None]


@pytest.mark.parametrize("few", [0, 10_000], ids=["boxes that are met", "all boxes"])
def test_the_wet_part_is_what_another_library_cuts_off(dented, monkeypatch, few):
    """trimesh slices and caps; nothing is capped here. However small a hull is, both ways to cut it are right."""
    monkeypatch.setattr(blocks, "FEW_BOXES", few)
    rng = np.random.default_rng(5)
    vertices, faces = dented(rng, 3)
    hull, mesh = build_hull([Shell(vertices, faces)]), trimesh.Trimesh(vertices, faces, process=False)
    up = unit(rng, 12)
    height = up @ hull.centroid + rng.uniform(-4, 4, 12)
    cut = immerse(hull, up, height)
    for k, centre in enumerate(centre_of_buoyancy(hull, cut)):
        wet = slice_mesh_plane(mesh, -up[k], up[k] * height[k], cap=True)
        assert cut.volume[k] == pytest.approx(wet.volume, rel=1e-9)
        assert centre == pytest.approx(wet.center_mass, abs=1e-7)
        section = mesh.section(up[k], up[k] * height[k]).to_2D()[0]
        assert cut.area[k] == pytest.approx(section.area, rel=1e-9)


def test_waterplane_of_a_box_is_its_rectangle():
    """A = l w, I = l w^3 / 12 and w l^3 / 12, and the plane through a row of vertices gives all or nothing."""
    mesh = trimesh.creation.box((60, 20, 10))
    hull = build_hull([Shell(np.array(mesh.vertices), np.array(mesh.faces))])
    up = np.repeat([[0.0, 0.0, 1.0]], 3, axis=0)
    cut = immerse(hull, up, np.array([1.0, -5.0, 5.0]))
    assert cut.volume == pytest.approx([60 * 20 * 6, 0, 60 * 20 * 10], rel=1e-12)
    assert cut.area[0] == pytest.approx(1200, rel=1e-12)
    assert cut.area_seconds[0] == pytest.approx(np.diag([20 * 60**3 / 12, 60 * 20**3 / 12]), rel=1e-12)
    assert centre_of_buoyancy(hull, cut)[0] == pytest.approx([0, 0, -2], abs=1e-12)
    assert np.isnan(centre_of_buoyancy(hull, cut)[1]).all()


def test_a_plane_through_vertices_gives_the_limit_of_planes_beside_it(ball):
    """Every direction to a vertex of the sphere, the plane exactly at that vertex and a hair to either side."""
    vertices, faces = ball(2)
    hull = build_hull([Shell(vertices * [40, 15, 10], faces)])
    up = np.repeat([[0.0, 0.0, 1.0]], len(vertices), axis=0)
    at = 10 * vertices[:, 2]
    inside = np.abs(at) < 9.9
    here, low, high = (immerse(hull, up[inside], at[inside] + d) for d in (0.0, -1e-9, 1e-9))
    assert here.volume == pytest.approx(low.volume, abs=1e-5)
    assert here.volume == pytest.approx(high.volume, abs=1e-5)
    assert here.area == pytest.approx((low.area + high.area) / 2, rel=1e-6)


def test_the_order_of_triangles_does_not_matter(dented):
    rng = np.random.default_rng(6)
    vertices, faces = dented(rng, 3)
    shuffled = np.roll(rng.permutation(faces), 1, axis=1)
    up = unit(rng, 5)
    one, two = (build_hull([Shell(vertices, f)]) for f in (faces, shuffled))
    height = up @ one.centroid
    for name in ("volume", "moments", "area", "area_firsts", "area_seconds"):
        expected = getattr(immerse(one, up, height), name)
        assert getattr(immerse(two, up, height), name) == pytest.approx(expected, rel=1e-9, abs=1e-9)


def test_wet_and_dry_parts_add_up_to_the_whole(dented):
    """Archimedes' sums: volume and first moment below, plus those below for the opposite up, are the hull's."""
    rng = np.random.default_rng(7)
    hull = build_hull([Shell(*dented(rng, 3))], [PointVolume(300.0, (40.0, 1.0, 2.0))])
    up = unit(rng, 6)
    height = up @ hull.centroid + rng.uniform(-3, 3, 6)
    wet, dry = immerse(hull, up, height), immerse(hull, -up, -height)
    assert wet.volume + dry.volume == pytest.approx([hull.volume] * 6, rel=1e-12)
    first = (c.volume[:, None] * centre_of_buoyancy(hull, c) for c in (wet, dry))
    assert sum(first) == pytest.approx(np.repeat([hull.volume * hull.centroid], 6, axis=0), rel=1e-9)
    assert wet.area == pytest.approx(dry.area, rel=1e-9)


def test_a_small_volume_sinks_in_like_a_ball(ball):
    """Archimedes, On the Sphere and Cylinder: a cap holds pi d^2 (3r - d) / 3; centre 3(2r - d)^2 / (4(3r - d))."""
    vertices, faces = ball(1)
    far = Shell(vertices + np.array([1000.0, 0, 500]), faces)  # dry throughout
    r, d = 3.0, 1.7
    hull = build_hull([far], [PointVolume(4 / 3 * np.pi * r**3, (5.0, 6.0, 7.0))])
    cut = immerse(hull, np.array([[0.0, 0.0, 1.0]]), np.array([7.0 - r + d]))
    assert cut.volume[0] == pytest.approx(np.pi * d**2 * (3 * r - d) / 3, rel=1e-9)
    below = 3 * (2 * r - d) ** 2 / (4 * (3 * r - d))
    assert centre_of_buoyancy(hull, cut)[0] == pytest.approx([5, 6, 7 - below], abs=1e-7)
    assert cut.area[0] == pytest.approx(np.pi * d * (2 * r - d), rel=1e-9)


@pytest.mark.parametrize("level", [-20.0, -6.0, -2.0, 0.5, 3.9, 20.0])
def test_balls_over_under_and_cut_by_the_water_are_their_discs_summed(ball, level):
    """Two balls beside a dry shell, tilted water: discs pi (r^2 - t^2) of 40,000 slices, and the circles at the cut.

    The midpoint rule over so many slices misses a cubic by 1e-9 of the whole; a circle has rho^2/4 each way.
    """
    vertices, faces = ball(1)
    up = np.array([[0.48, -0.6, 0.64]])
    far = Shell(vertices + 4000.0 * up, faces)  # dry throughout, so every sum is the balls' own
    balls = [(4.0, np.array([5.0, 6.0, 1.0])), (2.5, np.array([-8.0, 1.0, 3.0]))]
    hull = build_hull([far], [PointVolume(4 / 3 * np.pi * r**3, tuple(c)) for r, c in balls])
    cut = immerse(hull, up, np.array([level]))
    axes = np.stack([cut.along[0], cut.across[0], up[0]])
    volume, moments, area, firsts, seconds = 0.0, np.zeros(3), 0.0, np.zeros(2), np.zeros((2, 2))
    for r, centre in balls:
        at = axes @ (centre - hull.origin)
        at[2] = up[0] @ centre - level  # over the water
        top = np.clip(-at[2], -r, r)
        t = -r + (np.arange(40_000) + 0.5) / 40_000 * (top + r)
        discs = np.pi * (r**2 - t**2) * (top + r) / 40_000
        volume += discs.sum()
        moments += [discs.sum() * at[0], discs.sum() * at[1], discs @ (at[2] + t)]
        circle = np.pi * (r**2 - top**2)
        area += circle
        firsts += circle * at[:2]
        seconds += circle * (np.outer(at[:2], at[:2]) + (r**2 - top**2) / 4 * np.eye(2))
    assert (cut.volume[0], cut.area[0]) == pytest.approx((volume, area), rel=1e-8, abs=1e-6)
    assert cut.moments[0] == pytest.approx(moments, rel=1e-8, abs=1e-3)
    assert cut.area_firsts[0] == pytest.approx(firsts, rel=1e-8, abs=1e-3)
    assert cut.area_seconds[0] == pytest.approx(seconds, rel=1e-8, abs=1e-3)


@pytest.mark.parametrize("side", [1.0, -1.0])
def test_the_water_meets_the_hull_from_its_lowest_ball_to_its_highest(side):
    """A box from -5 to 5, a ball of radius 2 at 9 over it or under it, a small one within: by hand."""
    mesh = trimesh.creation.box((60, 20, 10))
    balls = [PointVolume(4 / 3 * np.pi * 8, (0.0, 0.0, 9.0 * side)), PointVolume(4.0, (20.0, 0.0, 0.0))]
    hull = build_hull([Shell(np.array(mesh.vertices), np.array(mesh.faces))], balls)
    low, high = height_range(hull, np.array([[0.0, 0.0, 1.0]]))
    # the box's own bounds are those of boxes round its triangles: never within it
    assert (low[0], high[0]) == pytest.approx((-5.0, 11.0) if side > 0 else (-11.0, 5.0), abs=1e-9)
    for share in (1e-3, 0.999):  # only a ball is cut
        cut = immerse_volume(hull, np.array([[0.0, 0.0, side]]), share * hull.volume)
        assert cut.volume[0] == pytest.approx(share * hull.volume, rel=1e-11)


def test_a_volume_is_found_in_every_direction(dented):
    rng = np.random.default_rng(8)
    hull = build_hull([Shell(*dented(rng, 3))])
    for share in (1e-4, 0.3, 0.9999):
        cut = immerse_volume(hull, unit(rng, 9), share * hull.volume)
        assert cut.volume == pytest.approx([share * hull.volume] * 9, rel=1e-11)


def test_horizontal_axes_are_right_handed_also_with_the_nose_straight_up_or_down():
    up = np.concatenate([unit(np.random.default_rng(9), 4), [[-1.0, 0, 0], [1.0, 0, 0]]])
    along, across = horizontal_axes(up)
    frames = np.stack([along, across, up], axis=1)
    assert frames @ frames.transpose(0, 2, 1) == pytest.approx(np.repeat([np.eye(3)], 6, axis=0), abs=1e-12)
    assert np.linalg.det(frames) == pytest.approx(np.ones(6))
    assert along[4:] == pytest.approx(np.array([[0, 0, 1], [0, 0, -1]]))
