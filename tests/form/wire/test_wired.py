"""Bent wires in a bait: where they lie, what they weigh, what is doubted, and how a mistake is told."""

from dataclasses import replace
from math import hypot, pi
from pathlib import Path

import numpy as np
import pytest

import bodygen
from bodygen.cli import main
from bodygen.errors import InputError
from bodygen.form.cuts.wired import bent_wires, points_on
from bodygen.pipeline import assess
from bodygen.recipe.model import Wood
from bodygen.shop.wire.hangers import hangers_of

PARAMS = Path(__file__).parents[3] / "params"
HANGER = """
[[bore]]
name = "belly hanger"
kind = "hanger"
from = "belly"
x = 30
diameter = 2.5
depth = 10

[[wire_slot]]
name = "kerf"
along = "belly"
start = 0
end = 70
width = 1.2
floor = 2

[[fitting]]
name = "wire"
kind = "wire"
size = "1 mm"
"""
BODY = """format = 1
shape = { length = 70, depth = 24, thickness = 16, back = "reed", belly = "reed", plan = "reed" }
wood = { species = "basswood" }
"""


def bait(bent, rest="", more=""):
    return bodygen.parse_recipe(f"{BODY}{rest}{HANGER}{more}\n[fitting.bent]\n{bent}\n")


def hanger(bent="", rest=""):
    return bait(f'form = "belly_hanger"\n{bent}', rest, 'on = "belly hanger"')


def through(bent="", rest=""):
    return bait(f'form = "through_wire"\n{bent}', rest)


def doubts(recipe):
    return {finding.code for finding in assess(recipe).findings}


def only(recipe):
    a = assess(recipe)
    (wire,) = bent_wires(a.recipe, a.shaped.tools, a.shaped.caster)
    return a, wire


def test_the_demos_through_wire_lies_inside_its_kerf_all_the_way():
    """Its whole thickness, looked at by lines straight up and down through the kerf and the body: nothing but the eyes
    and the tail beside one, which tapers out with the body, is outside of what was sawn out or nearer to the skin."""
    a, wire = only(bodygen.read_recipe(PARAMS / "fell-reed-110.toml"))
    slot = a.recipe.wire_slots[0]
    half = wire.form.wire / 2
    points = points_on(wire.form.buried[:-1])
    assert len(points) > 400  # a quarter of a millimetre apart
    assert wire.form.wire <= slot.width
    assert points[:, 1].max() + half <= slot.floor
    assert points[:, 0].min() - half >= slot.start
    belly = a.shaped.caster.heights(points[:, 0])[0]
    assert (points[:, 1] >= belly - 0.01).all()
    ends = [piece.end for piece in wire.form.buried]
    assert max(x for x, _ in ends) <= slot.end
    assert "wire-out-of-kerf" not in {finding.code for finding in a.findings}


def test_a_form_weighs_once_what_its_cut_length_weighs_where_its_wire_is():
    """By hand: pi/4 d^2 L 7.9 g/cm^3; and the whole bait is heavier by that."""
    a, wire = only(hanger("loop = 4\nradius = 2"))
    items = [item for item in a.weighed.items if item.owner == ("fitting", 0)]
    mass = pi / 4 * wire.form.cut_length * 7.9e-3
    assert [item.mass for item in items] == [pytest.approx(mass, rel=1e-12)]
    open_bores = tuple(replace(bore, closed="open") for bore in a.recipe.bores)  # no glue, which the wire would take up
    without = replace(a.recipe, bores=open_bores, fittings=())
    added = assess(replace(without, fittings=a.recipe.fittings)).total.mass - assess(without).total.mass
    assert added == pytest.approx(mass, abs=1e-9)
    x, y, z = items[0].at
    mouth = a.shaped.tools[0].origin[2]
    assert (x, y) == pytest.approx((30, 0), abs=1e-9)
    assert z == pytest.approx(mouth - wire.form.centre[1], abs=1e-9)


def test_what_stands_outside_is_the_eye():
    """Two legs of 10 mm are in the wood, necks and loop are not."""
    a, wire = only(hanger("loop = 4\nradius = 2"))
    assert wire.form.outside == pytest.approx(1 - 20 / wire.form.cut_length)
    (item,) = (item for item in a.weighed.items if item.owner == ("fitting", 0))
    assert item.outside == pytest.approx(item.displaces * wire.form.outside)


