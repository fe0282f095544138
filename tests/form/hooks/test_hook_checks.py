"""What is said of trebles under a bar of radius 12 mm, and of what another size would do."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import planks
import pytest

from bodygen import assess, read_recipe
from bodygen.form.cuts.hung import hung
from bodygen.form.hooks import checks as hook_room
from bodygen.form.hooks.checks import all_over, hook_checks, ways
from bodygen.form.hooks.treble import Treble, trebles_of
from bodygen.form.ray_caster import RayCaster, ray_caster_of
from bodygen.recipe.model import Bore, Fitting

PARAMS = Path(__file__).parents[3] / "params"
BAR = planks.bar()
LEVEL = ways((0.0, 0.0, 1.0), 0.0)
NO_LIP = np.zeros((0, 3, 3))
OUT, DOWN, ACROSS = 1.077 * 0.95 + 6.0, 4.91 + 16.2 - 0.95, 0.95
"""Of a #8 on a #3 ring: its points' circle, from its eye to its bend, its wire."""
REACH = np.hypot(DOWN - 3 - ACROSS, OUT - 3) + 3 + ACROSS
"""To the farthest of its round bend, of radius 3.95 mm outside."""


def hanger(name, x):
    return Bore(name, "hanger", "belly", 1.2, 8.0, x=x, tip="flat")


def on(name, kind, size, **more):
    return Fitting(f"{name} {kind}", kind, (0.0, 0.0, 0.0), "rigged", size=size, on=name, **more)


def effect(sizes):
    return f"{sorted(sizes.items())}", (0.0, 0.0, 1.0)


def judged(apart, size="#8", pulled=LEVEL, bores=(), lip=NO_LIP, **measured):
    bores = (hanger("front", 20.0), hanger("hind", 20.0 + apart), *bores)
    pairs = [(on(name, "ring", "#3"), on(name, "hook", size, **measured)) for name in ("front", "hind")]
    fittings = [one for pair in pairs for one in pair]
    tools = planks.tools(BAR, bores=bores)
    caster = ray_caster_of(BAR)
    recipe = hung(planks.recipe(bores=bores, fittings=tuple(fittings)), tools, caster)
    return hook_checks(recipe, tools, caster, lip, pulled, effect)


def of(code, found):
    return [(doubt.severity, doubt.value, doubt.limit) for doubt in found if doubt.code == code]


def test_hanging_straight_down_two_trebles_need_both_circles_and_a_wire():
    plumb = replace(LEVEL, under_way=LEVEL.rest)
    needs = 2 * OUT + ACROSS
    assert of("hooks-tangle", judged(14.0, pulled=plumb)) == [
        ("warning", pytest.approx(14.0), pytest.approx(needs, abs=1e-3))
    ]
    assert of("hooks-tangle", judged(needs + 0.1, pulled=plumb))[0][0] == "note"


def test_trailing_level_the_front_trebles_bend_must_end_before_the_hind_ones_ring():
    """As it trails, the bend of the front one lies 20.16 mm behind its eye; the hind one begins at its own eye."""
    (found,) = of("hooks-tangle", judged(19.0))
    assert found == ("warning", pytest.approx(19.0), pytest.approx(DOWN, abs=1e-3))
    assert of("hooks-tangle", judged(20.5))[0][0] == "note"
    words = next(doubt for doubt in judged(19.0) if doubt.code == "hooks-tangle").told("mm")
    assert words.startswith("trailing under way their points meet: eyes 20.16 mm apart along the body would do, or ")
    assert "[(1, '#10')]" in words
    assert "surer" in words


def test_nothing_is_said_of_trebles_that_no_swing_brings_together():
    """Points reach hypot(12.91, 7.02) mm, the bend hypot(16.21, 4.02) + 3.95 mm."""
    reach = np.hypot(DOWN - 1.05 * 6 - ACROSS, OUT) + REACH
    (found,) = of("hooks-tangle", judged(reach - 0.2))
    assert found == ("note", pytest.approx(reach - 0.2), pytest.approx(reach, abs=1e-3))
    assert not of("hooks-tangle", judged(reach + 0.2))


