"""Eye, lip, tie and hangers are proposed where a photograph shows them, and nothing where it does not.

Bounds: a place within 0.5 mm, a lip's angle within 6 deg and its length within 5 mm: a plate on its edge is a blurred
bar, its far end at an angle to the picture.
"""

from dataclasses import replace

import cv2
import numpy as np
import pinhole
import pytest
import traced
from amount import only_with_more
from pinhole import Shot

from bodygen.cli import main
from bodygen.recipe.read import parse_recipe, read_recipe
from bodygen.scan.photo.parts.eye import round_marks
from bodygen.scan.photo.trace import traced_photos
from bodygen.scan.photo.view import PixelSpan, view_of
from bodygen.scan.proposed import proposed_lines
from bodygen.scan.record import Proposed

BODY = traced.plain()
EYE, LIP = (9.0, 1.5, 5.0), (8.0, -7.0, 42.0, 15.0)
SHOT = Shot(seed=1, size=(2200, 1600))


def proposed(folder, shot, body=BODY):
    cv2.imwrite(str(folder / "side.png"), pinhole.photograph(body, shot)[..., ::-1])
    view = view_of(folder / "side.png", "a4", None)
    trace, measured = traced_photos(view, None, body.sizes()[2], nose_right=False)
    return {part.kind: part for part in trace.proposed}, view, measured


def true_place(shot, view, measured, body, x, z):
    """A place of the flank in the axes that the outline was measured in, which lie a little askew to the body's own."""
    own = pinhole.own_axes(body, shot)
    over = own.flank(x, z)
    at = own.at(np.array([[x, z]]), over)
    matrix, turn, shift = pinhole.lens(shot, (297.0, 210.0))
    seen = (at @ turn.T + shift) @ matrix.T
    return measured.side.own(view.at_height(measured.height + over, pixels=seen[:, :2] / seen[:, 2:]))[0]


@only_with_more
def test_an_eye_and_a_clear_lip_are_proposed_where_they_are_seen(tmp_path):
    shot = replace(SHOT, eye=EYE, lip=LIP)
    parts, view, measured = proposed(tmp_path, shot)
    assert {*parts} == {"line tie", "clear lip", "eye", "hanger"}
    eye, lip = parts["eye"], parts["clear lip"]
    assert (eye.x, eye.z) == pytest.approx(true_place(shot, view, measured, BODY, *EYE[:2]), abs=0.5)
    assert eye.size == pytest.approx(EYE[2], abs=0.5)
    assert np.degrees(lip.angle) == pytest.approx(LIP[2], abs=6)
    assert lip.size == pytest.approx(LIP[3], abs=5)
    assert BODY.heights_at(np.array([lip.x]))[0][0] == pytest.approx(lip.z, abs=1)


@only_with_more
@pytest.mark.parametrize(
    ("shot", "what"),
    [
        (replace(SHOT, lip=LIP, clear=0.05), {"clear lip"}),
        (replace(SHOT, lip=LIP, clear=0.9), {"lip"}),
        (replace(SHOT, tilt=15, turn=100, eye=(10.0, 2.0, 6.0), lip=(7.0, -6.5, 30.0, 18.0)), {"eye", "clear lip"}),
        (replace(SHOT, eye=EYE, bars=False, hooks=False), {"eye"}),
        (replace(SHOT, shadow=0.8), set()),
        (replace(SHOT, noise=6.0), set()),
        (replace(SHOT, bars=False, hooks=False), set()),
    ],
    ids=["faint", "dark", "leant", "plain", "deep shadow", "noise", "bare"],
)
def test_nothing_but_what_is_there_is_proposed(shot, what, tmp_path):
    parts, _, _ = proposed(tmp_path, shot)
    assert {*parts} & {"eye", "lip", "clear lip"} == what
    assert {*parts} - what == ({"line tie", "hanger"} if shot.hooks else set())


@only_with_more
@pytest.mark.parametrize("name", ["tarn-perch-70", "reedbed-roach-65", "beck-dace-80", "fell-reed-110"])
def test_on_a_demo_without_eyes_and_lip_none_are_proposed(name, tmp_path):
    body = traced.demo(name)
    shot = Shot(tilt=10, turn=60, size=(2400, 1750), seed=4, away=520)
    parts, _, _ = proposed(tmp_path, shot, body)
    assert not {*parts} & {"eye", "lip", "clear lip"}


