"""The picture in the water, measured against closed forms of the bodies drawn; no lettering on other lettering or line.

All bodies are made up.
"""

from dataclasses import replace
from functools import cache
from itertools import combinations, pairwise
from math import asin, degrees, hypot
from random import Random

import numpy as np
import pytest
from lettering import label_boxes
from lxml import etree
from test_drawing import ellipsoid

from bodygen.export.png import page_png
from bodygen.export.svg import page_svg
from bodygen.flotation.equilibrium import find_attitudes
from bodygen.flotation.hull import Shell, build_hull
from bodygen.form.fairing.shape import body_of
from bodygen.mesh.cut import to_manifold
from bodygen.mesh.skin import body_mesh
from bodygen.plane.page import Label, Stroke
from bodygen.recipe.model import Recipe, Water
from bodygen.report.pictures.afloat import PAGE, afloat_sheet
from bodygen.report.pictures.floating_view import FloatingView, projections, silhouette


@cache
def solid(length, depth, thickness, facets=0.2):
    recipe = Recipe("Tarn ellipsoid", "mm", ellipsoid(length, depth, thickness))
    mesh = body_mesh(body_of(recipe), facets)
    return recipe, to_manifold(mesh), build_hull([Shell(mesh.vertices, mesh.faces)])


def floating(
    length=80.0, depth=24.0, thickness=18.0, share=0.6, at=(40.0, 0.0, -3.0), units="mm", lip=None, facets=0.2
):
    """A body that weighs ``share`` of the water it could push aside."""
    recipe, body, hull = solid(length, depth, thickness, facets)
    recipe = replace(recipe, units=units, water=Water(density_g_cm3=1.0))
    found = find_attitudes(hull, share * hull.volume / 1000, np.array(at), 1.0, others=False)
    return FloatingView(recipe, body, lip, length, found, found.attitude, np.array(at))


def random_scene(seed):
    """Any bait from 35 to 200 mm, its mass anywhere in its middle, with a lip or without; some of them sink."""
    dice = Random(seed)  # noqa: S311  baits, not secrets
    length = dice.uniform(35, 200)
    depth = length * dice.uniform(0.15, 0.4)
    thickness = depth * dice.uniform(0.5, 1.0)
    at = (length * dice.uniform(0.3, 0.7), 0.0, depth * dice.uniform(-0.25, 0.05))
    lip = None
    if dice.random() < 0.6:
        turn = -dice.uniform(20, 70)
        plate = type(solid(80.0, 24.0, 18.0)[1]).cube((length * 0.2, thickness, 1.5), center=True)
        lip = plate.rotate((0.0, turn, 0.0)).translate((length * 0.03, 0.0, -depth * 0.4))
        lip -= solid(length, depth, thickness, 1.0)[1]
    share = dice.choice([dice.uniform(0.35, 0.97), dice.uniform(1.05, 1.4)])
    drawn = floating(length, depth, thickness, share, at, dice.choice(["mm", "in"]), lip, facets=1.0)
    names = ["Tarn perch", "x", "An endless name for a small bait that somebody made up on a long winter evening " * 2]
    return replace(drawn, recipe=replace(drawn.recipe, name=dice.choice(names)))


def overlap(a, b, air=0.0):
    return min(a[2], b[2]) - max(a[0], b[0]) > -air and min(a[3], b[3]) - max(a[1], b[1]) > -air


def crosses(box, mark):
    """Whether a stroke comes into a box, by points 0.3 mm apart along it."""
    ends = np.array([*mark.points, mark.points[0]] if mark.closed else mark.points)
    if np.any(ends.max(axis=0) < box[:2]) or np.any(ends.min(axis=0) > box[2:]):
        return False
    steps = [np.linspace(a, b, max(2, int(hypot(*(b - a)) / 0.3) + 2)) for a, b in pairwise(ends)]
    x, y = np.concatenate(steps).T
    return bool(np.any((x > box[0]) & (x < box[2]) & (y > box[1]) & (y < box[3])))


def clashes(sheet):
    """Lettering that overlaps, leaves the page, or is struck through by a line."""
    boxes = label_boxes(sheet)
    found = [f"{a} / {b}" for (a, one), (b, two) in combinations(boxes, 2) if overlap(one, two)]
    found += [t for t, (x0, y0, x1, y1) in boxes if x0 < 2 or y0 < 2 or x1 > sheet.width - 2 or y1 > sheet.height - 2]
    for text, (x0, y0, x1, y1) in boxes:
        inner = x0 + 0.3, y0 + 0.4, x1 - 0.3, y1 - 0.4
        found += [f"{text} | {m.part}" for m in sheet.marks if isinstance(m, Stroke) and crosses(inner, m)]
    return found


@pytest.mark.parametrize("seed", range(40))
def test_no_lettering_lies_on_other_lettering_or_on_a_line_or_leaves_the_page(seed):
    sheet = afloat_sheet(random_scene(seed))
    assert (sheet.width, sheet.height) == PAGE
    assert clashes(sheet) == []
    points = np.array([p for m in sheet.marks if isinstance(m, Stroke) for p in m.points])
    assert points.min() >= 5
    assert np.all(points <= np.array(PAGE) - 5)