def test_a_measured_gape_and_length_win_over_the_table_and_are_not_doubted():
    plumb = replace(LEVEL, under_way=LEVEL.rest)
    (doubt,) = (one for one in judged(14.0, pulled=plumb, gape=7.5, length=17.0) if one.code == "hooks-tangle")
    assert doubt.limit == pytest.approx(2 * OUT + ACROSS + 3.0, abs=1e-3)
    assert "surer" not in doubt.remedy


def test_no_smaller_size_is_offered_where_none_would_do():
    plumb = replace(LEVEL, under_way=LEVEL.rest)
    (doubt,) = (one for one in judged(4.0, "#14", plumb) if one.code == "hooks-tangle")
    assert doubt.told("mm").startswith("hanging at rest and trailing under way their points meet: eyes ")
    assert "no smaller size of the table would" in doubt.remedy


def test_a_lip_in_the_cup_is_a_warning_and_one_that_a_swing_reaches_a_note():
    """The front eye is 4 mm below the belly at x = 20, its points 12.91 mm lower and 7.02 mm out, the bend 20.16."""
    plate = np.array([[[13.5, 0.0, -30.0]] * 3])
    (found, *rest) = of("hook-catches-lip", judged(50.0, lip=plate))
    assert found == ("warning", pytest.approx(np.hypot(6.5, 14.0)), pytest.approx(REACH, abs=1e-2))
    assert not rest
    assert of("hook-catches-lip", judged(50.0, lip=np.array([[[10.0, 0.0, -20.0]] * 3])))[0][0] == "note"
    assert not of("hook-catches-lip", judged(50.0, lip=np.array([[[4.0, 0.0, -20.0]] * 3])))


def test_a_tie_within_a_swing_is_a_note():
    """The tie's eye reaches 4 mm out of the belly, as far as the hook's own does: points 14.7 mm from there."""
    near, far = (Bore("tie", "tie", "belly", 1.2, 8.0, x=x, tip="flat") for x in (8.0, 2.0))
    assert of("hook-catches-tie", judged(50.0, bores=(near,)))[0][0] == "note"
    assert not of("hook-catches-tie", judged(50.0, bores=(far,)))


def box(low, high):
    """A box's answers to lines, by its six planes."""

    def lines(origins, directions):
        found = []
        for origin, way in zip(origins, directions, strict=True):
            with np.errstate(divide="ignore"):
                ends = np.sort(np.stack([(low - origin) / way, (high - origin) / way]), axis=0)
            enters, leaves = np.nanmax(ends[0]), np.nanmin(ends[1])
            found.append(np.array([enters, leaves]) if enters < leaves else np.zeros(0))
        return found

    return RayCaster(lines, lambda x: (x, x), low, high)


@pytest.mark.parametrize(
    ("height", "length", "free"),
    [
        (-3.1, 10.0, True),  # 1.9 mm of the first 2 within the skin
        (-2.9, 10.0, False),
        (16.0, 10.5, True),  # ends half a mm over the back
        (16.0, 11.5, False),  # within
        (16.0, 30.0, False),  # out below again
        (-5.5, 40.0, True),
        (-4.25, 4.0, True),  # 0.75 mm of the first 0.8
        (-4.05, 4.0, False),
    ],
)
@pytest.mark.parametrize("up", [(0.0, 0.0, 1.0), (0.6, 0.0, 0.8), (0.0, -0.6, 0.8)], ids=["level", "pitched", "rolled"])
def test_what_hangs_is_free_by_where_its_line_passes_a_boxs_skin(up, height, length, free):
    """A box from -5 to 5: a fifth of the length at most lies in the skin; a slanting line is longer by the cosine.

    A hook without gape and wire, so that its points lie on its line.
    """
    caster = box(np.array([-150.0, -150.0, -5.0]), np.array([150.0, 150.0, 5.0]))
    hook = Treble("hook", 0, (1.3, 0.7, height), 0.0, 0.0, length / up[2], 0.0, 1e-3)
    pulled = ways(up, 0.0)
    found = hook_room._on_the_body([hook], caster, replace(pulled, under_way=pulled.rest))
    assert ("hook-fouls" not in {doubt.code for doubt in found}) is free


def test_points_that_turn_into_the_body_foul_though_the_shank_hangs_free():
    """8 mm behind a box that ends at 0: points of a circle of radius 7.02 stay clear of it; 6 mm behind they do not."""
    caster = box(np.array([-50.0, -8.0, -40.0]), np.array([0.0, 8.0, 20.0]))
    for behind, fouls in ((8.0, False), (6.0, True)):
        hook = Treble("#8", 0, (behind, 0.0, 0.0), 4.91, 3.1, 16.2, 0.95, 6.0)
        found = hook_room._on_the_body([hook], caster, LEVEL)
        assert [doubt.code for doubt in found] == ["hook-fouls"] * fouls


