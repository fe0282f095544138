"""Drawn bodies: what was written is what comes out, or the whole reason why not."""

import random
from dataclasses import replace

import numpy as np
import pytest
import recipe_strategies

from bodygen.errors import InputError
from bodygen.form.fairing.rows import opened
from bodygen.form.fairing.shape import body_of
from bodygen.recipe.model import Curve, End, FlatSide, Parameters, Recipe, Source, read_from
from bodygen.recipe.read import read_recipe

BACK = Curve(((0, 0), (4, 5.5), (15, 10), (30, 12), (50, 8), (70, 0)), fractions=False)
BELLY = Curve(((0, 0), (6, 5), (28, 9), (52, 6.5), (70, 0)), fractions=False)
PLAN = Curve(((0, 0), (5, 3.5), (25, 7), (50, 5), (70, 0)), fractions=False)
CORNERED = Curve(((0, 0), (6, 5), (28, 9), (52, 6.5), (70, 0)), fractions=False, corners=(3,))


def drawn(**changes):
    """A recipe with outlines in mm."""
    shape = {"length": 70.0, "depth": None, "thickness": None, "back": BACK, "belly": BELLY, "plan": PLAN} | changes
    lines = {f"shape.{key}": 4 + i for i, key in enumerate(("depth", "thickness", "widest", "flat_side.height"))}
    return read_from(Recipe("drawn", "mm", Parameters(**shape)), Source("drawn.toml", "", lines))


@pytest.mark.parametrize("belly", [BELLY, CORNERED], ids=["smooth", "with a corner"])
def test_the_surface_passes_the_makers_own_points(belly):
    """Within 1e-6 mm at every point's own x."""
    body = body_of(drawn(belly=belly))
    for curve, column, axis, sign in ((BACK, -1, 2, 1), (belly, 0, 2, -1), (PLAN, body.widest_index, 1, 1)):
        x, value = np.array(curve.points).T
        found = body.polygons(body.parameter_at(x))[:, column, axis]
        np.testing.assert_allclose(found, sign * value, atol=1e-6)


@pytest.mark.parametrize("seed", range(0, 100, 2))
def test_sizes_come_out_as_written_and_every_body_is_fair(seed, tmp_path):
    """Random recipes with outlines in shares: exactly as written; no line may leave its own greatest height either."""
    path = tmp_path / "random.toml"
    path.write_text(recipe_strategies.random_recipe_text(random.Random(seed)))  # noqa: S311  baits, not secrets
    recipe = read_recipe(path)
    body = body_of(recipe)
    shape = recipe.shape
    assert body.sizes() == pytest.approx((shape.length, shape.depth, shape.thickness), abs=1e-6)
    dense = body.polygons(np.linspace(0, 1, 5000))
    assert (dense[:, -1, 2] - dense[:, 0, 2]).max() < shape.depth + 1e-4
    assert 2 * dense[:, :, 1].max() < shape.thickness + 1e-4


def test_written_sizes_that_agree_with_the_points_are_no_contradiction():
    assert body_of(drawn(depth=21.0, thickness=14.0)).sizes() == pytest.approx((70, 21, 14), abs=0.06)


def refusal(**changes):
    with pytest.raises(InputError) as caught:
        body_of(drawn(**changes))
    return str(caught.value)


def test_a_depth_that_contradicts_the_points_is_told_with_both_figures():
    assert refusal(depth=25.0) == (
        "drawn.toml:4: shape.depth: the points of back and belly are 20.98 mm apart at the deepest, not 25.00 mm\n"
        "    leave shape.depth out, or move the points, or give them as fractions"
    )


def test_contradictions_and_edges_are_told_on_the_makers_ruler():
    """20.98 mm are 0.826 in, 53/64 by the nearest 64th; 25 mm are 0.984 in; 14 mm are 0.551 in; 10 mm are 0.394 in."""
    for changes, told in (
        ({"depth": 25.0}, "back and belly are 53/64 in (0.826) apart at the deepest, not 63/64 in (0.984)\n"),
        ({"thickness": 10.0}, "shape.plan is 35/64 in (0.551), not 25/64 in (0.394)\n"),
        ({"plan": Curve(((0, 0), (25, 7), (70, 2)), fractions=False)}, "the body is 5/32 in (0.157) thick: that is"),
        ({"back": Curve(((0, 3), (30, 12), (70, 0)), fractions=False)}, "belly are 1/8 in (0.118) apart: that is"),
    ):
        with pytest.raises(InputError) as caught:
            body_of(replace(drawn(**changes), units="in"))
        assert told in str(caught.value)


def test_a_thickness_that_contradicts_the_points_is_told_with_both_figures():
    assert refusal(thickness=10.0) == (
        "drawn.toml:5: shape.thickness: twice the greatest half thickness of shape.plan is 14.00 mm, not 10.00 mm\n"
        "    leave shape.thickness out, or move the points, or give them as fractions"
    )