def test_the_nose_and_tail_eyes_stand_at_the_skin():
    a, wire = only(through())
    loops = [piece for piece in wire.form.path if getattr(piece, "radius", 0) and abs(piece.sweep) > pi]
    assert [piece.centre[0] < 0 or piece.centre[0] > 70 for piece in loops] == [True, True]
    xs = points_on(wire.form.buried)[:, 0]
    assert xs.min() >= a.shaped.caster.low[0] - 1e-6
    assert xs.max() <= a.shaped.caster.high[0] + 1e-6


def test_rings_hang_from_the_outer_end_of_a_bent_eye():
    treble = '[[fitting]]\nkind = "hook"\nsize = "#8"\non = "belly hanger"\n'
    a = assess(hanger("loop = 4\nradius = 2", treble))
    hook = next(f for f in a.recipe.fittings if f.kind == "hook")
    assert a.shaped.tools[0].origin[2] - hook.at[2] == pytest.approx(2 + (hypot(5, 0) ** 2 - 3**2) ** 0.5, abs=1e-6)


@pytest.mark.parametrize(
    ("code", "bad", "good"),
    [
        ("wire-bend-tight", hanger("loop = 4\nradius = 1.4"), hanger("loop = 4\nradius = 1.6")),
        ("wire-leg-long", hanger("leg = 10.2"), hanger("leg = 9.8")),
        ("wire-out-of-kerf", through("height = 1.6"), through("height = 1.4")),
        ("wire-out-of-kerf", through("start = 0.2\nheight = 1.5"), through("start = 12\nheight = 1.5")),
    ],
)
def test_a_doubt_begins_at_its_limit(code, bad, good):
    assert code in doubts(bad)
    assert code not in doubts(good)


def test_a_twist_is_no_tighter_than_two_wires_lie():
    twisted = [bait(f'form = "twisted_hanger"\nleg = 10\nturns = {n}', "", 'on = "belly hanger"') for n in (3.3, 3.1)]
    assert ["wire-twist-tight" in doubts(recipe) for recipe in twisted] == [True, False]  # pi d a turn


def test_a_bent_bend_below_the_wires_own_diameter_is_a_warning():
    found = next(f for f in assess(hanger("radius = 0.8")).findings if f.code == "wire-bend-tight")
    assert (found.severity, found.limit) == ("warning", 1.0)


@pytest.mark.parametrize(("height", "meets"), [(-4.4, True), (-5.6, False)])
def test_a_through_wire_meets_a_bore_in_its_way(height, meets):
    """A ballast bore from the side, 4 mm wide about z = -2: its lower wall at -4, the wire half a millimetre thick."""
    side = """
[[bore]]
kind = "rattle"
from = "side"
x = 45
height = -2
diameter = 4
depth = 9
"""
    assert ("wire-meets-cut" in doubts(through(f"height = {height}", side))) is meets


def test_two_legs_do_not_go_into_a_hole_of_less_than_two_wires():
    narrow = bodygen.parse_recipe(
        f'{BODY}{HANGER}on = "belly hanger"\n[fitting.bent]\nform = "line_tie"\n'.replace(
            "diameter = 2.5", "diameter = 1.9"
        )
    )
    assert "fitting-too-wide" in doubts(narrow)
    assert "fitting-too-wide" not in doubts(hanger())


@pytest.mark.parametrize(
    ("recipe", "key", "words"),
    [
        (lambda: hanger("leg = -2"), "leg", "less than the least"),
        (lambda: hanger("loop = 0.8"), "loop", "narrower than the wire"),
        (lambda: hanger("turns = 3"), "turns", 'does not go with form = "belly_hanger"'),
        (lambda: hanger("trial_bend = { pin = 3, bent_to = 90, stays = 95 }"), "stays", "from 45 to less than 90 deg"),
        (lambda: hanger("trial_bend = { pin = 3, bent_to = 90, stays = 44 }"), "stays", "none opens so"),
        (lambda: hanger("trial_bend = { pin = 0.8, bent_to = 90, stays = 84 }"), "pin", "thinner than the wire"),
        (lambda: hanger("trial_bend = { pin = 3, bent_to = 90 }"), "stays", "missing"),
        (lambda: hanger("trial_bend = { pin = 3, bent_to = -90, stays = 84 }"), "bent_to", "less than the least"),
        (lambda: through('kerf = "curf"'), "kerf", "kerf"),
        (lambda: through("eye_at = 0.5"), "bent", "run together"),
        (lambda: through("height = 20"), "bent", "no wood"),
        (lambda: bait('form = "belly_hanger"', "", "at = [30, 0, -9]"), "at", "goes into a bore"),
        (lambda: bait('form = "line_tie"', "", 'on = "belly hanger"\nlength = 40'), "length", "the form says"),
        (lambda: bait('form = "twisted_hangr"', "", 'on = "belly hanger"'), "form", "twisted_hanger"),
    ],
)
def test_a_mistake_is_one_clear_line(recipe, key, words):
    with pytest.raises(InputError) as told:
        assess(recipe())
    (mistake,) = told.value.mistakes
    assert mistake.key.rpartition(".")[2] == key
    assert words in str(mistake)


