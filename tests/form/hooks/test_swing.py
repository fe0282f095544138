"""Swept sets of trebles against wires that are swung and turned by chance: three bends, a shank, an eye, a ring."""

from dataclasses import replace

import numpy as np
import pytest

from bodygen.form.hooks.swing import caught, clear_of, least_spacing, meet, points_circle, swung
from bodygen.form.hooks.treble import Treble
from bodygen.tables import load

ROWS = load("hardware")["treble_hook"]["sizes"]
RINGS = [row for row in load("hardware")["split_ring"]["sizes"] if "mass_g" in row]
DOWN = np.array([0.0, 0.0, -1.0])
FINE_MM = 0.05
"""Between the places of a wire."""


def treble(row, ring=None, at=(0.0, 0.0, 0.0)):
    chain, wide = (ring["inside_mm"], ring["outside_mm"] / 2) if ring else (0.0, 0.0)
    return Treble(row["size"], 0, at, chain, wide, row["length_mm"], row["wire_mm"], row["gape_mm"])


def leg(hook):
    """The middle of one of the three wires (n, 2): along the shank from the eye, and away from its axis [mm].

    By hand from what "round bend" means: three wires that touch lie d / sqrt 3 from their axis; down, round by half a
    circle of gape and wire, and up to the level of the point.
    """
    d, g = hook.wire, hook.gape
    shank, bend = d / np.sqrt(3), (g + d) / 2
    turn = hook.down - d / 2 - bend
    s = np.arange(hook.chain + 2.8 * d, turn, FINE_MM)
    angle = np.linspace(0, np.pi, 400)
    up = np.append(np.arange(turn, hook.down - (1.05 * g + d), -FINE_MM), hook.down - (1.05 * g + d))
    straight = np.column_stack([s, 0 * s + shank])
    bent = np.column_stack([turn + bend * np.sin(angle), shank + bend - bend * np.cos(angle)])
    front = np.column_stack([up, 0 * up + shank + 2 * bend])
    return np.concatenate([straight, bent, front])


def posed(curve, along, turns, at):
    """A leg in space (k, n, 3), its shank along a way, turned about it by each of (k,) angles."""
    side = np.cross(along, np.eye(3)[np.argmin(np.abs(along))])
    side /= np.linalg.norm(side)
    out = np.cos(turns)[:, None] * side + np.sin(turns)[:, None] * np.cross(along, side)
    return np.array(at) + curve[:, :1] * along + curve[None, :, 1:] * out[:, None]


def ways(rng, count):
    drawn = rng.normal(size=(count, 3))
    return drawn / np.linalg.norm(drawn, axis=1)[:, None]


@pytest.mark.parametrize("row", ROWS[::3], ids=lambda row: row["size"])
def test_a_hundred_thousand_random_poses_stay_in_the_swept_sets_and_fill_them(row):
    """No tip leaves the ball of its swings, no wire that of the bend; each comes within 0.05 mm of its edge: the
    bundle of the table is rounded to 0.001 wires, and the tip is the inside of its wire.
    """
    hook, rng = treble(row, RINGS[1], (3.0, -2.0, 5.0)), np.random.default_rng(7)
    curve = leg(hook)
    tip = curve[-1] - (0.0, hook.wire / 2)
    along = ways(rng, 100_000)
    side = np.cross(along, ways(rng, 100_000))
    side /= np.linalg.norm(side, axis=1)[:, None]
    tips = tip[0] * along + tip[1] * side
    far = np.linalg.norm(tips, axis=1)
    assert far.max() <= hook.points_reach + 0.005
    assert far.min() >= hook.points_reach - 0.05
    wire = np.linalg.norm(curve, axis=1).max() + hook.wire / 2
    assert wire == pytest.approx(hook.reach, abs=0.05)
    assert clear_of(hook, np.array(hook.at) + tips, 1.0) == pytest.approx(hook.points_reach - 1, abs=0.05)
    assert clear_of(hook, np.zeros((0, 3))) == np.inf


@pytest.mark.parametrize("row", ROWS[1::4], ids=lambda row: row["size"])
def test_a_turning_treble_fills_its_turned_solid(row):
    """Where the wire of a leg is, it is as wide as the wire's outside: within 0.03 mm, the bundle's own rounding."""
    hook = treble(row)
    curve = leg(hook)
    bend = curve[curve[:, 1] > hook.points_out]
    bend = bend[bend[:, 0] < hook.down - hook.gape / 2 - hook.wire]
    assert hook.turned(bend[:, 0]) == pytest.approx(bend[:, 1] + hook.wire / 2, abs=0.03)
    assert hook.turned(np.array([-0.01, hook.down + 0.01])).tolist() == [0, 0]
    circle = points_circle(hook, DOWN)
    assert circle[:, 2] == pytest.approx(-hook.points_down)
    assert np.hypot(circle[:, 0], circle[:, 1]) == pytest.approx(hook.points_out)


