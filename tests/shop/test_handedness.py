"""Left and right, nose and tail: films and shells of a body whose flanks differ, wrapped on it again by geometry.

The body is a tube, half an ellipse of one width on the right and of another on the left: skin that unrolls without
error, so where a point of a film comes to lie on it is known in closed form.
"""

from dataclasses import replace
from math import radians, tan

import manifold3d
import numpy as np
import pytest
from carved import body, body_skin
from carved import tools as carved_tools
from tube import HALF_DEPTH, HALF_WIDTHS, VIEW, tube

from bodygen.form.facing import FLANKS, SIDES
from bodygen.form.probe import probe_of
from bodygen.recipe.model import Mask
from bodygen.shop.carrier import carrier
from bodygen.shop.flank import flank_of
from bodygen.shop.lettering import label_box
from bodygen.shop.mask_film import film_of, labels_on, mask_films, usual_film
from bodygen.shop.masks import regions, side_view_of

SLANT = radians(20.0)
BARS = Mask("bars", "bars", start=20.0, end=52.0, low=0.2, high=0.8, count=3, width=4.0, slant=SLANT)
SAME = 0.02
"""Share of a region's area by which two outlines of it may differ: the grid's 1 mm steps along the edges."""


def girth_up_to(z, side):
    """Way along the half ellipse from the middle of the belly up to height z (k,), by quadrature [mm]."""
    a = np.linspace(0.0, np.pi, 20001)
    speed = np.hypot(HALF_WIDTHS[side] * np.cos(a), HALF_DEPTH * np.sin(a))
    way = np.concatenate([[0.0], np.cumsum((speed[1:] + speed[:-1]) / 2 * np.diff(a))])
    return np.interp(np.arccos(-np.asarray(z) / HALF_DEPTH), a, way)


def bars_unrolled(side):
    """The bars as they lie on the skin of a flank, seen from outside and rolled out from the belly upwards."""
    low, high = (-HALF_DEPTH + share * 2 * HALF_DEPTH for share in (0.2, 0.8))
    z = np.linspace(low, high, 200)
    to_the_right = -1.0 if side == "right" else 1.0  # seen from the bait's right, its tail (x) lies to the left
    rings = []
    for middle in (22.0, 36.0, 50.0):
        x = np.concatenate([middle - 2.0 + z * tan(SLANT), (middle + 2.0 + z * tan(SLANT))[::-1]])
        rings.append(np.column_stack([to_the_right * x, girth_up_to(np.concatenate([z, z[::-1]]), side)]))
    return manifold3d.CrossSection(rings, manifold3d.FillRule.NonZero)


def apart(film, skin):
    """Area of what is in one shape alone, the two boxes laid on each other, as a share of the skin's."""
    (a, b, c, d), (e, f, g, h) = film.bounds(), skin.bounds()
    film = film.translate(((e + g - a - c) / 2, (f + h - b - d) / 2))
    return ((film - skin).area() + (skin - film).area()) / skin.area()


@pytest.mark.parametrize("side", SIDES)
def test_a_film_wrapped_on_its_flank_seen_from_outside_covers_the_slanted_bars_there(side):
    (bars,), _ = regions([BARS], VIEW, ())
    flank = flank_of(None, tube(), 1.0, 65, 1.0, side)
    (film,) = film_of(bars, flank, VIEW, usual_film())
    assert film.errors[0] < 1e-3  # a tube unrolls
    expected = bars_unrolled(side)
    assert apart(film.cut_out, expected) < SAME
    assert apart(film.cut_out.mirror((1.0, 0.0)), expected) > 0.3  # the other flank's would not do
    other = "left" if side == "right" else "right"
    assert apart(film.cut_out, bars_unrolled(other).mirror((1.0, 0.0))) > 3 * SAME  # nor this one's turned over


