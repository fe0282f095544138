"""Energy and its derivatives, and the way down."""

import numpy as np
import pytest
import trimesh

from bodygen.flotation.energy_minimiser import minimise, slope, turned
from bodygen.flotation.equilibrium import spread_of_directions
from bodygen.flotation.hull import PointVolume, Shell, build_hull
from bodygen.flotation.immersion import immerse_volume


@pytest.fixture
def dory(dented):
    rng = np.random.default_rng(11)
    hull = build_hull([Shell(*dented(rng, 4))], [PointVolume(400.0, (30.0, 0.0, -5.0))])
    return hull, hull.centroid + np.array([2.0, 1.0, -1.5]), 0.45 * hull.volume


def test_turning_and_stiffness_are_the_derivatives_of_the_energy(dory):
    """Central differences over 1e-4 rad along geodesics at constant volume: error of the order of 1e-8 and 1e-4."""
    hull, centre, volume = dory
    step = 1e-4
    for up in spread_of_directions(12)[6:]:
        cut = immerse_volume(hull, up[None], volume)
        here = slope(hull, cut, centre, volume)
        ways = np.array([[1, 0], [-1, 0], [0, 1], [0, -1], [1, 1], [-1, -1]]) * step
        tangent = ways[:, :1] * cut.along + ways[:, 1:] * cut.across
        around = immerse_volume(hull, turned(np.repeat(up[None], 6, axis=0), tangent), volume)
        e, e0 = slope(hull, around, centre, volume).energy, here.energy[0]
        assert here.turning[0] == pytest.approx([(e[0] - e[1]) / (2 * step), (e[2] - e[3]) / (2 * step)], abs=1e-6)
        aa, bb, both = ((e[k] + e[k + 1] - 2 * e0) / step**2 for k in (0, 2, 4))
        ab = (both - aa - bb) / 2
        assert here.stiffness[0] == pytest.approx(np.array([[aa, ab], [ab, bb]]), abs=2e-3 * hull.size)


def test_every_start_comes_to_rest_off_a_saddle(dory):
    hull, centre, volume = dory
    rest = minimise(hull, spread_of_directions(60), centre, volume, 0.5)
    assert rest.settled.all()
    here = slope(hull, immerse_volume(hull, rest.up, volume), centre, volume)
    assert np.abs(here.turning).max() < 1e-8 * hull.size
    assert np.linalg.eigvalsh(here.stiffness).min() > 0


def test_directions_are_unit_vectors_and_spread_evenly():
    up = spread_of_directions(200)
    assert np.linalg.norm(up, axis=1) == pytest.approx(np.ones(200))
    nearest = np.sort(up @ up.T, axis=1)[:, -2]
    assert np.degrees(np.arccos(nearest)).max() < 20


@pytest.mark.parametrize(
    ("sizes", "start", "fallen"),
    [
        ((90.0, 20.0, 20.0), (0.0, 0.0, 1.0), (0.0, 1.0, 1.0)),
        ((20.0, 90.0, 20.0), (0.0, 0.0, 1.0), (1.0, 0.0, 1.0)),
        ((20.0, 90.0, 20.0), (1.0, 0.0, 0.0), (1.0, 0.0, 1.0)),
        ((90.0, 20.0, 20.0), (0.0, 0.0, -1.0), (0.0, 1.0, -1.0)),
    ],
    ids=["rolls right side up", "pitches nose down", "upright comes back up", "upside down"],
)
@pytest.mark.parametrize("half", [0, 1, 2, 3])
def test_a_log_that_may_fall_either_way_falls_to_the_side_that_is_promised(sizes, start, fallen, half):
    """A square log half under lies edge up (Gilbert 1991: 0.281 to 0.719, from memory); held flat up it is on a saddle.

    Right side up, else nose down, else back up: as ``_to_the_right`` says, whichever way the rounding would have it.
    """
    mesh = trimesh.creation.box(sizes)
    turn = trimesh.transformations.rotation_matrix(np.pi * half / 2, np.argmax(sizes) == np.arange(3))[:3, :3]
    hull = build_hull([Shell(mesh.vertices @ turn.T, np.array(mesh.faces))])
    rest = minimise(hull, np.array([start]), np.zeros(3), 0.5 * hull.volume, 0.5)
    assert rest.settled.all()
    assert rest.up[0] == pytest.approx(np.array(fallen) / np.sqrt(2), abs=1e-6)


@pytest.mark.parametrize("half", [0, 1, 2, 3])
@pytest.mark.parametrize("lean", [-20.0, 20.0])
def test_a_log_whose_faces_lean_falls_nose_down_too(lean, half):
    """The same log across, its sides 20 degrees off: it falls to the edge 45 degrees on, where x points up more."""
    mesh = trimesh.creation.box((20.0, 90.0, 20.0))
    turn = trimesh.transformations.rotation_matrix(np.pi * half / 2 + np.radians(lean), (0, 1, 0))[:3, :3]
    hull = build_hull([Shell(mesh.vertices @ turn.T, np.array(mesh.faces))])
    start, fallen = (np.array([np.sin(a), 0.0, np.cos(a)]) for a in np.radians([lean, lean + 45.0]))
    rest = minimise(hull, start[None], np.zeros(3), 0.5 * hull.volume, 0.5)
    assert rest.settled.all()
    assert rest.up[0] == pytest.approx(fallen, abs=1e-6)
