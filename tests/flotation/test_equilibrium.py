"""Attitudes: at rest, never a saddle, all of them, once each."""

import dataclasses
import math

import numpy as np
import pytest
import trimesh
from amount import MORE
from trimesh.intersections import slice_mesh_plane

from bodygen.errors import DesignError
from bodygen.flotation.energy_minimiser import minimise, slope
from bodygen.flotation.equilibrium import find_attitudes, moment_n_mm, spread_of_directions
from bodygen.flotation.hull import PointVolume, Shell, build_hull
from bodygen.flotation.immersion import centre_of_buoyancy, immerse


def box(length, width, depth):
    mesh = trimesh.creation.box((length, width, depth))
    return Shell(np.array(mesh.vertices), np.array(mesh.faces))


def test_random_bodies_rest_without_moment_and_never_on_a_saddle(dented):
    """Residual moment below 1e-6 N mm, asked of the whole program, from level and from six more directions each."""
    rng = np.random.default_rng(12)
    starts = np.concatenate([[[0.0, 0.0, 1.0]], spread_of_directions(12)[6:]])
    for _ in range(500 if MORE else 150):
        hull = build_hull([Shell(*dented(rng, 1))])
        volume = rng.uniform(0.03, 0.985) * hull.volume
        centre = hull.centroid + rng.normal(size=3) * [4, 1.5, 2]
        rest = minimise(hull, starts, centre, volume, 0.3)
        cut = immerse(hull, rest.up, rest.height)
        levers = np.linalg.norm(np.cross(centre - centre_of_buoyancy(hull, cut), rest.up), axis=1)
        assert rest.settled.all()
        assert moment_n_mm(volume / 1000, levers.max()) < 1e-6
        assert np.linalg.eigvalsh(slope(hull, cut, centre, volume).stiffness).min() > 0
        assert cut.volume == pytest.approx([volume] * 7, rel=1e-9)


def test_what_is_told_of_an_attitude_is_stable_and_carries_the_mass(dented):
    rng = np.random.default_rng(16)
    for _ in range(40):
        hull = build_hull([Shell(*dented(rng, 1))])
        mass = rng.uniform(0.03, 0.985) * hull.volume / 1000
        answer = find_attitudes(hull, mass, hull.centroid + rng.normal(size=3) * [4, 1.5, 2], 1.0)
        for attitude in (answer.attitude, *answer.others):
            assert attitude.stable
            assert attitude.residual_n_mm < 1e-6
            assert attitude.submerged_cm3 == pytest.approx(mass, rel=1e-9)


def test_twenty_bodies_balance_by_another_library(dented):
    """trimesh cuts and caps the body at the attitude found: volume and centre of buoyancy must balance the weight."""
    rng = np.random.default_rng(13)
    for _ in range(20):
        vertices, faces = dented(rng, 3)
        hull, mesh = build_hull([Shell(vertices, faces)]), trimesh.Trimesh(vertices, faces, process=False)
        mass, centre = rng.uniform(0.2, 0.9) * hull.volume / 1000, hull.centroid + rng.normal(size=3) * [4, 1.5, 2]
        attitude = find_attitudes(hull, mass, centre, 1.0).attitude
        up = np.array(attitude.up)
        wet = slice_mesh_plane(mesh, -up, up * attitude.water_height, cap=True)
        assert wet.volume == pytest.approx(1000 * mass, rel=1e-8)
        assert np.linalg.norm(np.cross(wet.center_mass - centre, up)) < 1e-6
        assert attitude.centre_of_buoyancy == pytest.approx(tuple(wet.center_mass), abs=1e-6)
        section = mesh.section(up, up * attitude.water_height).to_2D()[0]
        assert attitude.waterplane_cm2 == pytest.approx(section.area / 100, rel=1e-8)


def test_every_start_on_the_full_hull_ends_at_an_attitude_that_is_listed(dented):
    """The first look is on a coarse hull; 100 starts on the full one must not find more."""
    rng = np.random.default_rng(14)
    for _ in range(5):
        hull = build_hull([Shell(*dented(rng, 4))])
        volume, centre = rng.uniform(0.1, 0.9) * hull.volume, hull.centroid + rng.normal(size=3) * [4, 1.5, 2]
        answer = find_attitudes(hull, volume / 1000, centre, 1.0)
        listed = np.array([a.up for a in (answer.attitude, *answer.others)])
        rest = minimise(hull, spread_of_directions(100), centre, volume, 0.5)
        assert rest.settled.all()
        assert (rest.up @ listed.T).max(axis=1).min() > math.cos(math.radians(0.5))


