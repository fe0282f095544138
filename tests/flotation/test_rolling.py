"""Nearly round bodies that roll at a touch: every valley of the roll is found, however shallow.

The search it is held against turns the full hull once round by whole degrees, with the pitch settled at each, and goes
down from every lowest place. The bodies are lofts of superellipses |y/a|^n + |z/b|^n = 1; weights lie tenths of a
millimetre off the middle, where a third rest has just begun: 0.001 to 0.003 mm of height would turn it out.
"""

import numpy as np
import pytest
from amount import MORE

from bodygen.flotation.energy_minimiser import minimise, slope
from bodygen.flotation.equilibrium import COARSE_FACES, LET_GO_STEP, find_attitudes
from bodygen.flotation.hull import Shell, build_hull
from bodygen.flotation.immersion import immerse_volume
from bodygen.flotation.rolling import valleys_by_rolling
from bodygen.tables import load

ALONG, AROUND = 44, 64
# length, depth, thickness [mm]; n of back and belly; power of the taper; share under water; weight off the middle [mm]
BODIES = [
    (85.59108, 23.50464, 23.0028, 2.28459, 2.28459, 1.01385, 0.68414, (0.0, 0.07865, -0.00805)),
    (82.25382, 19.04548, 19.10662, 2.29865, 2.2378, 1.09448, 0.59689, (0.0, -0.03586, -0.01504)),
    (64.28246, 16.36811, 16.66398, 2.17465, 2.17465, 0.83953, 0.57188, (0.0, -0.00447, 0.03299)),
    (89.33993, 21.37838, 21.96363, 2.08526, 2.19456, 0.74636, 0.50067, (0.4, 0.00426, 0.15196)),
    (83.56548, 21.73277, 21.12036, 2.21209, 2.21209, 0.93025, 0.91916, (-0.7, 0.00266, -0.01167)),
    (101.49434, 20.57652, 20.8022, 2.24602, 2.12857, 1.03924, 0.54604, (0.0, 0.00316, 0.01848)),
    (74.59893, 22.71139, 22.4053, 2.16854, 2.1199, 0.69832, 0.58113, (0.4, 0.04879, -0.01147)),
    (102.9321, 15.26755, 15.08137, 2.14785, 2.25484, 0.95407, 0.59616, (0.0, -0.0021, -0.00164)),
    (93.47666, 20.69127, 20.71989, 2.16642, 2.16642, 0.6627, 0.71634, (0.4, -0.00142, 0.00361)),
    (70.26162, 21.41258, 21.26958, 2.11414, 2.11414, 0.77443, 0.65661, (-0.7, -0.00881, -0.00059)),
    (72.19482, 15.47064, 15.26633, 2.10192, 2.06753, 1.06847, 0.55671, (-0.7, 0.04127, -0.00089)),
    (104.06003, 14.5303, 14.60727, 2.05217, 2.23035, 0.86914, 0.50403, (0.0, -0.00144, -0.03026)),
]


def loft(length, depth, thickness, back, belly, power):
    """Closed loft of ``AROUND`` points on each ring, tapered as a power of a half ellipse's height."""
    angle = np.linspace(0, np.pi, ALONG + 1)[1:-1]
    x, taper = length / 2 * (1 - np.cos(angle)), np.sin(angle) ** power
    q = 2 * np.pi * np.arange(AROUND) / AROUND
    c, s = np.cos(q), np.sin(q)
    n = np.where(s >= 0, back, belly)
    y = np.sign(c) * np.abs(c) ** (2 / n) * thickness / 2
    z = np.sign(s) * np.abs(s) ** (2 / n) * depth / 2
    rings = np.stack([np.repeat(x[:, None], AROUND, axis=1), taper[:, None] * y, taper[:, None] * z], axis=-1)
    ids = 1 + np.arange(len(x) * AROUND).reshape(-1, AROUND)
    after = np.roll(ids, -1, axis=1)
    nose, tail = np.zeros(AROUND, dtype=int), np.full(AROUND, 1 + ids.size)
    faces = [
        np.stack([ids[:-1], ids[1:], after[:-1]], axis=-1).reshape(-1, 3),
        np.stack([after[:-1], ids[1:], after[1:]], axis=-1).reshape(-1, 3),
        np.stack([nose, ids[0], after[0]], axis=-1),
        np.stack([tail, after[-1], ids[-1]], axis=-1),
    ]
    vertices = np.concatenate([[[0.0, 0, 0]], rings.reshape(-1, 3), [[length, 0, 0]]])
    faces = np.concatenate(faces)
    corner = vertices[faces]
    outwards = np.einsum("md,md->", np.cross(corner[:, 0], corner[:, 1]), corner[:, 2]) > 0
    return build_hull([Shell(vertices, faces if outwards else faces[:, ::-1])])


def rolled(hull, centre, volume):
    """Energy (360,) [mm] and up (360, 3) of whole degrees of roll, each at its own pitch."""
    roll, pitch = np.radians(np.arange(360.0)), np.zeros(360)
    for accuracy in (1e-4, 1e-9):
        up = np.stack([-np.sin(pitch), np.cos(pitch) * np.sin(roll), np.cos(pitch) * np.cos(roll)], axis=1)
        here = slope(hull, immerse_volume(hull, up, volume, accuracy), centre, volume)
        pitch = pitch + here.turning[:, 0] / here.stiffness[:, 0, 0]
    return here.energy, up


def climb(energy, place):
    """How far the energy rises on the way from a lowest place to the nearest lower one, on the easier side [mm]."""
    climbs = []
    for way in (1, -1):
        path = energy[(place + way * np.arange(len(energy))) % len(energy)]
        lower = np.flatnonzero(path < path[0])
        climbs.append(path[: lower[0] + 1 if len(lower) else None].max() - path[0])
    return min(climbs)


@pytest.mark.parametrize("body", BODIES if MORE else BODIES[::3])
def test_every_valley_of_the_roll_is_among_the_attitudes_of_a_nearly_round_body(body):
    *sizes, share, off = body
    hull = loft(*sizes)
    assert len(hull.faces) > COARSE_FACES
    centre, volume = hull.centroid + off, share * hull.volume
    energy, up = rolled(hull, centre, volume)
    lowest = np.flatnonzero((energy < np.roll(energy, 1)) & (energy <= np.roll(energy, -1)))
    barrier = load("flotation")["same_attitude"]["barrier_share"] * hull.size
    told = [place for place in lowest if climb(energy, place) > 1.2 * barrier]  # above what two rests are one for
    assert len(told) >= 3
    rests = minimise(hull, up[told], centre, volume, LET_GO_STEP)
    assert rests.settled.all()
    answer = find_attitudes(hull, volume / 1000, centre, 1.0)
    found = np.array([attitude.up for attitude in (answer.attitude, *answer.others)])
    for rest in rests.up:
        # 0.5 deg is what two attitudes are told apart by; of a rest and its mirror image one is told
        near = max((found @ rest).max(), (found @ (rest * [1, -1, 1])).max())
        assert near > np.cos(np.radians(0.5)), np.degrees(np.arctan2(rest[1], rest[2]))


def test_a_body_of_revolution_weighted_in_its_axis_asks_for_few_minimisations():
    """Every roll is a rest there, up to rounding: the list is cut off, not the maker's time."""
    hull = loft(80.0, 20.0, 20.0, 2.0, 2.0, 1.0)
    valleys = valleys_by_rolling(hull, hull.centroid, 0.6 * hull.volume)
    assert len(valleys) <= 12
    answer = find_attitudes(hull, 0.6 * hull.volume / 1000, hull.centroid, 1.0)
    assert answer.attitude.stable
