"""A scan laid over the bait on the page: it comes back where the bait lies; what is no scan is refused."""

import json
import struct

import numpy as np
import pytest
from amount import only_with_more
from scans import any_turn, fine, with_holes
from spoilt import SPOILT, stl
from tab import PERCH

import bodygen
from bodygen.form.fairing.shape import body_of

TEXT = PERCH.read_text(encoding="utf-8")
BODY = body_of(bodygen.read_recipe(PERCH))


def lay(page, name, content, text=TEXT):
    tail = json.dumps({"file": None, "text": text}).encode()
    return page.send("POST", f"{page.below}lay?name={name}", content + tail + struct.pack("<I", len(tail)))


def away(mesh):
    """Its triangles, turned and moved as a scanner does."""
    at = mesh.vertices @ any_turn(np.random.default_rng(5)).T + (31.0, -17.0, 8.0)
    return stl(at[mesh.faces])


@only_with_more
def test_a_demos_own_body_turned_and_moved_comes_back_over_it(page):
    told = lay(page, "found.stl", away(fine(BODY, 0.02))).json()
    length, depth, thickness = BODY.sizes()
    sides = {"side": (length, depth), "plan": (length, thickness), "nose": (thickness, depth)}
    for view, wanted in sides.items():
        (line,) = told["views"][view]
        low, high = np.min(line, axis=0), np.max(line, axis=0)
        np.testing.assert_allclose(high - low, wanted, atol=0.1)  # as near as a scanner of the usual kind sees
        if view != "nose":
            assert abs(low[0]) < 0.1, "nose to nose"
    corners = np.array(told["positions"]).reshape(-1, 3)
    assert np.array(told["index"]).max() < len(corners) < 8000
    from bodygen.scan.nearest import signed_distances

    assert np.abs(signed_distances(BODY, corners)).max() < 0.1
    assert told["sentence"].startswith("0.0")
    assert "mm off the body in the mean" in told["sentence"]


@only_with_more
def test_it_stays_where_it_was_laid_and_the_departure_is_that_of_the_bait_as_it_is_now(page):
    told = lay(page, "found.stl", away(fine(BODY, 0.02))).json()
    deeper = page.ask(TEXT, {"shape.depth": "1 in"}, want="whole")[0]["text"]
    now = page.post("departs", {"text": deeper, "file": None, "places": told["places"]}).json()["sentence"]
    places = np.array(told["places"])
    from bodygen.recipe.read import parse_recipe
    from bodygen.scan.nearest import signed_distances

    off = np.abs(signed_distances(body_of(parse_recipe(deeper)), places))
    assert f"{off.mean():.2f} mm off the body in the mean" in now
    assert f"the farthest is {off.max():.2f} mm missing" in now
    assert off.max() > 1.0, "25.4 mm deep instead of 22.2"


@only_with_more
def test_an_open_scan_is_laid_as_a_closed_one_is(page):
    mesh = fine(BODY, 0.004)
    told = lay(page, "open.stl", away(with_holes(mesh, mesh.vertices[[5000, 9000]], 3.0))).json()
    assert len(told["index"]) <= 3 * 8000 < 3 * len(mesh.faces)
    assert told["sentence"].startswith("0.0")


@pytest.mark.parametrize("name", ["no-number.stl", *(name for name in ("picture.stl",) if name in SPOILT)])
def test_a_spoilt_scan_is_refused_as_when_it_is_traced(page, name):
    traced = page.send("POST", f"{page.below}drop?name={name}", SPOILT[name]).json()
    told = lay(page, name, SPOILT[name]).json()
    assert told["refused"]
    assert told["message"] == traced["message"]
    assert page.ask(TEXT)[0]["refused"] is None


def test_what_is_no_scan_or_has_no_bait_after_it_is_told_what_is_taken(page):
    assert lay(page, "tool.exe", b"MZ").json()["message"].startswith("tool.exe: not a kind of file that is laid")
    for content in (b"", b"so", b"solid x" + struct.pack("<I", 2**32 - 1), b"[]" + struct.pack("<I", 2)):
        assert page.send("POST", f"{page.below}lay?name=x.stl", content).status == 400
    for places in (None, [], [[0, 1]], [[0, 1, True]], [[1e9, 0, 0]], [[0, 0, "x"]]):
        assert page.post("departs", {"text": TEXT, "file": None, "places": places}).status == 400