def wires(hook):
    """Its leg, its eye and its ring, each as places (n, 2) of a wire's middle and half its thickness [mm]."""
    round_ = np.linspace(0, 2 * np.pi, 200)
    ring = (hook.chain / 2 + hook.ring) / 2
    loops = [(hook.chain + 0.9 * hook.wire, 1.4 * hook.wire, hook.wire / 2), (hook.chain / 2, ring, hook.ring - ring)]
    found = [(np.column_stack([at + r * np.cos(round_), abs(r * np.sin(round_))]), half) for at, r, half in loops if r]
    return [(leg(hook), hook.wire / 2), *found]


def holds(a, b, along):
    """Whether a wire of ``b``, turned through every angle, comes into the cup of ``a``: inside its front and bend."""
    between = np.array(b.at) - np.array(a.at)
    ahead = between @ along
    beside = np.linalg.norm(between - ahead * along)
    curve = leg(a)
    cup = curve[np.argmax(curve[:, 1] > curve[0, 1] + 1e-9) :]
    outer = cup[cup[:, 1] >= cup[np.argmax(cup[:, 0]), 1]]  # from the bottom of the bend to the tip
    for places, half in wires(b):
        level = places[:, 0] + ahead
        within = np.interp(level, *outer[np.argsort(outer[:, 0])].T)
        low, high = outer[:, 0].min(), outer[:, 0].max()
        if np.any((level >= low) & (level <= high) & (abs(beside - places[:, 1]) < within - a.wire / 2 + half)):
            return True
    return False


def tip_on_wire(a, b, along, rng, count):
    """Whether the tip of ``a`` touches a leg of ``b`` in so many random poses, both turned by chance."""
    tip = leg(a)[-1:] - (0.0, a.wire / 2)
    tips = posed(tip, along, rng.uniform(0, 2 * np.pi, count // 20), a.at)[:, 0]
    places = posed(leg(b)[::6], along, rng.uniform(0, 2 * np.pi, 20), b.at)
    return bool(np.linalg.norm(tips[:, None, None] - places, axis=3).min() < b.wire / 2)


def pairs(count):
    rng = np.random.default_rng(11)
    for number in range(count):
        a, b = (
            treble(ROWS[rng.integers(len(ROWS))], RINGS[rng.integers(2)] if rng.random() < 0.7 else None) for _ in "ab"
        )
        tilt = np.radians(rng.uniform(-25, 25))
        under_way = number % 2
        along = (
            np.array([np.cos(tilt), 0, -abs(np.sin(tilt))]) if under_way else np.array([np.sin(tilt), 0, -np.cos(tilt)])
        )
        yield a, replace(b, at=(0.0, 0.0, float(rng.uniform(-6, 6)))), along


def test_fifty_pairs_a_millimetre_either_side_of_the_limit_are_judged_right():
    """Hanging and trailing by turns, from size #14 to 3/0, with a ring or none; by wires, not by solids."""
    wrong, rng = [], np.random.default_rng(3)
    for number, (a, b, along) in enumerate(pairs(50)):
        needs = least_spacing(a, b, (along,))
        near, far = (replace(b, at=(needs + off, 0.0, b.at[2])) for off in (-1.0, 1.0))
        assert meet(a, near, along)
        assert not meet(a, far, along)
        meets = holds(a, near, along) or holds(near, a, along)
        apart = not (holds(a, far, along) or holds(far, a, along))
        if not meets or not apart or tip_on_wire(a, far, along, rng, 1000) or tip_on_wire(far, a, along, rng, 1000):
            wrong.append(number)
    assert not wrong


def test_fifty_pairs_swung_towards_each_other_meet_a_millimetre_inside_the_limit_and_not_outside():
    """In the plane through both eyes every angle is tried; a tip and a wire of the other."""
    rng = np.random.default_rng(13)
    angles = np.radians(np.arange(-60, 60, 0.25))
    for _ in range(50):
        a, b = (treble(ROWS[rng.integers(len(ROWS))], RINGS[0] if rng.random() < 0.5 else None) for _ in "ab")
        for off, meets in ((-1.0, True), (1.0, False)):
            apart = swung(a, b) + off
            gaps = []
            for one, other in ((a, b), (b, a)):
                tip = leg(one)[-1] - (0.0, one.wire / 2)
                tips = np.column_stack([
                    np.cos(angles) * tip[0] + np.sin(angles) * tip[1],
                    np.cos(angles) * tip[1] - np.sin(angles) * tip[0],
                ])
                wire = leg(other)
                far = np.linalg.norm(wire, axis=1).max() + other.wire / 2  # its outermost, turned towards the other eye
                gaps.append(np.linalg.norm(tips - (apart, 0.0), axis=1).min() - far)
            assert bool(min(gaps) < 0) is meets


def test_a_tip_reaches_a_thing_in_the_cup_and_not_one_beside_it():
    """A #8 without a ring turns in a circle of radius 7.02, its cup's outside 7.97; points 8.0 mm down, bend 15.25."""
    hook = treble(ROWS[3])
    assert caught(hook, DOWN, np.array([[7.9, 0.0, -9.0]]))
    assert not caught(hook, DOWN, np.array([[8.1, 0.0, -9.0]]))
    assert caught(hook, DOWN, np.array([[8.1, 0.0, -9.0]]), margin=0.2)
    assert not caught(hook, DOWN, np.array([[3.0, 0.0, -7.0], [0.0, 0.0, -15.5], [0.0, 0.0, 1.0]]))
