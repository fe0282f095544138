"""Flotation against the closed forms and published bodies of ``cases/geometry_cases.toml``, which names each source.

The solids are built here as meshes: sections are polygons of the true area, so only the second moments of the sections
miss theirs, by about (2 pi / sides)^2 / 30, far inside the tolerances of the cases.
"""

import math
import re
import tomllib
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from bodygen.flotation.equilibrium import find_attitudes
from bodygen.flotation.hull import Shell, build_hull

CASES = tomllib.loads((Path(__file__).parent / "cases" / "geometry_cases.toml").read_text(encoding="utf-8"))["case"]
FLOATING = [case for case in CASES if "water_density_g_cm3" in case.get("recipe_keys", {})]
SIDES = 96


def skin(rows):
    """Closed mesh over closed rings (n, k, 3) of points, right-handed about +x, each end drawn to its own middle."""
    n, k = rows.shape[:2]
    vertices = np.concatenate([rows.reshape(-1, 3), rows[0].mean(axis=0)[None], rows[-1].mean(axis=0)[None]])
    i, j = np.meshgrid(np.arange(n - 1), np.arange(k), indexing="ij")
    a, b = i * k + j, i * k + (j + 1) % k
    sides = np.concatenate([np.stack([a, b, b + k], -1), np.stack([a, b + k, a + k], -1)]).reshape(-1, 3)
    ring, last = np.arange(k), (n - 1) * k
    nose = np.stack([(ring + 1) % k, ring, np.full(k, n * k)], -1)
    tail = np.stack([last + ring, last + (ring + 1) % k, np.full(k, n * k + 1)], -1)
    return vertices, np.concatenate([nose, sides, tail])


def turned(x, radius_y, radius_z):
    """Ellipses along x as polygons of their true area."""
    angle = 2 * np.pi * np.arange(SIDES) / SIDES
    true_area = math.sqrt(2 * math.pi / SIDES / math.sin(2 * math.pi / SIDES))
    y, z = true_area * np.outer(radius_y, np.cos(angle)), true_area * np.outer(radius_z, np.sin(angle))
    return skin(np.stack([np.repeat(x[:, None], SIDES, axis=1), y, z], axis=-1))


def ellipsoid(length, width, depth):
    bow = np.pi * np.linspace(0, 1, 122)[1:-1]
    radius = np.sin(bow)
    return turned(length / 2 * (1 - np.cos(bow)), width / 2 * radius, depth / 2 * radius)


def box(length, width, depth):
    ring = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * [width / 2, depth / 2]
    return skin(np.stack([np.column_stack([np.full(4, x), ring]) for x in (0.0, length)]))


def wigley(length, beam, draught):
    x = length * (1 - np.cos(np.pi * np.linspace(0, 1, 102)[1:-1])) / 2
    around = np.linspace(-1, 1, 61)[:-1]
    z = draught * np.concatenate([around, -around])
    side = np.concatenate([np.ones(60), -np.ones(60)]) * (1 - (z / draught) ** 2) * beam / 2
    y = np.outer(1 - (2 * x / length - 1) ** 2, side)
    return skin(np.stack([np.repeat(x[:, None], len(z), axis=1), y, np.repeat(z[None], len(x), axis=0)], axis=-1))


def solid(shape):
    """The case's shape as (vertices, faces)."""
    if "box_mm" in shape:
        return box(*shape["box_mm"])
    if "wigley_mm" in shape:
        return wigley(*shape["wigley_mm"])
    if "sphere_radius_mm" in shape:
        return ellipsoid(*[2 * shape["sphere_radius_mm"]] * 3)
    if "stations" in shape:
        length, depth, width = map(float, re.search(r"ellipsoid_(\d+)x(\d+)x(\d+)", shape["stations"]).groups())
        return ellipsoid(length, width, depth)
    if "cylinder_diameter_mm" in shape:
        x, radius = np.array([0, shape["cylinder_length_mm"]]), np.full(2, shape["cylinder_diameter_mm"] / 2)
    elif "cone_length_mm" in shape:
        share = np.array([1e-6, 1])
        x, radius = share * shape["cone_length_mm"], share * shape["cone_base_radius_mm"]
    else:
        share = np.linspace(0, 1, 151)[1:]  # of the radius: even steps near the vertex
        x, radius = share**2 * shape["paraboloid_length_mm"], share * shape["paraboloid_base_radius_mm"]
    return turned(x, radius, radius)


