"""What goes on a bore moves with it: at its mouth, or at the outer end of the eye there, on a bar of radius 12 mm."""

from dataclasses import replace

import planks
import pytest

from bodygen.form.cuts.hung import hung, hung_checks
from bodygen.form.hooks.treble import trebles_of
from bodygen.form.ray_caster import ray_caster_of
from bodygen.recipe.model import Bore, Fitting, WireSlot

BAR = planks.bar()
HANGER = Bore("belly hanger", "hanger", "belly", 1.2, 8.0, x=40.0, tip="flat")
EYE = Fitting("eye", "screw_eye", (0.0, 0.0, 0.0), "hangers", size="1 x 12 mm", on="belly hanger")
RING = Fitting("ring", "ring", (0.0, 0.0, 0.0), "rigged", size="#3", on="belly hanger")
HOOK = Fitting("treble", "hook", (0.0, 0.0, 0.0), "rigged", size="#8", on="belly hanger")
KERF = WireSlot("kerf", "back", 10.0, 70.0, 1.2, depth=6.0)
"""Its floor is 6 mm above the axis."""


def placed(bore, *fittings, slots=()):
    tools = planks.tools(BAR, bores=(bore,), wire_slots=slots)
    recipe = hung(planks.recipe(bores=(bore,), fittings=fittings, wire_slots=slots), tools, ray_caster_of(BAR))
    return recipe, hung_checks(recipe, tools, ray_caster_of(BAR))


def told(checks):
    return [(doubt.code, doubt.where) for doubt in checks]


@pytest.mark.parametrize("x", [30.0, 55.0])
def test_a_hook_hangs_from_the_eye_of_its_bore_and_moves_with_it(x):
    """The mouth is 12 mm under the axis; the ring of a 1 x 12 mm eye is 3 mm inside."""
    recipe, checks = placed(replace(HANGER, x=x), EYE, HOOK)
    assert recipe.fittings[0].at == pytest.approx((x, 0, -12), abs=1e-3)
    assert recipe.fittings[1].at == pytest.approx((x, 0, -15), abs=1e-3)
    assert checks == ()


@pytest.mark.parametrize("order", [(EYE, RING, HOOK), (HOOK, RING, EYE), (RING, HOOK, EYE)])
def test_eye_ring_and_hook_hang_in_their_order_whatever_the_files(order):
    """A loose chain pulls where it begins, 3 mm below the mouth. Below that, by hand from the rows of the tables: the
    inside of a #3 ring, 4.91, and of a #8 treble 16.2 less the 0.95 of its own eye's wire, which lies on the ring.
    """
    recipe, _ = placed(HANGER, *order)
    found = {fitting.kind: fitting for fitting in recipe.fittings}
    assert found["ring"].at == found["hook"].at == pytest.approx((40, 0, -15), abs=1e-3)
    assert trebles_of(recipe)[0].down == pytest.approx(4.91 + 16.2 - 0.95)


@pytest.mark.parametrize(
    ("ring", "hook", "down"),
    [
        (None, HOOK, 16.2 - 0.95),
        (replace(RING, quantity=2), HOOK, 2 * 4.91 + 16.2 - 0.95),
        (replace(RING, on=None), HOOK, 16.2 - 0.95),  # another hanger's
        (RING, replace(HOOK, length=15.0), 4.91 + 15.0 - 0.95),  # the maker's caliper wins
        (
            RING,
            replace(HOOK, size=None, mass=0.4, length=14.9),
            4.91 + 14.9 - 0.84,
        ),  # its wire as of a #10, 13.8 mm long
        (RING, replace(HOOK, size=None, mass=0.4), None),
    ],
)
def test_how_far_a_hook_hangs_down_counts_its_own_rings_and_a_measured_length(ring, hook, down):
    recipe, _ = placed(HANGER, EYE, hook, *([ring] if ring else []))
    assert [hook.down for hook in trebles_of(recipe)] == ([] if down is None else [pytest.approx(down)])


def test_an_empty_hanger_and_a_hook_far_from_any_are_doubted():
    far = replace(HOOK, on=None, at=(40.0, 0.0, -30.0))
    _, checks = placed(HANGER, far)
    assert told(checks) == [("hanger-empty", "bore[1] belly hanger"), ("hook-far", "fitting[1] treble")]
    assert checks[1].value == pytest.approx(18.0, abs=0.01)


def test_a_hanger_is_not_empty_where_the_wires_kerf_crosses_it():
    """The hanger starts 12 mm below the axis, the kerf's floor is 6 mm above it: they meet beyond 18 mm."""
    assert told(placed(HANGER, slots=(KERF,))[1]) == [("hanger-empty", "bore[1] belly hanger")]
    assert told(placed(replace(HANGER, depth=17.5), slots=(KERF,))[1]) == [("hanger-empty", "bore[1] belly hanger")]
    assert placed(replace(HANGER, depth=18.5), slots=(KERF,))[1] == ()
    assert told(placed(replace(HANGER, x=75.0, depth=18.5), slots=(KERF,))[1]) == [
        ("hanger-empty", "bore[1] belly hanger")
    ]


@pytest.mark.parametrize(
    ("at", "gap"),
    [
        ((40.0, 0.0, 20.0), 0.0),  # a loop out of the back, 12 mm above the axis
        ((80.0, 0.0, 6.0), 0.0),  # the wire's end at 70, on the kerf's floor
        ((83.0, 0.0, 6.0), 13.0),
        ((20.0, 0.0, -12.0), 20.0),  # below the belly, where neither wire nor hanger is
    ],
)
def test_with_a_kerf_a_hook_hangs_from_a_hanger_a_wires_end_or_a_loop(at, gap):
    _, checks = placed(HANGER, EYE, replace(HOOK, on=None, at=at), slots=(KERF,))
    assert [(d.code, d.value) for d in checks] == ([("hook-far", pytest.approx(gap, abs=0.01))] if gap else [])
