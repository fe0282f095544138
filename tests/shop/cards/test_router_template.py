"""Router templates: the cutter is sent round them in software, and what it leaves is the outline."""

from dataclasses import replace
from math import hypot

import pytest
from shaped import NAMES, shaped
from shapely import LineString, Point, Polygon

from bodygen.plane.polygon import filleted, polygon
from bodygen.shop.cards.router_template import default_router, router_template
from bodygen.shop.skin.silhouette import plan_view, side_view

BUSH = replace(default_router(), bush=12.0, cutter=6.0)
SAG = 0.0005


def area_of(loop):
    return Polygon(loop.points(SAG))


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("sizes", [default_router(), BUSH], ids=["bearing", "bush"])
def test_the_cutter_leaves_the_outline_between_the_straps(name, sizes):
    """The bush rolls round the template: its middle half a bush away; the wood left is what no cutter disc covers."""
    s = shaped(name)
    for outline in (side_view(s.body, s.mesh), plan_view(s.body, s.mesh)):
        card, checks = router_template(outline, "side", sizes)
        if card is None:
            assert {doubt.code for doubt in checks} == {"router-no-template"}
            continue
        left = area_of(card.outline).buffer(sizes.bush / 2, quad_segs=64).buffer(-sizes.cutter / 2, quad_segs=64)
        x0, _, x1, _ = outline.box
        hidden = next(doubt.value for doubt in checks if doubt.code == "router-strap-hides")
        reach = sizes.bush  # the bush keeps off the corner between strap and outline
        span = Polygon([
            (x0 + hidden + reach, -99),
            (x1 - hidden - reach, -99),
            (x1 - hidden - reach, 99),
            (x0 + hidden + reach, 99),
        ])
        if x1 - x0 < 2 * (hidden + reach) + 2:
            continue
        said = [doubt for doubt in checks if doubt.code in ("router-hollow", "router-bulge")]
        apart = left.symmetric_difference(area_of(outline)).intersection(span)
        assert said or apart.buffer(-0.01).is_empty


def test_ears_hold_their_screws_beyond_both_ends():
    s = shaped("tarn-perch-70")
    sizes = default_router()
    card, _ = router_template(side_view(s.body, s.mesh), "side", sizes)
    nose, tail = card.holes
    assert nose.centre[0] == pytest.approx(-sizes.reach, abs=0.01)
    assert tail.centre[0] == pytest.approx(s.sizes[0] + sizes.reach, abs=0.01)
    assert area_of(card.outline).buffer(-(sizes.ear - sizes.screw) / 4).contains(Point(nose.centre))
    assert card.outline.ccw
    assert LineString(card.outline.points(0.01)).is_simple


def test_a_hollow_tighter_than_the_cutter_is_told_with_its_place_and_radius():
    """A notch 2 mm in radius in a bar 60 x 20: a 12.7 mm cutter stands on its shoulders."""
    top = [(60.0, 10.0), (34.0, 10.0), (32.0, 4.0), (28.0, 4.0), (26.0, 10.0), (0.0, 10.0)]
    bar = filleted([(0.0, -10.0), (60.0, -10.0), *top], [0, 0, 0, 1, 2, 2, 1, 0])
    _, checks = router_template(bar, "side", default_router())
    hollows = [doubt for doubt in checks if doubt.code == "router-hollow"]
    assert len(hollows) == 1
    assert hollows[0].limit == pytest.approx(6.35)
    assert hollows[0].value == pytest.approx(2.0)
    assert "stay uncut in the hollow at x " in hollows[0].remedy
    thin, checks = router_template(bar, "side", replace(default_router(), bush=3.0, cutter=3.0))
    assert thin is not None
    assert not [doubt for doubt in checks if doubt.code == "router-hollow"]


def test_a_corner_is_rounded_off_by_a_bush_and_the_amount_is_told():
    """A square corner swept by a cutter whose bush is 2 a wider comes out with radius a: (sqrt 2 - 1) a is lost."""
    kite = polygon([(0.0, -2.0), (30.0, -14.0), (60.0, -2.0), (60.0, 2.0), (30.0, 14.0), (0.0, 2.0)])
    _, checks = router_template(kite, "side", BUSH)
    bulges = [doubt for doubt in checks if doubt.code == "router-bulge"]
    assert bulges
    half = hypot(30, 12)
    lost = 3.0 * (half / 30 - 1)  # 1/cos of the slope, less one
    assert any(f"{lost:.2f} mm are rounded off at x 30.0" in doubt.remedy for doubt in bulges)


def test_a_bush_smaller_than_its_cutter_is_refused():
    card, checks = router_template(polygon([(0, -5), (50, -5), (50, 5), (0, 5)]), "side", replace(BUSH, bush=5.0))
    assert card is None
    assert [(doubt.code, doubt.severity) for doubt in checks] == [("router-bush", "error")]


def test_an_outline_thinner_than_the_offset_has_no_template_and_a_remedy():
    card, checks = router_template(polygon([(0, -2), (50, -2), (50, 2), (0, 2)]), "plan", BUSH)
    assert card is None
    assert checks[0].code == "router-no-template"