def direction(attitude):
    """Up in body axes from pitch and roll as DEVELOPERS.md defines them."""
    pitch, roll = math.radians(attitude["pitch_deg"]), math.radians(attitude.get("roll_deg", 0.0))
    return np.array([-math.sin(pitch), math.cos(pitch) * math.sin(roll), math.cos(pitch) * math.cos(roll)])


def apart_deg(up, wanted, symmetry):
    """Angle between two attitudes, the nearest image of ``wanted`` under the case's symmetry taken."""
    if symmetry.startswith("revolution"):
        angle, goal = math.asin(-up[0]), math.asin(-wanted[0])
        return math.degrees(min(abs(angle - goal), abs(angle + goal) if symmetry == "revolution_both" else math.inf))
    images = [wanted]
    if symmetry == "square_log":
        images += [wanted[[0, 2, 1]] * [1, -1, 1]]
    signs = [[1, y, 1] for y in (1, -1)]
    if symmetry in {"box", "square_log"}:
        signs = [[x, y, z] for x in (1, -1) for y in (1, -1) for z in (1, -1)]
    nearest = max(float(np.dot(up, image * sign)) for image in images for sign in np.array(signs))
    return math.degrees(math.acos(min(1.0, nearest)))


def within(value, want):
    return value == pytest.approx(want["want"], rel=want.get("rel", 0.0), abs=want.get("abs", 0.0))


@cache
def floated(name):
    case = next(case for case in FLOATING if case["id"] == name)
    keys = case["recipe_keys"]
    hull = build_hull([Shell(*solid(case["shape"]))])
    mass, moment = keys["wood_density_g_cm3"] * hull.volume / 1000, 0.0
    centre = hull.centroid
    if "fitting" in keys:
        weight, at = keys["fitting"]["mass_g"], np.array(keys["fitting"]["at_mm"])
        if "ellipsoid" in case["shape"].get("stations", ""):  # the rows put the axis midway, z = 0
            moment = mass * centre + weight * at
        mass, centre = mass + weight, moment / (mass + weight)
    return hull, find_attitudes(hull, mass, centre, keys["water_density_g_cm3"]), mass, centre


@pytest.mark.parametrize("case", FLOATING, ids=[case["id"] for case in FLOATING])
def test_every_attitude_found_is_a_published_one_with_the_published_values(case):
    """Source and formula stand in the case; the sphere rests anyhow and gives its values for any attitude."""
    hull, answer, mass, centre = floated(case["id"])
    for want in case["values"]:
        room, key, *index = want["key"].split(".")
        if want["key"] == "body.volume_cm3":
            assert within(hull.volume / 1000, want)
        elif want["key"] == "total.mass_g":
            assert within(mass, want)
        elif want["key"].startswith("total.centre_of_mass_mm"):
            assert within(centre[int(index[0])], want)
        elif room == "float":
            assert within(getattr(answer.attitude, key), want)
    assert answer.state == "floats"
    seen = set()
    for attitude in (answer.attitude, *answer.others) if case["symmetry"] != "any" else ():
        offsets = [apart_deg(np.array(attitude.up), direction(a), case["symmetry"]) for a in case["attitude"]]
        nearest = int(np.argmin(offsets))
        assert offsets[nearest] < case["tol_deg"]
        seen.add(nearest)
        assert attitude.stable
        for want in case["attitude"][nearest].get("values", ()):
            assert within(getattr(attitude, want["key"]), want), want["key"]
    if case["symmetry"] != "any":
        assert seen == set(range(len(case["attitude"])))


def test_each_neutral_family_is_told_once():
    """A sphere, a lying rod, an upright cone: turning them costs nothing, so no second place of it is listed."""
    ids = {"sphere": 0, "rod_lying": 0, "cone_both_ways": 1, "disc_on_end": 1, "paraboloid": 1}
    counts = {case["id"]: len(floated(case["id"])[1].others) for case in FLOATING if case["id"] in ids}
    assert counts == ids
