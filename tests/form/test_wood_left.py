"""Every doubt about wood left fires just inside its limit and not just outside, by distances worked out by hand.

On a round bar of radius 12 mm the skin is 12 - hypot(y, z) away from any point inside. Limits are those of
``tables/limits.toml`` (common practice, no published source) unless the recipe says its own.
"""

from math import hypot, pi, sqrt

import planks
import pytest

from bodygen.form.cuts.checks import limits_of
from bodygen.recipe.model import Bore, Counterbore, Limits, Lip, WireSlot, Wood

BAR = planks.bar()
NEAR = 0.05
"""Either side of a limit [mm]: the bar is 0.003 mm from a circle, its facets 0.02, the search stops at 0.02."""
THIN = 3.175
WIDE_OPEN = Limits(0.1, 0.1, 0.1, 0.1, 0.1)


def codes(**parts):
    return [finding.code for finding in planks.checks(BAR, **parts)]


def flat(depth, x=40.0, kind="any", diameter=4.0, **more):
    """A flat-bottomed bore up from the belly: its rim is hypot(depth - 12, diameter/2) from the bar's axis."""
    return Bore(f"bore at {x}", kind, "belly", diameter, depth, x=x, tip="flat", **more)


def depth_that_leaves(wood):
    """Of a 4 mm flat bore whose rim leaves this much to the back."""
    return 12 + sqrt((12 - wood) ** 2 - 4)


def test_the_skin_comes_near_where_the_rim_leaves_less_than_the_limit():
    (found,) = planks.checks(BAR, bores=(flat(depth_that_leaves(THIN - NEAR)),))
    assert (found.code, found.severity, found.limit, found.unit) == ("bore-near-skin", "warning", THIN, "mm")
    assert found.value == pytest.approx(THIN - NEAR, abs=0.03)
    assert codes(bores=(flat(depth_that_leaves(THIN + NEAR)),)) == []


@pytest.mark.parametrize("diameter", [1.0, 4.0])
def test_a_bore_breaks_out_where_its_rim_passes_the_skin_however_thin(diameter):
    """The thin one comes out between two vertices of the mesh."""
    rim = diameter / 2
    out, kept = (12 + sqrt((12 + way) ** 2 - rim**2) for way in (NEAR, -NEAR))
    (found,) = planks.checks(BAR, bores=(flat(out, diameter=diameter, x=41.3),))
    assert (found.code, found.severity) == ("bore-breaks-out", "error")
    assert found.value == pytest.approx(-NEAR, abs=0.03)
    assert found.lengths == pytest.approx((41.3,), abs=rim)
    assert f"comes out through the skin near x = {found.lengths[0]:.2f} mm" in found.told("mm")
    assert codes(bores=(flat(kept, diameter=diameter, x=41.3),)) == ["bore-near-skin"]


def test_a_bore_that_is_meant_to_go_through_does_not_break_out():
    through = Bore("pivot", "through", "belly", 3.0, None, x=40.0)
    assert codes(bores=(through,)) == []


def test_ballast_comes_near_the_back_under_its_own_limit():
    ballast = 6.35
    assert codes(bores=(flat(depth_that_leaves(ballast - NEAR), kind="ballast"),)) == ["ballast-near-back"]
    assert codes(bores=(flat(depth_that_leaves(ballast + NEAR), kind="ballast"),)) == []


def test_two_bores_are_close_where_less_than_the_limit_stands_between_their_walls():
    for gap, expected in ((THIN - NEAR, ["bores-close"]), (THIN + NEAR, [])):
        assert codes(bores=(flat(8, x=30), flat(8, x=34 + gap))) == expected


def test_two_bores_meet_where_their_walls_pass_each_other():
    for gap, expected in ((-NEAR, ["bores-meet"]), (NEAR, ["bores-close"])):
        assert codes(bores=(flat(8, x=30), flat(8, x=34 + gap))) == expected