def test_the_answer_does_not_depend_on_the_order_of_triangles(dented):
    rng = np.random.default_rng(15)
    vertices, faces = dented(rng, 3)
    mass, centre = 9.0, vertices.mean(axis=0) + np.array([3, 0.5, -1])
    one, two = (
        find_attitudes(build_hull([Shell(vertices, f)]), mass, centre, 1.0) for f in (faces, rng.permutation(faces))
    )
    for a, b in zip((one.attitude, *one.others), (two.attitude, *two.others), strict=True):
        assert a.up == pytest.approx(b.up, abs=1e-7)
        assert (a.gm_mm, a.gml_mm) == pytest.approx((b.gm_mm, b.gml_mm), abs=1e-5)


def test_a_body_on_a_ridge_falls_to_the_same_side_every_time():
    """A square log at half its density rolls 45 degrees; let go level it tells the right side up."""
    for turn in range(3):
        shell = box(100, 20, 20)
        hull = build_hull([dataclasses.replace(shell, faces=np.roll(shell.faces, turn, axis=0))])
        answer = find_attitudes(hull, 0.5 * hull.volume / 1000, (0.0, 0.0, 0.0), 1.0)
        assert answer.attitude.roll_deg == pytest.approx(45.0, abs=1e-6)


def test_mirror_images_are_told_once_and_lopsided_rests_apart():
    """The weight off the middle makes the two sides two different rests."""
    hull = build_hull([box(100, 20, 20)])
    even = find_attitudes(hull, 0.4 * hull.volume / 1000, (0.0, 0.0, 0.0), 1.0)
    lopsided = find_attitudes(hull, 0.4 * hull.volume / 1000, (0.0, 0.3, 0.0), 1.0)
    assert [round(a.roll_deg) for a in (even.attitude, *even.others)] == [45, 135]
    assert len(lopsided.others) == 3
    assert {math.copysign(1, a.roll_deg) for a in (lopsided.attitude, *lopsided.others)} == {1.0, -1.0}


def test_of_a_body_that_is_hardly_lopsided_no_rest_is_told_twice():
    """The sides lie within half a degree of being mirror images, one 0.017 mm lower: both are told, and told apart."""
    hull = build_hull([box(100, 20, 20)])
    answer = find_attitudes(hull, 0.4 * hull.volume / 1000, (0.0, 0.012, 0.0), 1.0)
    rolls = [a.roll_deg for a in (answer.attitude, *answer.others)]
    assert sorted(round(roll) for roll in rolls) == [-135, -45, 45, 135]


@pytest.mark.parametrize("off", [(0.3, 0.1), (-0.3, 0.1), (0.1, -0.3), (-0.1, -0.3)])
def test_the_other_rests_are_told_the_lower_their_energy_the_sooner(off):
    """A square log rests on each of its edges; the deeper its weight lies the lower (statics)."""
    hull = build_hull([box(100, 20, 20)])
    volume, centre = 0.4 * hull.volume, np.array([0.0, *off])
    others = find_attitudes(hull, volume / 1000, centre, 1.0).others
    cut = immerse(hull, np.array([a.up for a in others]), np.array([a.water_height for a in others]))
    assert len(others) == 3
    assert (np.diff(slope(hull, cut, centre, volume).energy) > 0).all()
    assert (np.diff([centre @ a.up for a in others]) > 0).all()  # B lies in the same place under each edge


def test_without_others_the_first_answer_is_the_same(dented):
    hull = build_hull([Shell(*dented(np.random.default_rng(17), 3))])
    said = hull, 0.6 * hull.volume / 1000, hull.centroid + np.array([2.0, 0.5, -1.0]), 1.0
    alone = find_attitudes(*said, others=False)
    assert alone.attitude == find_attitudes(*said).attitude
    assert alone.others == ()


