"""Where a photographed bait ends: a point is drawn out past the blur, a sawn face is not seen past its edges."""

import cv2
import numpy as np
import pinhole
import pytest
import traced
from amount import only_with_more
from pinhole import Shot

from bodygen.scan.photo.outline.edge import blur_of, refined
from bodygen.scan.photo.outline.light import linear_light
from bodygen.scan.photo.outline.silhouette import without_thin
from bodygen.scan.photo.outline.tips import with_tips
from bodygen.scan.photo.trace import traced_photos
from bodygen.scan.photo.view import view_of

GROUND, BAIT = (194, 133, 190), (60, 110, 50)


def spindle(slope, blur, angle):
    """A picture of two wedges back to back, 300 px from point to point, and its loop [px]."""
    fine, half = 8, 150.0
    deep = slope * 60 / 2
    loop = np.array([
        (-half, 0),
        (-half + 60, deep),
        (half - 60, deep),
        (half, 0),
        (half - 60, -deep),
        (-half + 60, -deep),
    ])
    c, s = np.cos(angle), np.sin(angle)
    loop = loop @ np.array([[c, s], [-s, c]]) + (200.3, 200.6)
    mask = np.zeros((400 * fine, 400 * fine), np.uint8)
    cv2.fillPoly(mask, [np.round(((loop + 0.5) * fine - 0.5) * 16).astype(np.int32)], 255, shift=4)
    share = cv2.resize(mask, (400, 400), interpolation=cv2.INTER_AREA)[..., None] / 255
    light = (1 - share) * (np.array(GROUND) / 255) ** 2.2 + share * (np.array(BAIT) / 255) ** 2.2
    light = cv2.GaussianBlur(light, (0, 0), blur)
    return np.clip(255 * light ** (1 / 2.2), 0, 255).astype(np.uint8), loop


def blunted(loop, by):
    """The loop as a segmentation leaves it: its points cut off across [px], its places a fifth of a pixel apart."""
    middle = loop.mean(axis=0)
    along = (loop[3] - loop[0]) / np.linalg.norm(loop[3] - loop[0])
    fine = np.concatenate([
        a + np.linspace(0, 1, 400, endpoint=False)[:, None] * (b - a)
        for a, b in zip(loop, np.roll(loop, -1, axis=0), strict=True)
    ])
    at = (fine - middle) @ along
    return fine - np.clip(np.abs(at) - (150 - by), 0, None)[:, None] * np.sign(at)[:, None] * along


@pytest.mark.parametrize(("slope", "blur", "angle"), [(1.6, 1.0, 0.0), (1.0, 1.5, 0.3), (0.7, 2.0, -1.0)])
def test_a_point_that_blur_and_graph_cut_took_off_is_found_again(slope, blur, angle):
    """Within 0.6 px, 0.12 mm, of 4 px that were taken off; what is tried lies 0.25 px apart."""
    rgb, loop = spindle(slope, blur, angle)
    light = linear_light(rgb)
    found = with_tips(light, blunted(loop, 4.0), blur_of(light, blunted(loop, 4.0)))
    for point in (loop[0], loop[3]):
        assert np.linalg.norm(found - point, axis=1).min() < 0.6
    along = (loop[3] - loop[0]) / 300
    assert np.ptp(found @ along) == pytest.approx(300, abs=1.2)


@pytest.mark.parametrize("blur", [1.0, 1.5, 2.0])
def test_the_blur_of_a_picture_is_measured(blur):
    """Half of a pixel's square and the light between pixels come on top: 0.3 px of 1, in squares."""
    rgb, loop = spindle(1.6, blur, 0.2)
    assert blur_of(linear_light(rgb), blunted(loop, 0.0)) == pytest.approx(np.hypot(blur, 0.35), rel=0.12)


def test_a_wire_at_the_point_leaves_the_end_as_it_was_found():
    rgb, loop = spindle(1.6, 1.0, 0.0)
    rgb[197:204, 345:] = BAIT
    short = blunted(loop, 4.0)
    found = with_tips(linear_light(rgb), short, 1.1)
    assert found[:, 0].max() == pytest.approx(short[:, 0].max(), abs=0.01)