def test_points_that_lie_on_the_skin_as_it_trails_are_a_note_with_their_place():
    (front, hind) = (doubt for doubt in judged(45.0) if doubt.code == "hook-rubs")
    assert front.told("mm").startswith("trailing under way its points rub the skin at about x = 32.91 mm")
    assert hind.where == "fitting[4] hind hook"


def test_a_lip_is_looked_at_all_over_where_a_hook_may_reach_it():
    corners = np.array([[[0.0, 0, 0], [20.0, 0, 0], [0.0, 9.0, 0]]])
    hook = Treble("#8", 0, (0.0, 0.0, 15.0), 0.0, 0.0, 16.2, 0.95, 6.0)
    places = all_over(corners, hook)
    for inside in ([3.3, 4.1, 0], [0.1, 0.2, 0], [1.0, 5.0, 0]):
        assert np.linalg.norm(places - inside, axis=1).min() < 0.4
    assert np.linalg.norm(places - hook.at, axis=1).max() <= hook.reach
    assert not len(all_over(corners, replace(hook, at=(0.0, 0.0, 45.0))))


def test_a_sliver_of_a_lip_has_few_places():
    """60 mm by 0.3 mm: two rows of 121 half millimetres, each told from both ends, where a square grid had 7381."""
    hook = Treble("#8", 0, (30.0, 0.0, 0.0), 60.0, 0.0, 16.2, 0.95, 6.0)
    assert len(all_over(np.array([[[0.0, 0, 0], [60.0, 0, 0], [60.0, 0.3, 0]]]), hook)) <= 3 * 122


def test_the_sizes_offered_do_to_weight_and_trim_what_the_whole_flow_says(tmp_path):
    """A perch with its belly hanger too far aft: each size offered is put in and assessed: 0.005 g, 0.1 deg."""
    text = (PARAMS / "tarn-perch-70.toml").read_text().replace('x = "1.65 in"', 'x = "2.4 in"')
    path = tmp_path / "aft.toml"
    path.write_text(text)
    recipe = read_recipe(path)
    before = assess(recipe)
    (doubt,) = (one for one in before.findings if one.code == "hooks-tangle")
    assert doubt.severity == "warning"
    hooks = [n for n, one in enumerate(recipe.fittings) if one.kind == "hook"]
    offers = [part.split(" (") for part in doubt.told("mm").partition(", or ")[2].partition("). By")[0].split("); or ")]
    for names, effect in offers:
        fittings = list(recipe.fittings)
        for one in names.split(" and "):
            n = next(n for n in hooks if one.startswith(recipe.fittings[n].name))
            fittings[n] = replace(fittings[n], size=one.rsplit(" ", 1)[1], length=None, gape=None)
        after = assess(replace(recipe, fittings=tuple(fittings)))
        grams, nose = effect.split(" g, nose ")
        turned = float(nose.split(" deg ")[0]) * (1 if nose.endswith("up") else -1)
        assert after.total.mass - before.total.mass == pytest.approx(float(grams), abs=0.006)
        moved = after.flotation.attitude.pitch_deg - before.flotation.attitude.pitch_deg
        assert moved == pytest.approx(turned, abs=0.1)
        assert not [one for one in after.findings if one.code == "hooks-tangle" and one.severity == "warning"]
    assert len(offers) >= 1


def test_a_mirror_pair_is_two_trebles():
    hook = replace(on("front", "hook", "#8"), on=None, at=(20.0, 5.0, -12.0), mirror=True)
    assert [one.at[1] for one in trebles_of(planks.recipe(fittings=(hook,)))] == [5.0, -5.0]


@pytest.mark.parametrize("demo", sorted(path.stem for path in PARAMS.glob("*.toml")))
def test_the_demos_carry_no_warning_of_hooks_or_wire(demo):
    found = assess(read_recipe(PARAMS / f"{demo}.toml")).findings
    told = [one.code for one in found if one.severity != "note" and one.code.startswith(("hook", "wire", "hanger"))]
    assert told == []
