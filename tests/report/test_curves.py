"""The righting curves' page, against a closed form: wholly under, the moment is that of a pendulum."""

from math import radians, sin

import numpy as np
import pytest
from lettering import label_boxes
from test_afloat import clashes, floating, overlap, part, solid

from bodygen.export.png import page_png
from bodygen.export.svg import page_svg
from bodygen.flotation.righting import RightingCurve, righting_curve
from bodygen.recipe.model import Recipe, Stations
from bodygen.report.pictures.curves import N_MM_PER_OZF_IN, PAGE, righting_sheet, stays_at

ANGLES = tuple(float(a) for a in range(-180, 181, 10))


def recipe(units="mm"):
    return Recipe("Tarn perch", units, Stations("b.csv", ()))


def pendulum(about, most=0.9, offset=0.0):
    """M = W BG sin(angle), elementary statics."""
    return RightingCurve(about, ANGLES, tuple(most * sin(radians(a - offset)) for a in ANGLES))


def test_an_ounce_force_inch_is_what_the_definitions_make_it():
    """28.349523125 g (NIST Handbook 44, appendix C) under 9.80665 m/s^2 at 25.4 mm."""
    assert pytest.approx(0.028349523125 * 9.80665 * 25.4) == N_MM_PER_OZF_IN


def test_the_curve_is_drawn_as_computed():
    sheet = righting_sheet(recipe(), [pendulum("roll"), pendulum("pitch", 3.0)])
    (curve,), frame = part(sheet, "roll curve"), part(sheet, "axes")[0]
    up = (frame[:, 1].mean() - curve[:, 1]) / (np.ptp(frame[:, 1]) / 2) * 1.12 * 0.9
    assert up == pytest.approx([0.9 * sin(radians(a)) for a in ANGLES], abs=1e-9)
    across = (curve[:, 0] - frame[:, 0].min()) / np.ptp(frame[:, 0]) * 360 - 180
    assert across == pytest.approx(ANGLES, abs=1e-9)


def test_it_would_stay_where_the_moment_rises_through_zero():
    assert stays_at(pendulum("roll", offset=33.0)) == pytest.approx((33.0,), abs=0.1)
    assert stays_at(pendulum("roll")) == pytest.approx((0.0,), abs=1e-9)


def test_inch_recipes_get_ounce_force_inches():
    texts = [text for text, _ in label_boxes(righting_sheet(recipe("in"), [pendulum("roll", N_MM_PER_OZF_IN)]))]
    assert "moment [ozf in]" in texts
    assert "most 1 ozf in at 90°" in texts


@pytest.mark.parametrize("seed", range(40))
def test_no_lettering_overlaps_or_leaves_the_page_whatever_the_moments(seed):
    rng = np.random.default_rng(seed)
    curves = [
        RightingCurve(about, ANGLES, tuple(10 ** rng.uniform(-4, 4) * rng.normal(size=len(ANGLES)) + rng.normal()))
        for about in ("roll", "pitch")
    ]
    sheet = righting_sheet(recipe(["mm", "in"][seed % 2]), curves)
    assert (sheet.width, sheet.height) == PAGE
    boxes = [box for _, box in label_boxes(sheet)]
    assert not [1 for i, a in enumerate(boxes) for b in boxes[:i] if overlap(a, b)]
    assert clashes(sheet) == []


def test_a_real_bait_s_curves_are_the_same_bytes_every_time():
    s = floating(facets=1.0)
    hull = solid(80.0, 24.0, 18.0, 1.0)[2]
    curves = [righting_curve(hull, s.attitude, s.centre_of_mass, 1.0, about) for about in ("roll", "pitch")]
    first, second = (righting_sheet(s.recipe, curves) for _ in range(2))
    assert page_svg(first) == page_svg(second)
    assert page_png(first, 60) == page_png(second, 60)
    assert 0.0 in [round(a, 6) for a in stays_at(curves[0])]
