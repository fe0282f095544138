"""A bore's own mouth is no break-out, a pointed tip is told of, and each kind of bore has its own limit.

By distances worked out by hand on a round bar of radius 12 mm and on a double cone. Limits are those of
``tables/limits.toml``: 1.5 diameters from a screw's axis to the edge is NDS-2018's for lag screws pulled straight out
(from memory), the others are common practice, no published source.
"""

from math import radians, sqrt

import numpy as np
import planks
import pytest

from bodygen.form.cuts import Revolved, bore_skin
from bodygen.form.cuts.hole import in_profile
from bodygen.form.cuts.skin import Skin
from bodygen.recipe.model import Bore, Limits, Wood
from bodygen.tables import COMMON_PRACTICE as COMMON

BAR = planks.bar()
CONE = planks.double_cone()
NEAR = 0.05
"""Either side of a limit [mm]: as in ``test_wood_left``."""


def codes(body=BAR, **parts):
    return [(finding.code, finding.severity) for finding in planks.checks(body, **parts)]


def tail_hanger(depth, **more):
    return Bore("tail hanger", "hanger", "tail", 1.2, depth, tip="flat", **more)


@pytest.mark.parametrize("depth", [6.0, 10.0, 16.0])
def test_a_tail_hanger_in_a_pointed_tail_takes_the_tip_and_breaks_out_at_no_depth(depth):
    """The cone is 20 mm deep 36 mm before its tip, so it is as deep as the drill is wide 36 * 1.2 / 20 before it."""
    checks = planks.checks(CONE, bores=(tail_hanger(depth),))
    assert {doubt.severity for doubt in checks} == {"warning"}
    found = checks[0]
    assert (found.code, found.severity, found.limit) == ("tip-drilled-away", "warning", 1.0)
    assert found.value == pytest.approx(36 * 1.2 / 20, abs=0.005)
    assert "the body is then 57.84 mm long" in found.told("mm")
    assert "tail.size = 0.2 " in found.remedy  # 2 * 1.2 mm of the 12 mm that it is thick


def test_a_sized_tail_has_a_face_for_the_drill():
    assert codes(planks.double_cone(sized=0.25), bores=(tail_hanger(12.0),)) == []


def test_a_nose_that_loses_less_than_a_millimetre_is_only_noted():
    """24 mm from the tip to 20 mm of depth: a 0.6 mm drill takes 24 * 0.6 / 20 = 0.72 mm."""
    tie = Bore("tie", "tie", "nose", 0.6, 10.0, tip="flat")
    found, *_ = planks.checks(CONE, bores=(tie,))
    assert (found.code, found.severity) == ("tip-drilled-away", "note")
    assert found.value == pytest.approx(0.72, abs=0.005)
    assert "nose.size" in found.remedy


def test_a_drill_wider_than_the_tail_all_along_leaves_a_groove_and_is_an_error():
    (found,) = planks.checks(CONE, bores=(Bore("wide", "any", "tail", 9.0, 8.0, tip="flat"),))
    assert (found.code, found.severity) == ("bore-breaks-out", "error")
    assert "groove" in found.remedy


def test_a_slanting_bore_may_have_a_long_mouth():
    """At 70 degrees the mouth of a 4 mm drill is 12 mm long; the bore ends 4 mm deep under 24 mm of bar."""
    leaning = Bore("leaning", "any", "belly", 4.0, 12.0, x=30.0, lean=radians(70), tip="flat")
    assert "bore-breaks-out" not in [code for code, _ in codes(bores=(leaning,))]


@pytest.mark.parametrize(("height", "out"), [(10.9, False), (11.1, True)])
def test_a_bore_right_through_breaks_out_only_where_it_leaves_a_groove(height, out):
    """2 mm wide, so its upper edge passes the bar's 12 mm of radius at a height of 11."""
    through = Bore("pivot", "through", "side", 2.0, None, x=40.0, height=height)
    assert ("bore-breaks-out" in [code for code, _ in codes(bores=(through,))]) is out


@pytest.mark.parametrize(("kind", "code"), [("ballast", "ballast-near-back"), ("hanger", "bore-near-skin")])
def test_less_than_half_a_millimetre_under_the_back_is_an_error(kind, code):
    """The rim of a flat 4 mm bore lies 2 mm off the middle of a 12 mm circle."""
    for wood, expected in ((0.5 - NEAR, "error"), (0.5 + NEAR, "warning")):
        deep = Bore("deep", kind, "belly", 4.0, 12 + sqrt((12 - wood) ** 2 - 4), x=40.0, tip="flat")
        assert codes(bores=(deep,)) == [(code, expected)]


def test_a_hanger_needs_a_diameter_of_wood_round_its_inner_part():
    """Along the bar at a height of h a 2 mm hole has 11 - h of wood: 1.5 diameters from its axis is h = 9."""
    for height, expected in ((9 - NEAR, []), (9 + NEAR, [("bore-near-skin", "warning")])):
        hanger = Bore("hanger", "hanger", "nose", 2.0, 20.0, height=height, tip="flat")
        assert codes(bores=(hanger,)) == expected
    own = Bore("hanger", "hanger", "nose", 2.0, 20.0, height=9 + NEAR, tip="flat")
    assert codes(bores=(own,), limits=Limits(hanger_to_skin=1.5)) == []


