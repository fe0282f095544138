"""Masks: regions that share out the flank, and films that are true to what they say."""

from dataclasses import replace
from functools import cache
from math import pi, radians, sqrt, tan

import manifold3d
import numpy as np
import pytest
from carved import body, body_skin, tools
from painted import USUAL, region_areas
from shaped import NAMES, recipe, shaped

from bodygen.form.cuts import Revolved
from bodygen.form.ray_caster import ray_caster_of
from bodygen.mesh.measure import mesh_skin
from bodygen.mesh.skin import body_mesh
from bodygen.recipe.model import Mask
from bodygen.shop.masks.film import default_film, film_of, mask_films
from bodygen.shop.masks.regions import regions, side_view_of
from bodygen.shop.skin.flank import flank_of

VIEW = side_view_of(ray_caster_of(body()))


def drawn(*masks):
    return regions(masks, VIEW, tools())[0]


@cache
def of(name):
    a, r = shaped(name), recipe(name)
    view = side_view_of(a.caster)
    return a, view, regions(r.masks or USUAL, view, a.tools)[0]


@pytest.mark.parametrize("name", NAMES)
def test_back_flank_and_belly_share_out_the_whole_flank(name):
    """Half the whole skin, flat ends included: the body is its own mirror image."""
    a = shaped(name)
    bands = regions([Mask(kind, kind) for kind in ("back", "flank", "belly")], side_view_of(a.caster), a.tools)[0]
    whole = mesh_skin(a.mesh).area / 2
    for side in ("right", "left"):
        areas = region_areas([region.on[side] for region in bands], a.mesh, side)
        assert min(areas) > 0.1 * whole
        assert sum(areas) == pytest.approx(whole, rel=1e-9)


def test_bars_and_what_lies_between_them_make_their_band():
    (bars,) = drawn(Mask("bars", "bars", low=0.3, high=0.9, count=5, width=4.0, slant=radians(10)))
    (band,) = drawn(Mask("flank", "flank", low=0.3, high=0.9))
    between = band.on["right"] - bars.on["right"]
    whole, painted, left = region_areas([band.on["right"], bars.on["right"], between], body_skin(), "right")
    assert painted + left == pytest.approx(whole, rel=1e-9)
    assert (bars.on["left"] - band.on["left"]).is_empty()


def test_bars_are_as_many_as_wide_and_as_slanted_as_told():
    (bars,) = drawn(
        Mask("bars", "bars", start=20.0, end=60.0, low=0.0, high=1.0, count=5, width=3.0, slant=radians(12))
    )

    def cuts(z):
        strip = manifold3d.CrossSection.square((100.0, 0.002)).translate((-10.0, z - 0.001))
        return np.array([piece.bounds() for piece in (bars.on["right"] ^ strip).decompose()])[:, [0, 2]]

    at_axis, above = np.sort(cuts(0.0), axis=0), np.sort(cuts(10.0), axis=0)
    assert len(at_axis) == 5
    assert np.diff(at_axis, axis=1) == pytest.approx(3.0, abs=1e-3)
    assert (at_axis.min(), at_axis.max()) == pytest.approx((20.0, 60.0), abs=1e-3)
    assert above - at_axis == pytest.approx(10.0 * tan(radians(12)), abs=1e-3)


def test_a_band_lies_between_its_shares_of_the_depth():
    """On the ellipsoid, 30 mm deep at mid-length: shares 0.25 and 0.6 are heights -7.5 and 3."""
    (band,) = drawn(Mask("flank", "flank", start=30.0, end=50.0, low=0.25, high=0.6))
    strip = manifold3d.CrossSection.square((0.002, 60.0)).translate((39.999, -30.0))
    x0, low, x1, high = band.on["right"].bounds()
    assert (x0, x1) == pytest.approx((30.0, 50.0))
    assert (band.on["right"] ^ strip).bounds()[1::2] == pytest.approx((-7.5, 3.0), abs=0.01)
    assert low == pytest.approx(-7.5, abs=0.01)
    assert high == pytest.approx(3.0, abs=0.01)


def test_a_gill_is_a_band_of_an_arc_at_its_place():
    (gill,) = drawn(Mask("gill", "gill", x=22.0, width=2.0, low=0.3, high=0.7))
    _, low, right, high = gill.on["right"].bounds()
    assert right == pytest.approx(22.0, abs=0.02)
    strip = manifold3d.CrossSection.square((60.0, 0.002)).translate((0.0, -0.001))
    assert (gill.on["right"] ^ strip).bounds()[0] == pytest.approx(20.0, abs=0.02)
    assert low < 0 < high