def test_an_unknown_wire_is_told_once_with_the_sizes_sold():
    with pytest.raises(InputError) as told:
        bodygen.parse_recipe(
            f'{BODY}{HANGER}on = "belly hanger"\n[fitting.bent]\nform = "line_tie"\n'.replace('"1 mm"', '"0.5 mm"')
        )
    (mistake,) = told.value.mistakes
    assert "0.6 mm" in str(mistake)


def test_a_hanger_weaker_than_the_line_is_told():
    """Smooth straight legs 10 mm deep in epoxy: 42 N likely by hand, pi + 2 wires round, a third of 5.5 MPa."""
    by_hand = (pi + 2) * 10 * 5.5 * 0.3
    weak, strong = (
        [f for f in assess(hanger("", f'line = {{ strength = "{kg} kg" }}\n')).findings if f.code == "hanger-weak"]
        for kg in (10, 2)
    )
    assert [(f.severity, f.value) for f in weak] == [("warning", pytest.approx(by_hand, abs=0.06))]
    assert weak[0].limit == pytest.approx(98.1, abs=0.05)
    assert strong == []


@pytest.mark.parametrize(
    ("wood", "why"),
    [
        (Wood(density_g_cm3=0.42), "the recipe does not say which wood it is"),
        (Wood("jelutong"), "the table has no shear strength of jelutong"),
    ],
)
def test_a_wood_without_a_shear_strength_has_no_figure_and_says_why(wood, why):
    a = assess(hanger())
    (found,) = hangers_of(replace(a.recipe, wood=wood), a.shaped.tools, 0.42)
    assert (found.holds, found.why) == (None, why)


def test_thick_wire_says_that_no_table_has_its_strength():
    """Of 0.092 in wire none was read; its glue is known, so a figure is told, and what is not in it."""
    thick = hanger("loop = 4\nradius = 2.5", "")
    wide = tuple(replace(bore, diameter=5.2) for bore in thick.bores)
    (fitting,) = thick.fittings
    (held,) = (
        hangers_of(replace(a.recipe, fittings=(replace(fitting, size=size),)), a.shaped.tools, 0.4)[0].holds
        for size in ("0.092 in",)
        for a in [assess(replace(thick, bores=wide))]
    )
    assert held.under.endswith("; no table has the strength of wire of 0.092 in")


def test_a_mirrored_kerf_from_the_back_is_the_same_wire_upside_down():
    """The body is alike above and below the parting line; so is the wire."""
    upside = bodygen.parse_recipe(
        f'{BODY}{HANGER}[fitting.bent]\nform = "through_wire"\neye_at = 40\n'.replace(
            'along = "belly"', 'along = "back"'
        ).replace("floor = 2", "floor = -2")
    )
    (_, one), (_, other) = only(through("eye_at = 40")), only(upside)
    assert one.form.cut_length == pytest.approx(other.form.cut_length, abs=0.05)  # the share of depth is 0.5 to 0.01
    assert np.sign(one.form.centre[1]) != np.sign(other.form.centre[1])


def test_the_log_expects_what_a_bent_wire_weighs(tmp_path, capsys):
    recipe = tmp_path / "tarn.toml"
    recipe.write_text((PARAMS / "fell-reed-110.toml").read_text("utf-8"), encoding="utf-8")
    assert main(["log", str(recipe), "--start", "pale board"]) == 0
    assert "mass" not in capsys.readouterr().err
