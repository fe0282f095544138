"""Carving paths, held against a simulated cut: where the swept cutter's own geometry leaves the skin.

A ball's sweep is the set of points within its radius of the path of its centre, so the gap between a point of the skin
and the sweep is the distance to that path less the radius: negative is a gouge, positive a ridge. That is elementary
geometry and shares nothing with the drop cutter.
"""

import os
from dataclasses import replace
from functools import cache
from itertools import pairwise
from math import sqrt
from pathlib import Path

import manifold3d
import numpy as np
import pytest
from carved import body_skin
from recipe_strategies import random_recipe_text, seeded

from bodygen.errors import DesignError
from bodygen.mesh.cut import to_manifold, to_mesh
from bodygen.mesh.skin import Mesh, body_mesh
from bodygen.pipeline import assess
from bodygen.recipe.read import read_recipe
from bodygen.shop.mill.carve import carve_job
from bodygen.shop.mill.carving_setup import board_for, default_carve, lying, mirrored
from bodygen.shop.mill.cutters import cutter_named, stepover
from bodygen.shop.mill.drop_cutter import thinned
from bodygen.shop.mill.job import spans

FLAT, BALL = cutter_named("flat_3"), cutter_named("ball_3")
SCALLOP = 0.12
"""Coarse, so that the tests are quick; the rule is the same for any height."""


def half_body():
    return to_mesh(to_manifold(lying(body_skin())).trim_by_plane((0.0, 0.0, 1.0), 0.0))


@cache
def half_jobs():
    """An ellipsoid 80 x 30 x 20 mm, its half lying flat side down."""
    mesh = half_body()
    return carve_job("half", mesh, board_for(mesh, FLAT, BALL, half=True), FLAT, BALL, SCALLOP, half=True)


def job_named(jobs, ending):
    return next(job for job in jobs if job.name.endswith(ending))


def swept_points(job, step):
    """Places of the tip along every move at feed, no farther apart than ``step`` [mm]."""
    found = []
    for span in spans(job.moves):
        if span.move.kind != "rapid":
            points = np.array(span.points())
            for a, b in pairwise(points):
                count = max(1, int(np.ceil(np.linalg.norm(b - a) / step)))
                found.append(a + (b - a) * np.arange(count + 1)[:, None] / count)
    return np.concatenate(found)


def skin_points(mesh, count):
    """Points spread evenly over a mesh, with the normals of their faces."""
    corners = mesh.vertices[mesh.faces]
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    area = np.linalg.norm(normal, axis=1)
    draw = np.random.default_rng(7)
    face = draw.choice(len(area), count, p=area / area.sum())
    return np.einsum("ij,ijk->ik", draw.dirichlet([1, 1, 1], count), corners[face]), normal[face] / area[face, None]


def on_board(mesh, stock, under):
    """The part where ``carve_job`` says it puts it: in the middle of the board, its underside at ``under``."""
    low, high = mesh.vertices.min(axis=0), mesh.vertices.max(axis=0)
    shift = np.array([stock.length / 2, stock.width / 2, 0.0]) - (low + high) / 2
    return Mesh(mesh.vertices + np.array([shift[0], shift[1], under - low[2]]), mesh.faces)


def gaps_of(job, points):
    from scipy.spatial import cKDTree

    centres = swept_points(job, 0.05) + np.array([0.0, 0.0, job.cutter.radius])
    return cKDTree(centres).query(points)[0] - job.cutter.radius


def beside_the_bridges(points, stock, mesh):
    """Away from where nose and tail are held."""
    half_length = np.ptp(mesh.vertices[:, 0]) / 2
    held = (np.abs(points[:, 0] - stock.length / 2) > half_length - 3.0 - BALL.diameter) & (
        np.abs(points[:, 1] - stock.width / 2) < 3.0 + BALL.diameter
    )
    return ~held


def half_under(stock):
    plan = default_carve()
    return -stock.thickness + BALL.radius + plan.below + plan.skin