def test_an_eyes_ring_is_what_its_bore_leaves_of_a_disc():
    (eye,) = drawn(Mask("eye", "eye", width=1.5))
    bore = next(tool for tool in tools() if tool.kind == "eye")
    assert tuple(eye.on) == ("right", "left")
    hole = manifold3d.CrossSection.circle(bore.diameter / 2, 96).translate((bore.origin[0], bore.origin[2]))
    ring = pi * ((bore.diameter / 2 + 1.5) ** 2 - (bore.diameter / 2) ** 2)
    assert (eye.on["right"] - hole).area() == pytest.approx(ring, rel=2e-3)


def test_a_mask_without_a_place_is_told():
    _, findings = regions([Mask("eye", "eye"), Mask("bars", "bars", start=200.0, end=220.0)], VIEW, ())
    assert [(f.code, f.where) for f in findings] == [("mask-nowhere", "mask[1]"), ("mask-nowhere", "mask[2]")]


@pytest.mark.parametrize("name", NAMES)
def test_the_area_cut_out_of_a_film_is_the_regions_own_within_what_the_film_says(name):
    """Each length is off by the greatest error at most, so an area by at most (1 + e)^2; the mean error does better."""
    a, view, found = of(name)
    flank = flank_of(a.body, a.mesh, 1.0, 33, default_film().least_girth)
    first, last = flank.x[0], flank.x[-1]
    covered = manifold3d.CrossSection.square((last - first, 400.0)).translate((first, -200.0))
    for region in found:
        if "right" not in region.on:
            continue
        (film,) = film_of(region, flank, view, default_film())
        area = region_areas([region.on["right"] ^ covered], a.mesh, "right")[0]
        worst, mean = film.errors
        assert 0 <= mean <= worst < 0.35
        assert film.cut_out.area() == pytest.approx(area, rel=2 * mean + 0.02)


def test_films_of_the_two_flanks_are_mirror_images():
    bars, size = drawn(Mask("bars", "bars"))[0], default_film()
    right, left = (
        film_of(bars, flank_of(body(), body_skin(), 1.0, 33, 1.0, side), VIEW, size)[0] for side in ("right", "left")
    )
    assert (right.side, left.side) == ("right", "left")
    assert (right.sheet.mirror((1.0, 0.0)) - left.sheet).area() == pytest.approx(0.0, abs=1e-6)
    assert [tick.length for tick in left.ticks] == pytest.approx([tick.length for tick in right.ticks])


def test_a_film_that_wrinkles_is_a_warning_and_one_that_does_not_a_note():
    found = drawn(Mask("back", "back"), Mask("gill", "gill"))
    drawings, findings = mask_films(body(), body_skin(), VIEW, found, "made up")
    stretched = [f for f in findings if f.code == "film-stretched"]
    assert [f.severity for f in stretched] == ["warning", "note"]
    assert all(f.limit == pytest.approx(100 * default_film().wrinkles) for f in stretched)
    assert list(drawings) == [region.name for region in found]
    for drawing in drawings.values():
        assert {layer.name: layer.role for layer in drawing.layers} == {"CUT": "cut", "ENGRAVE": "mark"}
        assert drawing.about == "made up"
    easy = replace(default_film(), wrinkles=0.5)
    assert {f.severity for f in mask_films(body(), body_skin(), VIEW, found, size=easy)[1]} == {"note"}


def test_a_film_says_how_far_its_cut_ends_before_the_body_does():
    """A spheroid, 80 mm long and 20 mm across: its half girth is 1 mm at sqrt(1 - (x / 40 - 1)^2) = 0.1 / pi."""
    round_body = body(80.0, 20.0, 20.0)
    skin, view = body_mesh(round_body, 0.02), side_view_of(ray_caster_of(round_body))
    found, _ = regions([Mask("back", "back")], view, ())
    _, findings = mask_films(round_body, skin, view, found)
    (short,) = (f for f in findings if f.code == "film-short")
    assert short.value == pytest.approx(40 * (1 - sqrt(1 - (0.1 / pi) ** 2)), abs=0.01)  # as it is told: 0.01 mm
    told = f"{short.value:.2f} mm short of the"
    assert (f"{told} nose" in short.remedy, f"{told} tail" in short.remedy) == (True, True)


def test_where_a_flat_end_does_not_close_the_film_goes_all_the_way():
    a, view, _ = of("reedbed-roach-65")
    found, _ = regions([Mask("back", "back")], view, ())
    _, findings = mask_films(a.body, a.mesh, view, found)
    (short,) = (f for f in findings if f.code == "film-short")
    assert "nose" in short.remedy
    assert "tail" not in short.remedy


def test_the_recipes_masks_are_the_ones_that_are_made():
    _, _, found = of("tarn-perch-70")
    assert [region.name for region in found] == [mask.name for mask in recipe("tarn-perch-70").masks]
    assert any(isinstance(tool, Revolved) and tool.kind == "eye" for tool in shaped("tarn-perch-70").tools)