def test_wholly_under_the_centre_of_mass_hangs_below_the_centre_of_buoyancy():
    hull = build_hull([box(80, 20, 20)])
    answer = find_attitudes(hull, 40.0, (3.0, 0.0, -4.0), 1.0)
    attitude = answer.attitude
    assert (answer.state, answer.others) == ("sinks", ())
    assert answer.reserve_g == pytest.approx(-8.0)
    assert attitude.up == pytest.approx((-0.6, 0.0, 0.8))
    assert (attitude.pitch_deg, attitude.roll_deg) == pytest.approx((math.degrees(math.asin(0.6)), 0.0))
    assert (attitude.gm_mm, attitude.gml_mm) == pytest.approx((5.0, 5.0))
    assert (attitude.freeboard_mm, attitude.water_height, attitude.waterplane_cm2) == (None, None, 0.0)


@pytest.mark.parametrize(
    ("mass", "state"), [(31.83, "floats"), (31.85, "suspends"), (32.15, "suspends"), (32.17, "sinks")]
)
def test_the_band_of_suspending_is_half_a_percent_of_the_water_displaced(mass, state):
    """32 g of water; fresh water itself changes by 0.43 % from 4 to 30 C (Tanaka 2001)."""
    hull = build_hull([box(80, 20, 20)])
    assert find_attitudes(hull, mass, (0.0, 0.0, -2.0), 1.0).state == state


def test_just_afloat_and_just_wet_are_found(ball):
    """0.6 % of the body out of the water, and 0.3 % in it: shallow caps of a flat ellipsoid, weight low."""
    vertices, faces = ball(4)
    hull = build_hull([Shell(vertices * [40, 15, 12], faces)])
    for share in (0.994, 0.003):
        attitude = find_attitudes(hull, share * hull.volume / 1000, (0.0, 0.0, -3.0), 1.0).attitude
        assert attitude.residual_n_mm < 1e-6
        assert (attitude.pitch_deg, attitude.roll_deg) == pytest.approx((0.0, 0.0), abs=0.05)


def test_two_bodies_apart_and_a_void_float_as_one(ball):
    """A float on a stalk too thin to draw: with the gap between them at the water there is no waterplane at all."""
    vertices, faces = ball(2)
    shells = [Shell(vertices * [40, 12, 15], faces), Shell(vertices * 5 + [0, 0, 40], faces)]
    lower = build_hull(shells[:1]).volume
    answer = find_attitudes(build_hull(shells), lower / 1000, (0.0, 0.0, -5.0), 1.0)
    assert answer.attitude.pitch_deg == pytest.approx(0.0, abs=1e-6)
    assert answer.attitude.gm_mm == pytest.approx(5.0, abs=1e-6)
    void = Shell(vertices * [10, 4, 4], faces, share=-1)
    flooded = build_hull([*shells[:1], void], [PointVolume(20.0, (0.0, 0.0, -15.0))])
    assert find_attitudes(flooded, 0.5 * lower / 1000, (0.0, 0.0, -2.0), 1.0).attitude.residual_n_mm < 1e-6


def test_no_direction_at_all_stays_level():
    """Centre of mass and centre of buoyancy in one place, wholly under: nothing turns it."""
    hull = build_hull([box(80, 20, 20)])
    attitude = find_attitudes(hull, 40.0, hull.centroid, 1.0).attitude
    assert (attitude.pitch_deg, attitude.roll_deg, attitude.gm_mm) == (0.0, 0.0, pytest.approx(0.0, abs=1e-9))


@pytest.mark.parametrize(
    ("mass", "centre", "water", "text"),
    [
        (0.0, (0, 0, 0), 1.0, "a body of 0.0 g in water of 1.0 g/cm3 cannot be floated: both must be positive"),
        (1.0, (0, 0, 0), math.nan, "a body of 1.0 g in water of nan g/cm3 cannot be floated: both must be positive"),
        (1.0, (0, 0, math.inf), 1.0, "the centre of mass (0, 0, inf) is not a place"),
    ],
)
def test_nonsense_is_refused(mass, centre, water, text):
    with pytest.raises(DesignError) as caught:
        find_attitudes(build_hull([box(8, 2, 2)]), mass, centre, water)
    assert str(caught.value) == text