def test_a_finished_half_has_no_gouge_and_no_ridge_higher_than_asked():
    """Facets of 0.02 mm and chords of 0.008 mm may add up to a gouge; ridges are a plane's at worst."""
    job, mesh = job_named(half_jobs(), "top-finish"), half_body()
    points, normal = skin_points(on_board(mesh, job.stock, half_under(job.stock)), 20000)
    gap = gaps_of(job, points)
    assert gap.min() > -0.05
    seen = (normal[:, 2] > -0.01) & beside_the_bridges(points, job.stock, mesh)
    assert seen.sum() > 8000
    assert gap[seen].max() < SCALLOP + 0.02


def mirror(mesh):
    return Mesh(mesh.vertices * (1.0, -1.0, 1.0), mesh.faces[:, ::-1])


def one_sided():
    """The half with a notch on one side alone."""
    notch = manifold3d.Manifold.cube((8.0, 6.0, 6.0)).translate((5.0, 6.0, 4.0))
    return to_mesh(to_manifold(half_body()) - notch)


def test_the_mirror_image_of_a_half_is_finished_by_the_mirrored_path():
    mesh, image = one_sided(), mirror(one_sided())
    board = board_for(mesh, FLAT, BALL, half=True)
    first = job_named(carve_job("half", mesh, board, FLAT, BALL, 0.5, half=True), "top-finish")
    jobs = carve_job("image", image, board, FLAT, BALL, 0.5, half=True, twin=(mesh, first))
    job = job_named(jobs, "top-finish")
    assert [move.end for move in job.moves[:-1]] == [
        (x, first.stock.width - y, z) for x, y, z in (move.end for move in first.moves[:-1])
    ]
    assert job.moves[-1].end == first.moves[-1].end


def test_a_half_is_its_own_mirror_image_unless_it_has_something_on_one_side_alone():
    assert mirrored(half_body(), half_body())
    assert not mirrored(one_sided(), one_sided())


def test_roughing_leaves_its_allowance_everywhere():
    """A height field on a coarse grid: the lowest the flat cutter was over each place, beside the closed form."""
    from scipy.spatial import cKDTree

    job = job_named(half_jobs(), "top-rough")
    stock, plan = job.stock, default_carve()
    tips = swept_points(job, 0.1)
    x, y = (v.ravel() for v in np.meshgrid(np.arange(-39, 39.1, 1.3), np.arange(-14.5, 14.6, 1.3)))
    inside = (x / 40) ** 2 + (y / 15) ** 2 < 0.98
    x, y = x[inside], y[inside]
    skin = half_under(stock) + 10 * np.sqrt(1 - (x / 40) ** 2 - (y / 15) ** 2)
    near = cKDTree(tips[:, :2]).query_ball_point(
        np.column_stack([x + stock.length / 2, y + stock.width / 2]), FLAT.radius
    )
    cut = np.array([tips[i, 2].min() for i in near])
    assert (cut - skin).min() > 0.5 * plan.allowance
    flat = (x / 40) ** 2 + (y / 15) ** 2 < 0.3  # where the skin is level: rows leave steps on slopes across them
    assert (cut - skin)[flat].max() < plan.allowance + 1.0


def test_the_groove_is_roughed_wide_enough_for_the_ball():
    """Nowhere does finishing take more than the allowance and a roughing step off the groove's outer wall."""
    rough, fine = job_named(half_jobs(), "top-rough"), job_named(half_jobs(), "top-finish")
    from scipy.spatial import cKDTree

    deep = swept_points(rough, 0.1)
    deep = deep[deep[:, 2] < rough.lowest + 4.0]
    low = swept_points(fine, 0.3)
    low = low[low[:, 2] < fine.lowest + 0.5]
    assert cKDTree(deep[:, :2]).query(low[:, :2])[0].max() < FLAT.radius


def test_a_body_carved_from_both_sides_is_the_body():
    """Each side is turned back into the body's own axes and checked there; together they touch all of the skin."""
    mesh = lying(body_skin())
    stock = board_for(mesh, FLAT, BALL, half=False)
    scallop = 2 * SCALLOP  # both sides take twice the time
    jobs = carve_job("body", mesh, stock, FLAT, BALL, scallop, half=False)
    points, normal = skin_points(on_board(mesh, stock, -(stock.thickness + 20.0) / 2), 10000)
    top = gaps_of(job_named(jobs, "top-finish"), points)
    turned = points * (1.0, -1.0, -1.0) + (0.0, stock.width, -stock.thickness)
    back = gaps_of(job_named(jobs, "back-finish"), turned)
    assert min(top.min(), back.min()) > -0.05
    free = beside_the_bridges(points, stock, mesh)
    assert np.where(normal[:, 2] > 0, top, back)[free].max() < scallop + 0.02


