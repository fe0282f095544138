"""Scans traced: known surfaces in any pose and unit, with a scanner's noise, come back within what a sander sees.

A plain run takes an ellipsoid, BODYGEN_MORE=1 every demo, two other bodies and the published forms,
BODYGEN_RANDOM_COPIES=100 as many random and strange bodies as five minutes of a processor allow; BODYGEN_SCANS=100
takes a hundred seeds and thirty strange ones.
Nobody can tell a body whose fuller end is the tail from one turned round. So "right" is meant by the centroid: in every
body whose own lies 2 % of length or depth off the middle or more, after the scatter, the fuller end is the nose and the
fuller side the belly; the rest may be either. By the drawn nose it is right wherever it is not told as guessed.
"""

import json
import os
from pathlib import Path

import numpy as np
import pytest
import scans
import trimesh
from amount import MORE, only_with_more
from peak import MOST_KIB, peak_kib, told_by_the_kernel

import bodygen
from bodygen.cli import main
from bodygen.errors import InputError
from bodygen.form.fairing.shape import body_of
from bodygen.form.integrals import body_volume
from bodygen.mesh.measure import mesh_volume
from bodygen.mesh.skin import Mesh, Rings
from bodygen.scan.cloud import traced
from bodygen.scan.cloud.sureness import CLEAR as CENTROID
from bodygen.scan.cloud.sureness import SURE
from bodygen.shop.jigs.cradle import cradles
from bodygen.shop.jigs.fastening import default_cradle