@pytest.mark.parametrize("side", SIDES)
def test_what_is_cut_in_the_files_drawing_is_that_film_and_its_arrow_points_to_the_nose(side):
    (bars,), _ = regions([BARS], VIEW, ())
    (drawing,), _ = mask_films(None, tube(), VIEW, [bars])
    cut, words = drawing.layers
    rings = [np.array(loop.points(0.01)) for loop in cut.items]
    upper = [ring for ring in rings if (ring[:, 1].mean() > np.mean([r[:, 1].mean() for r in rings]))]
    mine = upper if side == "right" else [ring for ring in rings if not any(ring is one for one in upper)]
    mine = sorted(mine, key=np.ptp, reverse=True)[1:]  # without the film's own outline
    assert apart(manifold3d.CrossSection(mine, manifold3d.FillRule.EvenOdd), bars_unrolled(side)) < SAME
    assert sum(text.label == "nose >" for text in words.items if hasattr(text, "label")) == 1
    labels = [text.label for text in words.items if hasattr(text, "label")]
    assert labels == ["nose >", "right flank", "bars", "< nose", "left flank", "bars"]


def eye_on(side):
    """The ellipsoid's eye sockets of one flank."""
    return [tool for tool in carved_tools() if tool.kind == "eye" and (tool.axis[1] < 0) == (side == "right")]


@pytest.mark.parametrize("side", SIDES)
def test_an_eye_on_one_flank_has_one_film_with_its_nose_side_where_the_body_is_less_deep(side):
    """On the ellipsoid's fore part a film is lower towards the nose: at the right for the right flank."""
    view = side_view_of(probe_of(body()))
    (ring,), _ = regions([Mask("eye", "eye")], view, eye_on(side))
    assert tuple(ring.on) == (side,)
    (film,) = film_of(ring, flank_of(body(), body_skin(), 1.0, 33, 1.0, side), view, usual_film())
    x0, _, x1, _ = film.sheet.bounds()
    strip = manifold3d.CrossSection.square((1.0, 200.0)).translate((0.0, -100.0))
    at_left, at_right = ((film.sheet ^ strip.translate((x, 0.0))).area() for x in (x0 + 1.0, x1 - 2.0))
    assert FLANKS[side].nose == ("right" if at_left > at_right else "left")
    assert next(text.label for text in labels_on(film, usual_film())) == ("nose >" if side == "right" else "< nose")


def test_two_eyes_at_different_places_have_each_its_own_ring():
    right = eye_on("right")[0]
    left = eye_on("left")[0]
    moved = replace(left, origin=(left.origin[0] + 9.0, *left.origin[1:]))
    (ring,), _ = regions([Mask("eye", "eye")], side_view_of(probe_of(body())), (right, moved))
    assert {side: round(np.mean(shape.bounds()[::2]), 3) for side, shape in ring.on.items()} == {
        "right": pytest.approx(right.origin[0], abs=1e-3),
        "left": pytest.approx(right.origin[0] + 9.0, abs=1e-3),
    }


def test_lettering_lies_within_the_films_outline_clear_of_its_cuts():
    view = side_view_of(probe_of(body()))
    made, _ = regions([Mask(kind, kind) for kind in ("back", "flank", "bars", "gill")], view, ())
    for region in made:
        for side in SIDES:
            (film,) = film_of(region, flank_of(body(), body_skin(), 1.0, 33, 1.0, side), view, usual_film())
            texts = labels_on(film, usual_film())
            assert {f"{side} flank", region.name} <= {text.label for text in texts}
            for text in texts:
                x0, y0, x1, y1 = label_box(text)
                box = manifold3d.CrossSection.square((x1 - x0, y1 - y0)).translate((x0, y0))
                assert (box - film.sheet).area() < 1e-6


def test_the_carriers_word_nose_stands_towards_the_nose():
    (frame, _), _ = carrier(body_skin(), carved_tools(), (), None)
    (word,) = (mark for mark in frame.marks if mark.label == "nose")
    x0, _, x1, _ = frame.outline.box
    assert word.at[0] < (x0 + x1) / 2