def test_the_programs_come_in_the_order_they_are_run_each_with_one_cutter():
    names = [job.name for job in half_jobs()]
    assert names == ["half-1-register", "half-2-pegs", "half-3-top-rough", "half-4-top-finish", "half-5-back-face"]
    assert [job.cutter.shape for job in half_jobs()] == ["flat", "flat", "flat", "ball", "flat"]


def test_pegs_lie_on_the_line_about_which_the_board_is_turned():
    register, top = half_jobs()[0], half_jobs()[1]
    for job in (register, top):
        holes = [move for move in job.moves if move.kind in {"cw", "ccw"}]
        assert {move.centre[1] for move in holes} == {top.stock.width / 2}
    xs = sorted({move.centre[0] for move in register.moves if move.kind == "ccw"})
    assert len(xs) == 2
    assert xs == sorted({move.centre[0] for move in top.moves if move.kind == "ccw"})


def bored_holes(job):
    """(x, y, diameter) of the holes of a program that bores alone, from its arcs and the cutter's width."""
    arcs = [(span.move.centre, span.start) for span in spans(job.moves) if span.move.kind in {"cw", "ccw"}]
    found = {(x, y, round(2 * np.hypot(a - x, b - y) + job.cutter.diameter, 6)) for (x, y), (a, b, _) in arcs}
    return sorted(found)


def test_the_turned_board_fits_its_pegs_one_way_only():
    """Every way to lay a board down, wherever it is shifted to: both pegs must find a hole as wide as they are."""
    register, through = half_jobs()[:2]
    length, width = register.stock.length, register.stock.width
    ways = {
        "as it was": lambda x, y: (x, y),
        "turned over about X": lambda x, y: (x, width - y),
        "turned over end for end": lambda x, y: (length - x, y),
        "turned round as it lies": lambda x, y: (length - x, width - y),
    }
    fits = set()
    for name, way in ways.items():
        holes = [(*way(x, y), d) for x, y, d in bored_holes(through)]
        for order in (holes, holes[::-1]):
            shifts = [(h[0] - p[0], h[1] - p[1]) for h, p in zip(order, bored_holes(register), strict=True)]
            apart = np.hypot(shifts[0][0] - shifts[1][0], shifts[0][1] - shifts[1][1])
            if apart < 0.3 and all(h[2] > p[2] - 0.1 for h, p in zip(order, bored_holes(register), strict=True)):
                fits.add(name)
    assert fits == {"as it was", "turned over about X"}


def test_the_peg_holes_alone_go_through_the_board_and_say_so():
    goes_through = {job.name: "into the waste board" in " ".join(job.notes) for job in half_jobs()}
    assert [name for name, goes in goes_through.items() if goes] == ["half-2-pegs"]
    pegs = job_named(half_jobs(), "pegs")
    assert pegs.lowest == pytest.approx(-pegs.stock.thickness - 1.0)
    assert {job.stock.through for job in half_jobs() if job is not pegs} == {0.0}
    for job in half_jobs():  # open below, so that a peg goes in; everything else leaves a skin
        if job is not pegs:
            assert job.lowest > -job.stock.thickness + 0.5


def test_every_program_ends_parked_over_its_zero_in_the_air():
    for job in half_jobs():
        x, y, z = job.moves[-1].end
        assert (x, y) == (0.0, 0.0)
        assert z > job.stock.clamp_height
        assert job.moves[-1].kind == "rapid"


def test_no_program_goes_below_its_board_and_rapids_stay_in_the_air():
    for job in half_jobs():
        assert job.lowest >= -job.stock.thickness - job.stock.through - 1e-9
        for span in spans(job.moves):
            if span.move.kind == "rapid":
                straight_up = span.start[:2] == span.move.end[:2] and span.move.end[2] > 0
                assert straight_up or min(span.start[2], span.move.end[2]) > 0


def test_the_flat_side_is_faced_level_down_to_the_parting_plane():
    job = job_named(half_jobs(), "back-face")
    assert job.lowest == pytest.approx(-job.stock.thickness - half_under(job.stock))