@only_with_more
def test_cloth_whose_weave_is_as_clear_as_a_lip_shows_none(tmp_path):
    """The lip takes a twentieth of the light, the weave more than that; the eye is seen as well as on the page."""
    shot = replace(SHOT, cloth=True, eye=EYE, lip=LIP, clear=0.03)
    cv2.imwrite(str(tmp_path / "side.png"), pinhole.photograph(BODY, shot)[..., ::-1])
    span = PixelSpan(*(pinhole.pixel(shot, place) for place in ((-60, -50), (60, -50))), 120.0)
    trace, _ = traced_photos(view_of(tmp_path / "side.png", None, span), None, 15.0, nose_right=False)
    assert {part.kind for part in trace.proposed} & {"eye", "lip", "clear lip"} == {"eye"}


@only_with_more
def test_a_ring_is_round_and_a_bar_s_end_a_stripe_and_a_slope_of_colour_are_not():
    y, x = np.mgrid[0:200, 0:300]
    rgb = np.full((200, 300, 3), 120, np.uint8)
    everywhere = np.ones((200, 300), bool)
    rgb[:120, 40:60] = 20
    rgb[150:170] = 220
    assert not round_marks(cv2.GaussianBlur(rgb, (0, 0), 1.0), everywhere, everywhere)
    rgb[np.hypot(x - 200.3, y - 80.6) < 14] = (200, 180, 40)
    rgb[np.hypot(x - 200.3, y - 80.6) < 7] = 10
    (mark,) = round_marks(cv2.GaussianBlur(rgb, (0, 0), 1.0), everywhere, everywhere)
    assert mark.centre == pytest.approx([200.3, 80.6], abs=0.7)
    assert mark.radius == pytest.approx(14, abs=0.8)


@pytest.mark.parametrize("ruler", ["mm", "in"])
def test_what_is_proposed_is_a_recipe_s_own_tables_once_the_signs_are_off(ruler):
    parts = (
        Proposed("line tie", 0.0, 0.4),
        Proposed("lip", 9.0, -6.0, 15.0, 0.7),
        Proposed("eye", 9.3, 0.9, 5.0),
        Proposed("hanger", 28.0, -10.0),
        Proposed("hanger", 56.0, -6.0),
        Proposed("tail hanger", 69.9, 0.1),
        Proposed("something on the back", 40.0, 9.0),
    )
    lines = proposed_lines(parts, 70.0, 0.25, ruler)
    assert all(not line or line.startswith("#") for line in lines)
    recipe = parse_recipe("\n".join([traced.PLAIN, *(line[2:] for line in lines[2:])]))
    assert [bore.name for bore in recipe.bores] == [
        "line tie 1",
        "eye",
        "hanger 1",
        "hanger 2",
        "tail hanger 1",
    ]
    assert recipe.bores[2].x == pytest.approx(27.75, abs=0.06)
    assert recipe.lip.angle == pytest.approx(0.7, abs=0.01)
    assert not proposed_lines((), 70.0, 0.0, ruler)


@only_with_more
def test_a_traced_recipe_takes_what_it_proposes(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    picture = pinhole.photograph(BODY, replace(SHOT, eye=EYE, lip=LIP))
    cv2.imwrite("side.png", picture[..., ::-1])
    assert main(["trace", "photo", "side.png", "--page", "a4", "--name", "x", "--thickness", "15 mm"]) == 0
    text = (tmp_path / "x.toml").read_text(encoding="utf-8")
    said, proposal = text.split("# Proposed,")
    assert "a clear lip at x" in said
    tables = "\n".join(line[2:] for line in proposal.splitlines()[1:])
    (tmp_path / "y.toml").write_text(said + tables, encoding="utf-8")
    recipe = read_recipe(tmp_path / "y.toml")
    assert {bore.kind for bore in recipe.bores} == {"tie", "eye", "hanger"}
    assert main(["weigh", "y.toml"]) in {0, 1}
