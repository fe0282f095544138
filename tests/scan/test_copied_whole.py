"""The whole way as a maker goes it: the page printed, the bait laid on it, photographed, its recipe built, held.

The bait of the demo is what is held in the end, by the cradles that the traced recipe's own folder has.
"""

import json

import cv2
import numpy as np
import pdfplumber
import pinhole
import pytest
import scans
import traced
import trimesh
from amount import only_with_more
from pinhole import Shot

import bodygen
from bodygen.cli import main
from bodygen.export.stl import write_stl
from bodygen.scan.copies.pose import laid_over, places_on
from bodygen.scan.copies.specimen import specimen_of
from bodygen.shop.jigs.cradle import cradles
from bodygen.shop.jigs.fastening import default_cradle

DOTS = 8.0
"""Of the rendered page [px/mm]."""
NEAR_MM = 0.15
"""How near the gap is to what was asked at its 95th percentile: what a copy should hold.

Of a bait from photographs most of what is left (the perch's 0.13) is its squareness, which no picture shows: 2.2 is
taken for 2.1, and at the shoulders that is 0.1 mm.
"""
PHOTOGRAPHED = ("tarn-perch-70", "beck-dace-80")


def printed(path):
    """The page of a PDF as a picture, by another program than wrote it."""
    with pdfplumber.open(path) as pdf:
        return np.asarray(pdf.pages[0].to_image(resolution=DOTS * 25.4).original.convert("RGB")), DOTS


def gaps(recipe, body):
    """How far the bait lies from both cradles of a recipe, well below their rims (k,) [mm]: laid in as it fits best."""
    copy = specimen_of(recipe, "mm")
    bait, _ = places_on(laid_over(scans.fine(body), copy.mesh).of(scans.fine(body)), 1000)
    held = cradles(copy.recipe, copy.body, copy.mesh, ())
    found = []
    for part, place, rim in list(zip(held.parts, held.placements, held.rims, strict=False))[:2]:
        points = bait @ place[:, :3].T + place[:, 3]
        deep = points[:, 2] < np.interp(points[:, 0], rim[:, 0], rim[:, 1]) - 1.0
        cradle = trimesh.Trimesh(part.mesh.vertices, part.mesh.faces, process=False)
        found.append(trimesh.proximity.closest_point_naive(cradle, points[deep])[1])
    return np.concatenate(found)


@pytest.fixture
def bench(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    return tmp_path


@only_with_more
@pytest.mark.parametrize("name", PHOTOGRAPHED)
def test_the_cradles_of_a_photographed_bait_hold_it(name, bench, capsys):
    body = traced.demo(name)
    assert main(["trace", "page"]) == 0
    page = printed(bench / "trace-page-a4.pdf")
    size = (2600, 1900)
    side = Shot(tilt=11, size=size, turn=60, seed=3)
    top = Shot(tilt=9, size=size, turn=200, hooks=False, aside=(-5.0, 5.0), seed=6)
    cv2.imwrite("side.png", pinhole.photograph(body, side, printed=page)[..., ::-1])
    cv2.imwrite("top.png", pinhole.photograph(body, top, printed=page, on_belly=True)[..., ::-1])
    capsys.readouterr()
    assert (
        main(["trace", "photo", "side.png", "--top", "top.png", "--page", "a4", "--name", "Copy", "--bare", "--json"])
        == 0
    )
    found = json.loads(capsys.readouterr().out)
    assert found["length_mm"] == pytest.approx(body.length, abs=0.5)  # what is promised of a photograph
    made = bodygen.build(bodygen.read_recipe("copy.toml"), bench / "out", only="cradles")
    assert any("cradle" in file.name for file in made.manifest.files)
    off = gaps(bench / "copy.toml", body) - default_cradle().gap
    assert np.percentile(np.abs(off), 95) <= NEAR_MM


@only_with_more
@pytest.mark.parametrize("name", PHOTOGRAPHED)
def test_the_cradles_of_a_scanned_bait_hold_it(name, bench, capsys):
    body = traced.demo(name)
    posed = scans.scan_of(scans.fine(body), np.random.default_rng(2), 0.05, scale=1.0)
    write_stl(posed.mesh, bench / "scan.stl", "scan")
    assert main(["trace", "scan", "scan.stl", "--units", "mm", "--name", "Copy", "--bare"]) == 0
    off = gaps(bench / "copy.toml", body) - default_cradle().gap
    assert np.percentile(np.abs(off), 95) <= NEAR_MM