def test_an_edge_drawn_in_shares_is_told_by_its_height_in_millimetres():
    """Three tenths of 20 mm of depth, whatever share of it lies over the axis, where the plan closes."""
    line = Curve(((0, 0.3), (0.4, 1), (1, 0)), fractions=True)
    text = refusal(depth=20.0, back=line, belly=line)
    assert "shape.plan" in text
    assert "closes to nothing at the nose, where back and belly are 6.00 mm apart: that is an edge" in text


def test_a_widest_line_outside_the_body_is_told_with_the_room_there():
    assert refusal(widest=Curve(((0, 0), (28, 14), (70, 0)), fractions=False)) == (
        "drawn.toml:6: shape.widest: at x = 28.00 mm the widest line is 14.00 mm high, but the body lies between "
        "-9.00 mm and 11.95 mm there\n    between 5 % and 95 % of the depth at that place"
    )


def test_a_flat_side_taller_than_the_body_is_told_with_the_most_there_is():
    text = refusal(flat_side=FlatSide(height=30.0))
    assert text.startswith("drawn.toml:7: shape.flat_side.height: 30.00 mm leaves no room for edges on a body 20.9")
    assert text.endswith("mm deep\n    less than 20.56 mm")


def test_a_line_in_mm_deeper_than_the_whole_body_is_told():
    shares = Curve(((0, 0), (0.4, 1), (1, 0)), fractions=True)
    assert refusal(depth=8.0, back=shares, thickness=14.0) == (
        "drawn.toml: shape.belly: alone is deeper than the whole body\n"
        "    less than shape.depth on this side of the x axis"
    )


def test_one_line_in_mm_and_the_other_in_shares_make_up_the_depth():
    shares = Curve(((0, 0), (0.15, 0.7), (0.4, 1), (0.7, 0.7), (1, 0)), fractions=True)
    body = body_of(drawn(depth=22.0, back=shares))
    assert body.sizes()[1] == pytest.approx(22.0, abs=0.006)
    assert body.heights_at(np.array([28.0]))[0][0] == pytest.approx(-9.0, abs=1e-6)


def test_the_widest_line_lies_where_it_was_drawn():
    body = body_of(drawn(widest=Curve(((0, 0), (30, 2.5), (70, 0)), fractions=False)))
    found = body.polygons(body.parameter_at(np.array([30.0])))[0, body.widest_index, 2]
    assert found == pytest.approx(2.5, abs=0.01)


def test_a_sized_tail_is_a_plane_of_that_share():
    """A share of the line's own greatest height."""
    body = body_of(drawn(tail=End(size=0.3)))
    assert body.tail_flat
    assert not body.nose_flat
    np.testing.assert_allclose(body.poles[-1, [0, -1], 2], [-0.3 * 9, 0.3 * 12], atol=1e-9)


def test_a_sized_end_is_square_to_the_axis_where_it_is_blunt_and_runs_straight_on_where_it_is_not():
    """Of bluntness 1 it opens like an ellipse, so x has no rate at the plane (closed form); of 0 it has a slope."""
    for size in (0.05, 0.3, 0.7):
        for changes, row in (({"nose": End(1.0, size)}, 0.0), ({"tail": End(1.0, size)}, 1.0)):
            forward, _, up = body_of(drawn(**changes)).polygons(np.array([row]), 1)[0, -1]
            assert abs(forward) < 1e-6 * abs(up)  # the ends' rows are exact, the rest is rounding
    forward, _, up = body_of(drawn(tail=End(0.0, 0.3))).polygons(np.array([1.0]), 1)[0, -1]
    assert forward > abs(up)


def test_a_flat_side_is_straight_and_as_tall_as_written_at_the_deepest_section():
    body = body_of(drawn(flat_side=FlatSide(height=8.0, edge_radius=3.0)))
    assert body.segments == 5
    flank = body.polygons(np.linspace(0.2, 0.8, 400))[:, 6:10]
    np.testing.assert_allclose(np.ptp(flank[..., 1], axis=1), 0.0, atol=1e-9)
    assert np.ptp(flank[..., 2], axis=1).max() == pytest.approx(8.0, abs=0.02)


def test_a_line_opens_at_a_round_end_like_half_a_circle_and_at_a_point_straight():
    """t grows like x^(1 - bluntness / 2)."""
    for bluntness, growth in ((0.0, 4.0), (1.0, 2.0), (2.0, 4 ** (1 / 3))):
        t = opened(np.array([1e-8, 4e-8]), bluntness, 0.0)
        assert t[1] / t[0] == pytest.approx(growth, rel=2e-3)


def test_opened_rises_from_nothing_to_all():
    t = opened(np.linspace(0, 1, 400), 1.3, 0.4)
    assert (t[0], t[-1]) == (0, 1)
    assert (np.diff(t) > 0).all()
