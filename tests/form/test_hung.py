"""What goes on a bore moves with it: at its mouth, or at the outer end of the eye there, on a bar of radius 12 mm."""

from dataclasses import replace

import planks
import pytest

from bodygen.form.hung import hung, hung_doubts
from bodygen.recipe.model import Bore, Fitting

BAR = planks.bar()
HANGER = Bore("belly hanger", "hanger", "belly", 1.2, 8.0, x=40.0, tip="flat")
EYE = Fitting("eye", "screw_eye", (0.0, 0.0, 0.0), "hangers", size="1 x 12 mm", on="belly hanger")
HOOK = Fitting("treble", "hook", (0.0, 0.0, 0.0), "rigged", size="#8", on="belly hanger")


def placed(bore, *fittings):
    tools = planks.tools(BAR, bores=(bore,))
    recipe = hung(planks.recipe(bores=(bore,), fittings=fittings), tools)
    return recipe, hung_doubts(recipe, tools)


@pytest.mark.parametrize("x", [30.0, 55.0])
def test_a_hook_hangs_from_the_eye_of_its_bore_and_moves_with_it(x):
    """The mouth is 12 mm under the axis; the ring of a 1 x 12 mm eye is 3 mm inside."""
    recipe, doubts = placed(replace(HANGER, x=x), EYE, HOOK)
    assert recipe.fittings[0].at == pytest.approx((x, 0, -12), abs=1e-3)
    assert recipe.fittings[1].at == pytest.approx((x, 0, -15), abs=1e-3)
    assert doubts == ()


def test_an_empty_hanger_and_a_hook_far_from_any_are_doubted():
    far = replace(HOOK, on=None, at=(40.0, 0.0, -30.0))
    _, doubts = placed(HANGER, far)
    assert [(doubt.code, doubt.where) for doubt in doubts] == [
        ("hanger-empty", "bore[1] belly hanger"),
        ("hook-far", "fitting[1] treble"),
    ]
    assert doubts[1].value == pytest.approx(18.0, abs=0.01)
