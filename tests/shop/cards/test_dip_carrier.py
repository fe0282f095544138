"""The carrier: nothing but the wires comes near the skin, and its holes lie on the lines of the eyes."""

from dataclasses import replace
from math import ceil, hypot

import manifold3d
import numpy as np
import pytest
from carved import body_skin, tools
from shaped import NAMES, recipe, shaped

from bodygen.mesh.cut import to_manifold
from bodygen.recipe.model import Fitting
from bodygen.shop.cards.dip_carrier import carrier, default_carrier, eyes_of, side_shadow


def of(name):
    a = shaped(name)
    return a, carrier(a.mesh, a.tools, recipe(name).fittings, a.plate)


def solid_frame(card, thickness):
    """The frame as it stands around the bait, in body axes."""
    shape = manifold3d.CrossSection([card.outline.points(0.01)], manifold3d.FillRule.Positive)
    for hole in card.holes:
        shape -= manifold3d.CrossSection([hole.points(0.01)], manifold3d.FillRule.NonZero)
    place = np.array([[1.0, 0, 0, 0], [0, 0, -1.0, thickness / 2], [0, 1.0, 0, 0]])
    return shape.extrude(thickness).transform(place)


@pytest.mark.parametrize("name", NAMES)
def test_the_frame_keeps_its_gap_from_the_whole_skin(name):
    a, (cards, findings) = of(name)
    if not cards:
        assert [f.code for f in findings] == ["carrier-no-eye"]
        return
    size = default_carrier()
    frame = solid_frame(cards[0], size.thickness)
    assert size.gap <= frame.min_gap(to_manifold(a.mesh), 60.0) <= size.gap + 0.3
    assert len(frame.decompose()) == 1


@pytest.mark.parametrize("name", NAMES)
def test_every_hole_lies_on_its_eyes_line_in_the_middle_of_the_band(name):
    a, (cards, _) = of(name)
    size = default_carrier()
    for card in cards[:1]:
        shadow = side_shadow(a.mesh, a.tools, a.plate)
        eyes = eyes_of(shadow, a.tools, recipe(name).fittings)
        for eye, hole in zip(eyes, card.holes[2:], strict=True):
            away = np.array(hole.centre) - eye.foot
            assert abs(away @ np.array([-eye.way[1], eye.way[0]])) < 1e-6
            assert away @ eye.way > size.gap
            edges = [*card.outline.points(0.01)], [*card.holes[0].points(0.01)]
            wall = min(hypot(x - hole.centre[0], z - hole.centre[1]) for ring in edges for x, z in ring)
            assert wall > size.hole / 2 + 1.0


def test_a_tie_and_a_hanger_are_the_eyes_and_a_ring_only_where_there_is_none():
    shadow = side_shadow(body_skin(), tools(), None)
    at_tie = Fitting("nose ring", "ring", (-2.0, 0.0, 1.0), "rigged", size="#3")
    at_tail = Fitting("tail ring", "ring", (83.0, 0.0, 0.0), "rigged", size="#3")
    beside = Fitting("eyes", "ring", (40.0, 9.0, 0.0), "rigged", size="#3")
    eyes = eyes_of(shadow, tools(), (at_tie, at_tail, beside))
    assert [eye.name for eye in eyes] == ["tie", "tail ring"]
    assert eyes[0].way == pytest.approx((-1.0, 0.0))
    assert eyes[1].way == pytest.approx((1.0, 0.0), abs=0.05)


def test_without_an_eye_there_is_no_carrier_and_with_one_a_note():
    cards, (finding,) = carrier(body_skin(), (), (), None)
    assert (cards, finding.code, finding.severity) == ((), "carrier-no-eye", "warning")
    _, (finding,) = carrier(body_skin(), tools(), (), None)
    assert (finding.code, finding.severity) == ("carrier-one-eye", "note")


def test_the_comb_keeps_two_baits_apart_by_the_gap():
    size = replace(default_carrier(), seats=6)
    (_, comb), _ = carrier(body_skin(), tools(), (), None, size)
    edges = sorted({x for x, y in comb.outline.points(0.01) if y > size.tab[0]} - {0.0})
    slots = np.array(edges[:-1]).reshape(6, 2)
    assert np.diff(slots, axis=1) == pytest.approx(size.thickness + size.fit)
    assert np.diff(slots[:, 0]) == pytest.approx(ceil(20.0 + size.gap))  # the body is 20 mm thick
    assert f"{ceil(20.0 + size.gap) - 20.0:.1f} mm between" in comb.purpose


def test_the_frame_passes_a_lip_that_is_in_already():
    a, (cards, _) = of("tarn-perch-70")
    bare = carrier(a.mesh, a.tools, recipe("tarn-perch-70").fittings, None)[0]
    assert cards[0].outline.area > bare[0].outline.area