@pytest.mark.parametrize(("gap", "expected"), [(-NEAR, "bores-meet"), (NEAR, "bores-close")])
def test_bores_that_lean_away_from_each_other_meet_in_the_wood_beside_their_mouths(gap, expected):
    """At 45 degrees a 4 mm drill is in wood sqrt 2 of its radius along the skin before its axis is."""
    apart = 2 * 2 * sqrt(2) + gap
    leaning = [
        Bore(
            f"{way:g}",
            "any",
            "point",
            4.0,
            8.0,
            at=(40 + way * apart / 2, 0.0, -12.0),
            direction=(way, 0.0, 1.0),
            tip="flat",
        )
        for way in (-1.0, 1.0)
    ]
    (found,) = (f for f in planks.checks(BAR, bores=tuple(leaning)) if f.code.startswith("bores"))
    assert found.code == expected
    assert found.value == pytest.approx(gap, abs=0.03)


def test_a_through_bore_is_its_own_width_below_its_counterbore():
    """8 mm wide for 3 mm, then 2 mm: the wall of a bore beside it, from the other side, stands 3 mm from it."""
    stepped = Bore("pivot", "through", "belly", 2.0, None, x=40.0, counterbore=Counterbore(8.0, 3.0))
    beside = Bore("eye", "any", "back", 4.0, 8.0, x=46.0, tip="flat")
    assert codes(bores=(stepped, beside), limits=Limits(bore_to_bore=3.0 - NEAR)) == []
    assert codes(bores=(stepped, beside), limits=Limits(bore_to_bore=3.0 + NEAR)) == ["bores-close"]


@pytest.mark.parametrize(
    ("depth", "offset", "expected"),
    [(8.0, 0.0, []), (13.0, 0.0, ["bore-meets-kerf"]), (13.0, 3.0, []), (13.0, 2.4, ["bore-meets-kerf"])],
)
def test_a_hanger_bored_into_a_kerf_is_told(depth, offset, expected):
    """The kerf is sawn from the back down to the axis, 12 mm over the belly, and 1.2 mm wide; the drill is 4 mm."""
    kerf = WireSlot("through wire", along="back", start=0, end=80, width=1.2, floor=0)
    bore = flat(depth, kind="hanger", offset=offset)
    found = [f for f in planks.checks(BAR, bores=(bore,), wire_slots=(kerf,)) if f.code == "bore-meets-kerf"]
    assert [f.code for f in found] == expected
    assert all(f.severity == "note" and "through wire" in f.remedy for f in found)


@pytest.mark.parametrize(("gap", "expected"), [(THIN - NEAR, ["bores-close"]), (THIN + NEAR, [])])
def test_bores_much_wider_than_deep_are_close_where_their_walls_are(gap, expected):
    """8 mm wide and 2.5 mm deep: their middles lie further apart than their depths reach."""
    assert codes(bores=(flat(2.5, x=30, diameter=8.0), flat(2.5, x=38 + gap, diameter=8.0))) == expected


def test_bores_that_may_meet_are_let_alone():
    assert codes(bores=(flat(8, x=30), flat(8, x=33, may_meet=("bore at 30",)))) == []


def test_sockets_on_both_flanks_may_not_meet_in_the_middle_and_are_named_once():
    """Flat bottoms at y = +-(12 - depth): the gap is twice that. A bore that both come near is told of it once."""
    socket = {"x": 40.0, "tip": "flat", "mirror": True}
    met = planks.checks(BAR, bores=(Bore("eye", "eye", "side", 4.0, 12.0 + NEAR, **socket),), limits=WIDE_OPEN)
    assert [f.code for f in met] == ["bores-meet"]
    assert "its mirror image" in met[0].remedy
    apart = Bore("eye", "eye", "side", 4.0, 12.0 - (THIN + NEAR) / 2, **socket)
    assert codes(bores=(apart,)) == []
    both = codes(
        bores=(Bore("eye", "eye", "side", 4.0, 8.0, **socket), flat(12, x=45.0)), limits=Limits(bore_to_bore=4.0)
    )
    assert both == ["bores-close"]