def test_a_near_skin_names_the_source_of_the_limit_that_it_is_held_against():
    """A diameter of wood round a screw is a published rule; the maker's own limit, and any other bore's, are not."""
    wide = Bore("hanger", "hanger", "nose", 2.0, 20.0, height=9.5, tip="flat")
    slug = Bore("slug", "any", "nose", 2.0, 20.0, height=9.5, tip="flat")
    cases = ((wide, Limits(), "awc_nds_2018"), (wide, Limits(hanger_to_skin=1.9), COMMON), (slug, Limits(), COMMON))
    for bore, limits, source in cases:
        (found,) = planks.checks(BAR, bores=(bore,), limits=limits)
        assert (found.code, found.source) == ("bore-near-skin", source)


def test_balsa_does_not_ask_more_of_a_hanger_than_of_a_slug():
    hanger = Bore("hanger", "hanger", "nose", 2.0, 20.0, height=8.0, tip="flat")
    slug = Bore("slug", "any", "nose", 2.0, 20.0, height=8.0, tip="flat")
    assert codes(bores=(hanger,), wood=Wood("balsa")) == []
    assert codes(bores=(slug,), wood=Wood("balsa")) == [("bore-near-skin", "warning")]


def test_the_figure_of_a_near_skin_is_the_same_whatever_limit_is_asked():
    """A recipe that lowers its limit to the figure it was told is content."""
    ridge = planks.double_cone(thickness=9.0, squareness=2.2)
    slug = Bore("slug", "ballast", "belly", 4.0, 7.0, x=24.0, tip="flat")
    (told,) = (f for f in planks.checks(ridge, bores=(slug,)) if f.code == "bore-near-skin")
    lowered = Limits(bore_to_skin=told.value - 0.01)
    assert [f.code for f in planks.checks(ridge, bores=(slug,), limits=lowered)] == []


def test_a_bore_right_through_between_plane_ends_is_looked_at_in_few_facets(monkeypatch):
    """Its end lies in the plane end itself, where every facet is as near as any other: no reason to quarter them all.

    The 12 mm circle of a plane end, cut as fine as the search goes (0.02 mm), would be a million facets.
    """
    looked_at = []
    quartered = bore_skin._quartered
    monkeypatch.setattr(bore_skin, "_quartered", lambda facets: looked_at.append(len(facets)) or quartered(facets))
    assert "bore-breaks-out" not in [c for c, _ in codes(bores=(Bore("axle", "through", "tail", 12.0, None),))]
    assert 0 < sum(looked_at) < 50_000


def test_a_search_of_very_many_facets_holds_few_at_a_time(monkeypatch):
    """The same findings from batches of a hundred facets as from whole rounds; no batch is larger than it may be."""
    bores = (Bore("slug", "ballast", "belly", 8.0, 20.0, x=40.0, tip="flat"), tail_hanger(12.0))
    whole = [(found.code, found.value) for found in planks.checks(CONE, bores=bores)]
    sizes = []
    batches = bore_skin._batches
    monkeypatch.setattr(bore_skin, "BATCH", 100)
    monkeypatch.setattr(bore_skin, "_batches", lambda *f: [sizes.append(len(b[0])) or b for b in batches(*f)])
    parted = [(found.code, found.value) for found in planks.checks(CONE, bores=bores)]
    assert max(sizes) <= 100
    assert [code for code, _ in parted] == [code for code, _ in whole]
    for (_, one), (_, other) in zip(parted, whole, strict=True):
        assert one == pytest.approx(other, abs=bore_skin.CLOSE_MM)  # either finds the least distance this near


@pytest.mark.parametrize("deep", [4.0, 9.0])
@pytest.mark.parametrize("axis", [(0.0, 0.0, 1.0), (0.6, 0.0, 0.8)])
def test_no_facet_that_may_be_near_a_hole_is_left_out(deep, axis):
    """Nor one beside a counterbore that goes past the point of its own hole, as a maker may write it by mistake."""
    profile = ((-20.0, 0.0), (-20.0, 3.0), (deep, 3.0), (deep, 1.0), (6.0, 1.0), (6.0, 0.0))
    hole = Revolved("b", "any", 0, False, (1.0, 2.0, 3.0), axis, profile, False, 2.0, 6.0, 6.0)
    rng = np.random.default_rng(3)
    corners = rng.uniform(-15, 15, (2000, 1, 3)) + rng.normal(size=(2000, 3, 3))
    skin = Skin(corners, np.zeros((2000, 3)))
    middles, radii = skin.balls()
    may = in_profile(hole, middles.T)[1] - radii < 2.0
    near = skin.near(hole, 2.0)
    kept = (corners[:, None] == near.corners).all(axis=(2, 3)).any(axis=1)
    assert may.any()
    assert not may.all()
    assert kept[may].all()