PARAMS = Path(__file__).parents[2] / "params"
COPIES, ALL = (int(os.environ.get(name, "0")) for name in ("BODYGEN_RANDOM_COPIES", "BODYGEN_SCANS"))
RANDOM = range(max(6 * COPIES // 10, ALL)) or (0, 12) * MORE
STRANGE = range(100, 100 + max(COPIES // 5, 3 * ALL // 10)) or (115,) * MORE
DEMOS = sorted(path.stem for path in PARAMS.glob("*.toml"))
CLEAR = 0.02
"""Share of length or depth off the middle from which on the fuller end must be taken for the nose, or for the belly."""
TRACED = 0.01
"""Share of the length by which a traced centroid may lie beside the true one: the axis may be 3 degrees off."""


def demo(name):
    return body_of(bodygen.read_recipe(PARAMS / f"{name}.toml"))


def hold(true, posed, path, p95, volume, whole=None):
    """Hold the recipe's body against the true one; nose and back against its centroid, and against the drawn if sure.

    ``whole`` is the true volume [mm^3]: the mesh of a small body is up to 0.2 % within it.
    """
    scan, body = scans.found(posed, path)
    near = scans.nearness(true, posed, scan, body, whole)
    assert near.p95 <= p95
    assert abs(near.volume) <= max(volume, 3 * scans.chance_of(true))
    low, high = true.vertices.min(axis=0), true.vertices.max(axis=0)
    off = ((low + high) / 2 - mesh_volume(true).centroid) / (high - low)
    for axis, decided in ((0, scan.nose), (2, scan.back)):
        if abs(off[axis]) >= CLEAR:
            assert near.turn[axis, axis] * off[axis] > 0, "the fuller end is the nose, the fuller side the belly"
        assert decided.sure < SURE or near.turn[axis, axis] > 0, "said to be sure, and wrong"
    assert scan.nose.sure >= SURE or abs(off[0]) < CENTROID + TRACED, "said as guessed though it is clear"
    return scan


@only_with_more
def test_a_scan_in_inches_with_lip_and_hooks_turned_anyhow_is_the_demo_again(tmp_path):
    """Within 0.35 mm and 1.2 % was asked with hardware; the lip and the hooks say which way up it is."""
    body = demo("tarn-perch-70")
    true = scans.fine(body)
    rng = np.random.default_rng(5)
    posed = scans.scan_of(scans.with_hardware(true, *body.sizes()[:2]), rng)
    scan, traced_body = scans.found(posed, tmp_path / "a.stl")
    near = scans.nearness(true, posed, scan, traced_body)
    assert near.p95 <= 0.12
    assert abs(near.volume) <= 0.004
    assert np.diag(near.turn) == pytest.approx([1, 1, 1], abs=0.01)
    assert min(scan.nose.sure, scan.back.sure) > 0.95
    assert sum("hook" in word for word in scan.seen.words) == 2
    assert sum("sheet" in word for word in scan.seen.words) == 1


@only_with_more
def test_a_surface_outside_the_fits_own_family_with_two_holes_comes_within_what_was_asked(tmp_path):
    true = scans.strange(3)
    right = np.flatnonzero(true.vertices[:, 1] > 0)
    places = true.vertices[[right[len(right) // 3], int(np.argmax(true.vertices[:, 2]))]]
    posed = scans.scan_of(scans.with_holes(true, places), np.random.default_rng(3), scale=1.0)
    scan = hold(true, posed, tmp_path / "a.ply", 0.35, 0.012)
    assert len(scan.holes) >= 2
    assert {"back"} <= {hole.side for hole in scan.holes}


@only_with_more
@pytest.mark.parametrize("name", DEMOS)
@pytest.mark.parametrize("worn", ["bare", "hardware", "holes"])
def test_every_demo_comes_back(name, worn, tmp_path):
    body = demo(name)
    true = scans.fine(body)
    x = np.array([0.35, 0.6]) * body.length
    places = np.array([[x[0], body.half_width_at(x)[0], 0], [x[1], 0, body.heights_at(x)[1][1]]])
    mesh = {
        "bare": lambda: true,
        "hardware": lambda: scans.with_hardware(true, *body.sizes()[:2]),
        "holes": lambda: scans.with_holes(true, places),
    }[worn]()
    p95, volume = (0.12, 0.004) if worn == "bare" else (0.35, 0.012)
    whole = body_volume(body).volume
    hold(true, scans.scan_of(mesh, np.random.default_rng(1)), tmp_path / "a.stl", p95, volume, whole)


@pytest.mark.parametrize("seed", RANDOM)
def test_random_bodies_come_back(seed, tmp_path):
    body = scans.random_body(seed)
    if body is None:
        pytest.skip("a mesh, or refused")
    true = scans.fine(body)
    posed = scans.scan_of(true, np.random.default_rng(seed))
    hold(true, posed, tmp_path / "a.stl", 0.12, 0.004, body_volume(body).volume)


@only_with_more
def test_what_does_not_come_back_yet_is_said_to_fit_badly(tmp_path):
    """93 has flat sides and a blunt tail off the axis: sawn off, as it is taken in inches, it comes back.

    In mm it is closed, and its tip moves to the rim, whence no small step leads back: the flats' fit ends in a spike,
    which no point holds, and then 12 mm short.
    """
    body = scans.random_body(93)
    true = scans.fine(body)
    posed = scans.scan_of(true, np.random.default_rng(93), scale=1.0)
    scan, again = scans.found(posed, tmp_path / "a.stl")
    near = scans.nearness(true, posed, scan, again, body_volume(body).volume)
    told = {one.code for one in traced._findings(scan, ())}
    assert near.p95 <= 0.12 or "scan-fits-badly" in told


@only_with_more
@pytest.mark.parametrize("seed", [2, 7])
def test_a_small_bait_comes_back_from_another_scanners_scatter_too(seed, tmp_path):
    """Of 35 mm, rows 0.5 mm apart: the skin once ran up and down between them, near to every point, 4.5 % too large."""
    body = scans.random_body(79)
    posed = scans.scan_of(scans.fine(body), np.random.default_rng(seed))
    hold(scans.fine(body), posed, tmp_path / "a.stl", 0.12, 0.004, body_volume(body).volume)


@pytest.mark.parametrize("seed", STRANGE)
def test_surfaces_outside_the_fits_own_family_come_back(seed, tmp_path):
    true = scans.strange(seed)
    hold(true, scans.scan_of(true, np.random.default_rng(seed)), tmp_path / "a.stl", 0.12, 0.004)


@only_with_more
@told_by_the_kernel
def test_a_scan_of_two_million_triangles_is_traced_in_little_memory(tmp_path):
    body = demo("beck-dace-80")
    u, v = np.linspace(body.breaks[0], body.breaks[-1], 1001), np.linspace(0, body.segments, 500)
    at = [body.places(u, np.full(len(u), around))[0] for around in v]
    scans.saved(Rings(np.stack(at, axis=1), (body.nose_flat, body.tail_flat)).mesh(), tmp_path / "fine.stl")
    assert (tmp_path / "fine.stl").stat().st_size > 50 * 1_990_000  # a binary STL has 50 bytes a triangle
    words = ["trace", "scan", "fine.stl", "--name", "fine", "--units", "mm", "--bare"]
    assert peak_kib(tmp_path, *words) < MOST_KIB
    again = body_of(bodygen.read_recipe(tmp_path / "fine.toml"))
    assert body_volume(again).volume == pytest.approx(body_volume(body).volume, rel=0.002)


@pytest.mark.parametrize(
    ("size", "name", "sure"), [(3.0, "in", True), (0.08, "m", True), (76.0, "mm", True), (8.0, "cm", False)]
)
def test_the_unit_goes_by_the_length_and_is_asked_for_where_two_would_do(size, name, sure):
    _, unit, guessed = traced._unit(Path("a.stl"), size, "auto", None)
    assert (unit, not guessed) == (name, sure)
    assert all("--units decides" in str(one) for one in guessed)


def test_a_direction_that_lies_across_the_bait_is_refused():
    turn = np.eye(3)[[1, 0, 2]]  # the bait lies along y of its file
    with pytest.raises(InputError, match="says nothing: the nose of this scan points along y of the file"):
        traced._told(turn, 0, "+x")
    assert traced._told(np.eye(3), 0, "-x") is False, "the nose is where x is least"
    assert traced._told(np.eye(3), 2, "-z") is True


def test_the_command_writes_a_recipe_that_weighs_and_says_what_it_guessed(tmp_path, monkeypatch, capsys):
    """An ellipsoid mirrors every way, so all is guessed; 4/3 pi a b c is its volume, within 0.3 %."""
    monkeypatch.chdir(tmp_path)
    scans.saved(scans.ball((200, 0, 0)), tmp_path / "egg.stl")
    words = ["trace", "scan", "egg.stl", "--name", "egg", "--bare", "--nose", "-x", "--mass", "9 g", "--json"]
    assert main(words) == 0
    answer = json.loads(capsys.readouterr().out)
    assert answer["volume_cm3"] == pytest.approx(4 / 3 * np.pi * 35 * 8 * 11 / 1000, rel=0.003)
    assert [one["what"] for one in answer["guessed"]][:1] == ["back"]
    assert answer["fit"]["p95_mm"] < 0.05
    assert bodygen.assess(bodygen.read_recipe(tmp_path / "egg.toml")).findings is not None
    assert "reserve" in (tmp_path / "egg.toml").read_text(encoding="utf-8")


def naca(x):
    """Half thickness of the NACA 0024 section, c = 1: Abbott and von Doenhoff (1959), eq. 6.2, with 0.1036."""
    return 5 * 0.24 * (0.2969 * np.sqrt(x) - 0.1260 * x - 0.3516 * x**2 + 0.2843 * x**3 - 0.1036 * x**4)


def suboff(x):
    """Radius over length of the DARPA SUBOFF bare hull, x = 0 to 1.

    Groves, Huang, Chang, DTRC/SHD-1298-01 (1989): the bow, the middle, the afterbody, its cap; from memory.
    """
    feet, most = x * 14.291667, 0.8333333
    bow = 0.3 * feet - 1
    front = np.clip(
        1.126395101 * feet * bow**4 + 0.442874707 * feet**2 * bow**3 + 1 - bow**4 * (1.2 * feet + 1), 0, None
    ) ** (1 / 2.1)
    r, k0, k1 = 0.1175, 10.0, 44.6244
    s = (13.979167 - feet) / 3.333333
    terms = (
        r**2 + r * k0 * s**2 + (20 - 20 * r**2 - 4 * r * k0 - k1 / 3) * s**3
        + (-45 + 45 * r**2 + 6 * r * k0 + k1) * s**4 + (36 - 36 * r**2 - 4 * r * k0 - k1) * s**5
        + (-10 + 10 * r**2 + r * k0 + k1 / 3) * s**6
    )  # fmt: skip
    after = np.sqrt(np.clip(terms, 0, None))
    cap = r * np.sqrt(np.clip(1 - (3.2 * feet - 44.733333) ** 2, 0, None))
    share = np.select([feet < 3.333333, feet < 10.645833, feet < 13.979167], [front, np.ones_like(x), after], cap)
    return most / 14.291667 * share


@only_with_more
@pytest.mark.parametrize(("radius", "length"), [(naca, 70.0), (suboff, 160.0)], ids=["naca-0024", "suboff"])
def test_published_forms_keep_their_volume(radius, length, tmp_path):
    """Pi times the integral of the published radius squared; 0.3 % was asked."""
    t = (1 - np.cos(np.linspace(0, np.pi, 4001))) / 2
    closed_form = np.pi * np.trapezoid(radius(t) ** 2, t) * length**3
    rows = np.clip((1 - np.cos(np.linspace(0, np.pi, 220))) / 2, 0, 1)
    profile = radius(rows) * length
    profile[[0, -1]] = 0.0
    mesh = scans.revolved(rows * length, profile)
    _, body = scans.found(scans.Posed(Mesh(mesh.vertices, mesh.faces), np.eye(3), np.zeros(3), 1.0), tmp_path / "a.stl")
    assert body_volume(body).volume == pytest.approx(closed_form, rel=0.003)


@only_with_more
def test_a_cradle_of_the_traced_recipe_holds_the_bait_that_was_scanned(tmp_path):
    """The gap that was asked for, within 0.15 mm at p95, below the rim by a millimetre and more."""
    name = "fell-reed-110"
    true = scans.fine(demo(name), 0.01)
    posed = scans.scan_of(true, np.random.default_rng(2))
    scan, body = scans.found(posed, tmp_path / "a.stl")
    bait = (true.vertices @ posed.turn.T + posed.move) @ scan.turn.T + scan.move
    held = cradles(bodygen.read_recipe(PARAMS / f"{name}.toml"), body, scans.fine(body, 0.01), ())
    for part, place, rim in zip(held.parts, held.placements, held.rims, strict=False):
        points = bait @ place[:, :3].T + place[:, 3]
        deep = points[:, 2] < np.interp(points[:, 0], rim[:, 0], rim[:, 1]) - 1.0
        away = trimesh.proximity.closest_point_naive(
            trimesh.Trimesh(part.mesh.vertices, part.mesh.faces, process=False), points[deep][::40]
        )[1]
        assert np.percentile(np.abs(away - default_cradle().gap), 95) <= 0.15