def upright(**more):
    """A slot 2 mm wide straight up from the belly at x = 15: faces at x = 14 and 16."""
    return Lip("sheet", 2.0, pi / 2, more.pop("slot_depth", 8.0), 20.0, 16.0, x=15.0, fit=0.0, **more)


def test_a_bore_comes_near_the_slot_and_runs_into_it():
    limit = 4.7625
    for gap, expected in (
        (limit + NEAR, []),
        (limit - NEAR, ["bore-near-slot"]),
        (NEAR, ["bore-near-slot"]),
        (-NEAR, ["bore-meets-slot"]),
    ):
        assert codes(bores=(flat(8, x=16 + 2 + gap),), lip=upright()) == expected


def test_a_slot_comes_out_where_its_end_passes_the_back_and_comes_near_before():
    for left, expected in ((-NEAR, ["slot-comes-out"]), (NEAR, ["slot-near-back"]), (THIN + NEAR, [])):
        assert codes(lip=upright(slot_depth=24 - left)) == expected
    assert codes(lip=upright(slot_depth=24 - THIN + NEAR)) == ["slot-near-back"]


def test_the_chin_of_a_belly_slot_is_the_wood_ahead_of_it():
    """From the slot's front edge (14, -12) to the middle of the nose (0, 0)."""
    ahead = hypot(14, 12)
    assert codes(lip=upright(), limits=Limits(chin=ahead + NEAR)) == ["chin-thin"]
    assert codes(lip=upright(), limits=Limits(chin=ahead - NEAR)) == []


def test_the_chin_of_a_nose_slot_is_the_wood_under_it():
    """A level slot 2 mm wide at height -4: its lower face lies 7 mm above the belly."""
    lip = Lip("sheet", 2.0, 0.0, 9.0, 20.0, 16.0, entry="nose", height=-4.0, fit=0.0)
    assert codes(lip=lip, limits=Limits(chin=7 + NEAR)) == ["chin-thin"]
    assert codes(lip=lip, limits=Limits(chin=7 - NEAR)) == []


@pytest.mark.parametrize(("left", "expected"), [(THIN - NEAR, ["slot-near-back"]), (THIN + NEAR, [])])
def test_a_long_slot_from_the_nose_comes_near_the_back_at_its_far_end(left, expected):
    """Level, 40 mm long and 2 mm wide: its upper face lies a limit's worth under the back, 12 mm over the axis."""
    lip = Lip("sheet", 2.0, 0.0, 40.0, 20.0, 16.0, entry="nose", height=11 - left, fit=0.0)
    assert codes(lip=lip) == expected


def test_limits_are_the_recipes_own_then_the_woods_then_the_tables():
    plain = limits_of(planks.recipe())
    assert plain["bore_to_skin"] == THIN
    assert limits_of(planks.recipe(wood=Wood("balsa")))["bore_to_skin"] == 4.7625
    assert limits_of(planks.recipe(wood=Wood("balsa"), limits=Limits(bore_to_skin=1.0)))["bore_to_skin"] == 1.0
    assert set(plain) == {
        *("bore_to_skin", "bore_to_bore", "ballast_to_back", "bore_to_slot", "chin", "past_mouth"),
        *("hanger_to_slot", "eye_to_slot"),
    }


def test_a_kinds_own_limit_is_never_more_than_the_recipe_asks_of_every_bore():
    assert limits_of(planks.recipe())["eye_to_slot"] == 2.38125
    assert limits_of(planks.recipe(limits=Limits(bore_to_slot=2.0)))["eye_to_slot"] == 2.0
    assert limits_of(planks.recipe(limits=Limits(bore_to_slot=2.0, eye_to_slot=3.0)))["eye_to_slot"] == 3.0


def test_a_narrow_hole_may_lie_nearer_the_slot_than_a_ballast_bore():
    limit = 2.38125
    for gap, expected in ((limit + NEAR, []), (limit - NEAR, ["bore-near-slot"])):
        assert codes(bores=(flat(8, x=16 + 1 + gap, kind="hanger", diameter=2.0),), lip=upright()) == expected
