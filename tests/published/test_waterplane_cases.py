"""Waterplane and metacentric height of the hull that is floated, against closed forms of quadrics and cylinders.

An ellipsoid is a unit ball drawn out along its axes by A = diag(a, b, c): the plane u . p = h is the plane at
t = h / |A u| of the ball, whose cap and disc are Archimedes'; so volume, centre, area and second moments of the cut
follow by the same map (elementary). GM = I / V - BG (DEVELOPERS.md, Axes and attitudes). A quarter of a section is one
cubic of the ellipse's own area, within 0.03 % of its radius. Promised: 0.05 % of the area, 0.005 mm of GM.
"""

import numpy as np
import pytest
from shapely import LineString, Polygon, box
from shapely.affinity import rotate

from bodygen.flotation.afloat import finished_hull
from bodygen.flotation.immersion import centre_of_buoyancy, immerse_volume
from bodygen.mesh.base_body import base_body_of
from bodygen.recipe.read import read_recipe

HEAD = 'format = 1\nname = "closed form"\nunits = "mm"\n[shape]\nstations = "s.csv"\n[wood]\ndensity_g_cm3 = 0.5\n'
ATTITUDES = {"level": (0, 0), "heeled": (0, 35), "trimmed": (14, 0), "both": (-9, 70), "on its side": (3, 90)}


def hull_of(rows, folder):
    table = "\n".join(",".join(f"{value:.9g}" for value in row) for row in rows)
    (folder / "s.csv").write_text(f"x_mm,top_mm,bottom_mm,half_width_mm\n{table}\n", encoding="utf-8")
    (folder / "bait.toml").write_text(HEAD, encoding="utf-8")
    base_body = base_body_of(read_recipe(folder / "bait.toml"))
    return finished_hull(base_body.floated, base_body.volume, [], None, []), base_body


def up_at(pitch_deg, roll_deg):
    p, r = np.radians((pitch_deg, roll_deg))
    return np.array([-np.sin(p), np.cos(p) * np.sin(r), np.cos(p) * np.cos(r)])


def ellipsoid(length, depth, thickness, count=61):
    """Rows at even steps of the angle, so that they stand close at the round ends."""
    angle = np.linspace(0, np.pi, count)
    x, y = length / 2 * (1 - np.cos(angle)), np.sin(angle)
    y[[0, -1]] = 0.0
    return np.stack([x, depth / 2 * y, -depth / 2 * y, thickness / 2 * y], axis=1)


def cut_ellipsoid(axes, up, share):
    """Area, its second moments (3, 3) about its centre, and how high the centre of the ``share`` under lies."""
    A = np.diag(axes)
    m = np.linalg.norm(A @ up)
    n = A @ up / m
    # the cap below t of the unit ball: (2 + 3 t - t^3) / 4 of it
    t = next(r.real for r in np.roots([-1, 0, 3, 2 - 4 * share]) if abs(r.imag) < 1e-9 and -1 <= r.real <= 1)
    rho2 = 1 - t * t
    area = np.pi * np.prod(axes) * rho2 / m
    seconds = area * rho2 / 4 * A @ (np.eye(3) - np.outer(n, n)) @ A
    cap = -3 / 4 * rho2**2 / (2 + 3 * t - t**3)  # Archimedes: the cap's centre along n
    return area, seconds, cap * m


@pytest.mark.parametrize("attitude", ATTITUDES)
@pytest.mark.parametrize("share", [0.3, 0.62, 0.9])
@pytest.mark.parametrize(
    "size", [(70.0, 16.0, 16.0), (80.0, 30.0, 20.0), (50.0, 26.0, 26.0)], ids=["spheroid", "deep", "fat"]
)
def test_a_cut_ellipsoid_has_its_waterplane_and_gm(size, share, attitude, tmp_path):
    hull, _ = hull_of(ellipsoid(*size), tmp_path)
    length, depth, thickness = size
    axes, middle = np.array([length, thickness, depth]) / 2, np.array([length / 2, 0.0, 0.0])
    up = up_at(*ATTITUDES[attitude])
    area, seconds, low = cut_ellipsoid(axes, up, share)
    volume = share * 4 / 3 * np.pi * np.prod(axes)
    cut = immerse_volume(hull, up[None], share * hull.volume)
    assert cut.area[0] == pytest.approx(area, rel=5e-4)
    about = cut.area_seconds[0] - np.outer(cut.area_firsts[0], cut.area_firsts[0]) / cut.area[0]
    buoyant = float((centre_of_buoyancy(hull, cut)[0] - middle) @ up)
    assert buoyant == pytest.approx(low, abs=0.005)
    across = cut.across[0]
    got, wanted = about[1, 1] / cut.volume[0] + buoyant, across @ seconds @ across / volume + low
    assert got == pytest.approx(wanted, abs=0.005)  # both less the same height of the centre of mass


@pytest.mark.parametrize("r", [6.0, 8.0, 12.0])
@pytest.mark.parametrize("share", [0.25, 0.4, 0.5, 0.8])
@pytest.mark.parametrize("roll", [0.0, 20.0, 45.0, 65.0])
def test_a_round_bar_has_its_waterplane_and_gm_however_it_is_rolled(share, roll, r, tmp_path):
    """Flat ends, radius r: the chord is 2 r sin(q) with (q - sin q cos q) / pi under (elementary).

    The cubic of the section, which leaves the circle by up to 0.03 % of r, and the facets; of the body's own section
    besides, whose area, chord and centre are taken from 2400 points.
    """
    length = 60.0
    hull, base_body = hull_of([(x, r, -r, r) for x in np.linspace(0, length, 9)], tmp_path)
    q = np.linspace(0, np.pi, 200001)
    q = float(np.interp(share, (q - np.sin(q) * np.cos(q)) / np.pi, q))
    chord = 2 * r * np.sin(q)
    cut = immerse_volume(hull, up_at(0, roll)[None], share * hull.volume)
    assert cut.area[0] == pytest.approx(chord * length, rel=5e-4)
    bm = cut.area_seconds[0, 1, 1] / cut.volume[0]
    # of a round bar rolled about its axis BM is the depth of B: the metacentre is the axis
    assert bm + float(centre_of_buoyancy(hull, cut)[0] @ cut.up[0]) == pytest.approx(0.0, abs=0.005)
    own = rotate(Polygon(base_body.body.section_at(length / 2, 600)), roll, origin=(0, 0))
    low, high = -2 * r, 2 * r
    for _ in range(50):
        level = (low + high) / 2
        wet = own.intersection(box(-2 * r, -2 * r, 2 * r, level))
        low, high = (level, high) if wet.area < share * own.area else (low, level)
    wide = own.intersection(LineString([(-2 * r, level), (2 * r, level)])).length
    assert cut.area[0] == pytest.approx(wide * length, rel=5e-4)
    metacentre = wide**3 / 12 / wet.area + wet.centroid.y
    assert bm + float(centre_of_buoyancy(hull, cut)[0] @ cut.up[0]) == pytest.approx(metacentre, abs=0.005)