def test_a_thin_board_is_refused_with_the_thickness_it_takes():
    mesh = half_body()
    stock = replace(board_for(mesh, FLAT, BALL, half=True), thickness=10.0)
    with pytest.raises(DesignError, match=r"10 mm thick is too thin.*12\.84 mm at least"):
        carve_job("half", mesh, stock, FLAT, BALL, half=True)


@pytest.mark.parametrize(("key", "words"), [("length", "leaves no room for its pegs"), ("width", "of frame beside")])
def test_a_small_board_is_refused(key, words):
    mesh = half_body()
    stock = board_for(mesh, FLAT, BALL, half=True)
    with pytest.raises(DesignError, match=words):
        carve_job("half", mesh, replace(stock, **{key: getattr(stock, key) - 5.0}), FLAT, BALL, half=True)


def test_a_slot_narrower_than_the_ball_is_found_and_placed():
    body = to_manifold(half_body())
    slot = manifold3d.Manifold.cube((1.5, 40.0, 20.0)).translate((50.0, -20.0, 4.0))
    mesh = to_mesh(body - slot)
    jobs = carve_job("half", mesh, board_for(mesh, FLAT, BALL, half=True), FLAT, BALL, 0.5, half=True)
    found = [f for f in job_named(jobs, "top-finish").findings if f.code == "carve-narrow"]
    assert len(found) == 1
    place = float(found[0].where.split("X")[1].split()[0])
    assert place - jobs[0].stock.length / 2 == pytest.approx(50.75 - 40.0, abs=0.8)  # the slot's walls or its floor


def test_a_roughing_cutter_as_wide_as_the_usual_peg_gets_wider_pegs():
    pegs = [default_carve(cutter_named(key)).pegs for key in ("flat_2", "flat_3", "flat_6", "flat_1_4in")]
    assert pegs == [(6.0, 8.0), (6.0, 8.0), (8.0, 10.0), (8.0, 10.0)]


def test_thinned_points_stay_within_the_tolerance():
    angle = np.linspace(0, 1.5, 400)
    arc = np.column_stack([20 * np.cos(angle), 20 * np.sin(angle), 0 * angle])
    few = thinned(arc, 0.01)
    middles = (few[1:] + few[:-1]) / 2
    assert len(few) < 100
    assert np.abs(np.linalg.norm(middles, axis=1) - 20).max() < 0.01


def test_ridges_on_a_plane_have_the_height_of_the_segment():
    """Triangle of radius, half step, radius less ridge."""
    step = stepover(2.0, 0.1)
    assert 2.0 - sqrt(2.0**2 - (step / 2) ** 2) == pytest.approx(0.1)


DEMOS = sorted((Path(__file__).parents[3] / "params").glob("*.toml"))
FULL = os.environ.get("BODYGEN_FULL") == "1"


@pytest.mark.skipif(not FULL, reason="BODYGEN_FULL=1 carves the demos and 20 random baits")
@pytest.mark.parametrize("case", [*DEMOS, *range(20)], ids=str)
def test_every_half_comes_out_without_gouge_and_with_the_ridges_asked(case, tmp_path):
    """The uncut body's half: bores and slots that no ball enters are not counted as ridges."""
    path = case
    if isinstance(case, int):
        path = tmp_path / "bait.toml"
        path.write_text(random_recipe_text(seeded(case)), encoding="utf-8")
    body = assess(read_recipe(path)).shaped.body
    mesh = to_mesh(to_manifold(lying(body_mesh(body, 0.01))).trim_by_plane((0.0, 0.0, 1.0), 0.0))
    stock = board_for(mesh, FLAT, BALL, half=True)
    job = job_named(carve_job("half", mesh, stock, FLAT, BALL, SCALLOP, half=True), "top-finish")
    points, normal = skin_points(on_board(mesh, stock, half_under(stock)), 20000)
    gap = gaps_of(job, points)
    assert gap.min() > -0.05
    hollow = {f.code for f in job.findings}
    seen = (normal[:, 2] > 0.0) & beside_the_bridges(points, stock, mesh)
    assert np.quantile(gap[seen], 0.999) < SCALLOP + 0.02 or hollow == {"carve-narrow"}