def part(sheet, name):
    return [np.array(m.points) for m in sheet.marks if isinstance(m, Stroke) and m.part == name]


def ratio(sheet):
    top, bottom = sheet.title.rsplit(" ", 1)[1].split(":")
    return float(top) / float(bottom)


def test_the_silhouette_of_an_ellipsoid_is_an_ellipse():
    """Seen at an angle, the ellipse with q = R diag(a^2) R^T as its own matrix (elementary); area pi sqrt(det)."""
    s = floating(at=(30.0, 0.0, -3.0), facets=0.02)
    for projection in projections(s.attitude):
        axes = np.stack([projection.right, projection.up])
        matrix = axes @ np.diag([40.0**2, 9.0**2, 12.0**2]) @ axes.T
        assert silhouette(s.body, projection).area() == pytest.approx(np.pi * np.sqrt(np.linalg.det(matrix)), rel=3e-3)


def test_the_page_is_true_to_scale_and_the_water_stands_level_through_both_views():
    s = floating()
    sheet = afloat_sheet(s)
    side, end, above = part(sheet, "body")
    scale = ratio(sheet)
    (water,) = part(sheet, "water level")
    assert np.ptp(side[:, 0]) == pytest.approx(80.0 * scale, abs=0.1 * scale)
    assert np.ptp(end[:, 0]) == pytest.approx(18.0 * scale, abs=0.1 * scale)
    assert np.ptp(above[:, 1]) == pytest.approx(18.0 * scale, abs=0.1 * scale)
    assert water[0, 1] == water[1, 1]
    assert water[0, 0] < side[:, 0].min()
    assert water[1, 0] > end[:, 0].max()
    for view in (side, end):
        assert (water[0, 1] - view[:, 1].min()) / scale == pytest.approx(s.attitude.freeboard_mm, abs=0.02)


def test_a_bait_that_is_half_as_dense_as_water_floats_with_its_middle_at_the_water():
    """An ellipsoid, half of it under by symmetry: the waterline is its largest section, 80 x 18 mm."""
    sheet = afloat_sheet(floating(share=0.5, at=(40.0, 0.0, -4.0)))
    (line,) = part(sheet, "waterline")
    scale = ratio(sheet)
    assert np.ptp(line[:, 0]) / scale == pytest.approx(80.0, abs=0.2)
    assert np.ptp(line[:, 1]) / scale == pytest.approx(18.0, abs=0.2)


def test_the_body_axis_is_drawn_at_the_pitch():
    s = floating(at=(47.0, 0.0, -3.0))
    (first, last), _ = part(afloat_sheet(s), "body axis")
    rise = degrees(asin((last[1] - first[1]) / hypot(*(last - first))))  # y runs down the page
    assert rise == pytest.approx(s.attitude.pitch_deg, abs=1e-6)
    texts = [m.text for m in afloat_sheet(s).marks if isinstance(m, Label)]
    assert f"{s.attitude.pitch_deg:.1f}° up" in texts


def test_g_stands_plumb_over_b_and_m_as_high_above_g_as_gm_says():
    s = floating(at=(40.0, 0.0, -5.0))
    sheet = afloat_sheet(s)
    signs = [p.mean(axis=0) for p in part(sheet, "sign")]
    b, g, m = signs[-3:]  # the end view's
    scale = ratio(sheet)
    assert (b[0], m[0]) == pytest.approx((g[0], g[0]), abs=0.02)
    assert (g[1] - m[1]) / scale == pytest.approx(s.attitude.gm_mm, abs=1e-6)
    assert (b[1] - g[1]) / scale == pytest.approx(-5.0 - s.attitude.centre_of_buoyancy[2], abs=0.01)


def test_wholly_under_there_is_no_surface_but_a_plumb_line_through_b_and_g():
    sheet = afloat_sheet(floating(share=1.2, at=(45.0, 0.0, -2.0)))
    assert part(sheet, "water level") == part(sheet, "waterline") == part(sheet, "freeboard") == []
    plumb = part(sheet, "plumb line")
    signs = [p.mean(axis=0) for p in part(sheet, "sign")]
    assert len(plumb) == 2
    for line, (b, g) in zip(plumb, (signs[:2], signs[2:]), strict=True):
        assert [line[0, 0], line[1, 0], g[0]] == pytest.approx([b[0]] * 3, abs=1e-3)


def test_a_lip_behind_the_body_is_hidden_by_it_and_one_before_it_is_drawn_whole():
    base = floating()
    plate = type(base.body).cube((2.0, 10.0, 10.0), center=True)
    ahead = plate.translate((-3.0, 0.0, 0.0))
    assert part(afloat_sheet(replace(base, lip=ahead)), "lip")[1].size
    astern = afloat_sheet(replace(base, lip=plate.translate((83.0, 0.0, 0.0))))
    assert len(part(astern, "lip")) == 2  # seen from the left and from above, not from the nose
    assert len(part(afloat_sheet(replace(base, lip=ahead)), "lip")) == 3


def test_the_same_scene_gives_the_same_bytes_and_both_files_read():
    first, second = (afloat_sheet(random_scene(3)) for _ in range(2))
    assert page_svg(first) == page_svg(second)
    assert page_png(first, 60) == page_png(second, 60)
    assert etree.fromstring(page_svg(first).encode()).get("width") == "297mm"
