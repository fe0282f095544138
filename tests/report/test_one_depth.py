"""One hole, one depth: every sheet says the recipe's, to the same end, with where it is measured from and the bit."""

import re
from functools import cache

import numpy as np
import pytest
from shaped import recipe, shaped

from bodygen.form.blank import blank_of, default_allowance
from bodygen.form.bore_words import bit_words, depth_words
from bodygen.form.cuts import Revolved
from bodygen.pipeline import assess
from bodygen.plane.shapes import Text
from bodygen.recipe.model import Bore
from bodygen.report.card.words import cut_rows
from bodygen.report.pictures.title import entries_of
from bodygen.shop.cards.paper_template import default_template, paper_template
from bodygen.shop.cards.tool_marks import way_out
from bodygen.shop.jigs.drill_block import drill_block
from bodygen.shop.skin.silhouette import plan_view, side_view

DEMOS = ("tarn-perch-70", "reedbed-roach-65", "fell-reed-110", "beck-dace-80")
MEASURE = re.compile(r"(?:\(([\d.]+)\)|([\d.]+) mm) from (the [a-z' ]+?) (to the [a-z ]+?)(?=[,;.]|$)")
NEAR = {"in": 0.5e-3 * 25.4 + 1e-9, "mm": 0.005 + 1e-9}  # the last digit that is shown


@cache
def blank(name):
    s, r = shaped(name), recipe(name)
    return blank_of(s.caster.low, s.caster.high, default_allowance(r.units), r.wood.blank_size)


def measures(text, units):
    """(depth [mm], from where, to where) of every depth in a text."""
    return [
        (float(inches or mm) * (25.4 if units == "in" else 1.0), start, end)
        for inches, mm, start, end in MEASURE.findall(text)
    ]


def template_lines(name):
    s, r = shaped(name), recipe(name)
    views = side_view(s.body, s.mesh), plan_view(s.body, s.mesh)
    drawing = paper_template(r, views, blank(name), s.tools, (), default_template())
    words = [i.label for layer in drawing.layers for i in layer.items if isinstance(i, Text)]
    return ";".join(words).replace(";   ", " ")  # a line that goes on is set in by three blanks


def block_lines(name):
    s = shaped(name)
    parts = drill_block(recipe(name), s.tools, s.caster, blank(name)).parts
    return "; ".join(part.use for part in parts)


@pytest.mark.parametrize("name", DEMOS)
def test_template_block_drawing_and_card_give_one_depth_for_one_bore(name):
    r, s = recipe(name), shaped(name)
    template, block = re.sub(r"\s+", " ", template_lines(name)), block_lines(name)
    rows = {entry.cells[0]: entry.cells for entry in entries_of(r, s.tools)}
    card = {row.cells[1]: row.cells for row in cut_rows(assess(r))}
    bores = [t for t in s.tools if isinstance(t, Revolved) and not t.mirrored and not t.through]
    assert bores
    for tool in bores:
        bore = r.bores[tool.bore]
        said, bit = depth_words(bore, r.units), bit_words(bore, r.units)
        ((deep, start, end),) = measures(said, r.units)
        assert (deep, start) == (pytest.approx(bore.depth, abs=NEAR[r.units]), "the skin")
        on_card = card[bore.name]
        assert on_card[2].startswith(bit)
        assert on_card[4].partition("; ")[0] == said.replace(" from the skin", "")  # said below the picture
        assert rows[bore.name][1].startswith(bit)
        assert rows[bore.name][2].split(";")[0].endswith(f" {end}")
        on_template = template[template.index(f" {bore.name}: ") :]
        assert on_template.index(bit) < on_template.index(said)
        above, _ = way_out(blank(name), np.array(tool.origin), -np.array(tool.axis))
        _, (from_face, face, same_end) = measures(on_template, r.units)[:2]
        assert (face, same_end) == ("the blank's face", end)
        assert from_face == pytest.approx(bore.depth + above, abs=NEAR[r.units])
        on_block = block[block.index(f"{bore.name} (") :]
        assert on_block.index(f"{bit}, {said}") < on_block.index("stop")
        stop, bush, same_end = measures(on_block, r.units)[1]
        assert (bush, same_end) == ("the top of the bush", end)
        assert stop > from_face


@pytest.mark.parametrize(
    ("tip", "depth_to", "bit", "end"),
    [
        ("twist", "shoulder", "drill", "to the shoulder"),
        ("twist", "point", "drill", "to the point"),
        ("flat", "shoulder", "flat bit", "to the flat bottom"),
        ("ball", "shoulder", "ball bit", "to the shoulder"),
        ("ball", "point", "ball bit", "to the tip of the ball"),
    ],
)
def test_the_bit_is_named_by_its_end(tip, depth_to, bit, end):
    bore = Bore("b", "any", "belly", 6.0, 9.0, x=30.0, tip=tip, depth_to=depth_to)
    assert bit_words(bore, "mm") == f"{bit} 6 mm"
    assert depth_words(bore, "mm") == f"9.00 mm from the skin {end}"


@pytest.mark.parametrize(
    ("diameter", "drill", "units", "said"),
    [
        (5.0, None, "in", "drill 5 mm"),  # 13/64 in is another drill, 0.16 mm wider
        (6.35, None, "in", "drill 1/4 in"),
        (6.35, "1/4", "mm", "drill 1/4 in"),
        (1.18, "#56", "mm", "drill #56"),
        (5.0, None, "mm", "drill 5 mm"),
        (4.321, None, "in", "drill 0.170 in"),
    ],
)
def test_the_drill_is_the_recipes_own(diameter, drill, units, said):
    assert bit_words(Bore("b", "any", "belly", diameter, 9.0, x=30.0, drill=drill), units) == said


def test_a_bore_right_through_has_no_depth():
    bore = Bore("pivot", "through", "side", 2.0, None, x=40.0)
    assert depth_words(bore, "mm") == "right through"
    (pivot,) = (row for row in cut_rows(assess(recipe("beck-dace-80"))) if row.cells[1] == "pivot")
    assert (pivot.cells[2], pivot.cells[4]) == ("drill 2 mm", "right through")