def test_a_long_thin_tail_seen_from_above_is_the_body_and_a_wire_is_not():
    """A wedge of 1 in 3 is thinner than a plate over its last 7 mm; a wire of 2 mm beside it is none."""
    x, y = np.meshgrid(np.arange(500), np.arange(200) - 100)
    half = np.clip(np.minimum((x - 60) / 2, (440 - x) / 6), 0, 35)
    wedge = np.abs(y) < half
    body, _ = without_thin(wedge)
    assert np.flatnonzero(body.any(axis=0)).max() >= 434
    wired = wedge | (np.abs(y) < 5) & (x > 400) & (x < 480)
    body, thin = without_thin(wired)
    assert np.flatnonzero(body.any(axis=0)).max() < 445
    assert thin[:, 460:].any()


@only_with_more
def test_a_sawn_tail_is_as_long_as_it_is_however_the_rays_lean(tmp_path):
    """Seen from 400 mm the far edge of an 11 mm wide tail stands 0.45 mm past its face; half of 0.3 mm is left."""
    body = traced.demo("reedbed-roach-65")
    picture = pinhole.photograph(body, Shot(tilt=9, turn=250, focal=0.9, away=400, seed=2))
    cv2.imwrite(str(tmp_path / "side.png"), picture[..., ::-1])
    _, measured = traced_photos(view_of(tmp_path / "side.png", "a4", None), None, body.sizes()[2], nose_right=False)
    assert measured.side.length == pytest.approx(body.length, abs=0.15)


def test_a_pointed_tail_is_not_cut_short(tmp_path):
    """It came out 0.47 mm short when the graph cut had the last word."""
    body = traced.demo("tarn-perch-70")
    picture = pinhole.photograph(body, Shot(tilt=9, turn=250, focal=0.9, away=400, seed=2))
    cv2.imwrite(str(tmp_path / "side.png"), picture[..., ::-1])
    _, measured = traced_photos(view_of(tmp_path / "side.png", "a4", None), None, body.sizes()[2], nose_right=False)
    assert measured.side.length == pytest.approx(body.length, abs=0.3)


def disc(radius, *, bar, wire):
    """A bright disc of 120 px with a dark bar that ends ``bar`` px inside its left edge, and a wire out of its top."""
    fine = 8
    y, x = (np.mgrid[0 : 300 * fine, 0 : 300 * fine] + 0.5) / fine - 0.5 - 150.2
    picture = np.where((np.hypot(x, y) < radius)[..., None], (0.6, 0.6, 0.5), (np.array(GROUND) / 255) ** 2.2)
    if bar:
        picture[(np.hypot(x, y) < radius) & (x > bar - radius) & (x < bar + 20 - radius)] = 0.02
    if wire:
        picture[(np.abs(x) < wire / 2) & (y < -radius + 5)] = 0.15
    light = cv2.resize(picture.astype(np.float32), (300, 300), interpolation=cv2.INTER_AREA)
    return cv2.GaussianBlur(light, (0, 0), 1.0)


@pytest.mark.parametrize("spoiled", [{"bar": 2.5, "wire": 0}, {"bar": 1.5, "wire": 0}, {"bar": 0, "wire": 6}])
def test_a_bar_that_ends_beside_the_outline_and_a_wire_s_foot_do_not_move_it(spoiled):
    """Within 0.6 px, 0.12 mm: the bar's own edge lies 2.5 px inside, and the wire, 1.2 mm thick, goes straight out."""
    turn = np.linspace(0, 2 * np.pi, 1500, endpoint=False)[:, None]
    rough = 150.2 + 60.3 * np.hstack([np.cos(turn), np.sin(turn)])
    found = refined(disc(60.0, **spoiled), rough)
    assert np.abs(np.linalg.norm(found - 150.2, axis=1) - 60).max() < 0.6
