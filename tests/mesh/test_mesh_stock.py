"""A cut that is shown only the part of the body near it takes what it takes of the whole, and parts what it parts."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from amount import only_with_more
from random_baits import random_bait
from wood import separate_parts

from bodygen import pipeline
from bodygen.errors import BodygenError
from bodygen.form.cuts import Prism, Revolved, slot_of, tools_of
from bodygen.mesh import split
from bodygen.mesh.base_body import base_body_of
from bodygen.mesh.cut import cut_with
from bodygen.mesh.measure import enclosed
from bodygen.mesh.pieces import cut_in_turn, integrals, plate_solid
from bodygen.mesh.split import parts_left
from bodygen.mesh.stock import BaseMesh
from bodygen.recipe.model import MeshFile
from bodygen.recipe.read import read_recipe

DEMOS = sorted((Path(__file__).parents[2] / "params").glob("*.toml"))
SAME = 1e-9  # of a volume: the same triangles are cut, summed in another order


def recipes(folder):
    for path in DEMOS:
        yield read_recipe(path)
    for seed in range(24):
        bait = random_bait(seed)
        here = folder / str(seed)
        here.mkdir()
        path = bait.saved(here)
        try:
            recipe = read_recipe(path)
            if not isinstance(recipe.shape, MeshFile):
                base_body_of(recipe)
                tools_of(recipe, base_body_of(recipe).caster)
                yield recipe
        except BodygenError:
            continue


def test_rooms_and_parts_are_those_of_the_whole_body(tmp_path):
    tried = 0
    for recipe in recipes(tmp_path):
        base_body = base_body_of(recipe)
        tools = tools_of(recipe, base_body.caster)
        near, whole = (
            cut_in_turn(BaseMesh(base_body.mesh, base_body.stock.rings), tools),
            cut_in_turn(BaseMesh(base_body.mesh), tools),
        )
        for cavity, other in zip(near.cavities, whole.cavities, strict=True):
            assert cavity.volume() == pytest.approx(other.volume(), rel=SAME, abs=1e-9), recipe.name
        all_out = range(len(tools))
        separate = separate_parts(cut_with(whole.body, whole.cutting_solids))
        for rough in (None, base_body.stock.rough):
            stock = BaseMesh(base_body.mesh, base_body.stock.rings, rough=rough)
            assert parts_left(cut_in_turn(stock, tools), all_out) == separate, recipe.name
        tried += len(tools)
    assert tried > 60


def test_a_slot_sawn_right_across_parts_the_body_seen_from_a_part_of_it():
    recipe = next(r for r in map(read_recipe, DEMOS) if r.lip is not None)
    base_body = base_body_of(recipe)
    tools = tools_of(recipe, base_body.caster)
    slot = next(t for t in tools if t.kind == "slot")
    deep = replace(slot, polygon=tuple((a + (a > 0) * 200, b) for a, b in slot.polygon), half=100.0)
    assert parts_left(cut_in_turn(base_body.stock, [deep]), []) == 2
    whole = BaseMesh(base_body.mesh)
    assert parts_left(cut_in_turn(whole, [deep]), []) == 2


def random_cut(rng, low, high):
    """A drill or a saw from anywhere into, across or past a body between these corners."""
    place = low + (high - low) * rng.random(3)
    if rng.random() < 0.5:
        along = np.array([rng.choice([-1.0, 1.0]), 0.0, 0.0]) + rng.choice([0.3, 9.0]) * rng.normal(size=3)
        r, depth = rng.choice([0.6, 2.0, 8.0]) * rng.random() + 0.3, rng.uniform(-5.0, 20.0)
        profile = (-150.0, 0.0), (-150.0, r), (depth, r), (depth + r / 2, 0.0)
        axis = tuple(along / np.linalg.norm(along))
        return Revolved("drill", "any", 0, False, tuple(place), axis, profile, False, 2 * r, depth, depth + r / 2)
    angle, half, depth = rng.uniform(0, 2 * np.pi), rng.uniform(0.3, 2.0), rng.choice([rng.uniform(0, 15), 100.0])
    polygon = (-150.0, -half), (depth, -half), (depth, half), (-150.0, half)
    c, s = np.cos(angle), np.sin(angle)
    width = rng.choice([1.1, rng.uniform(0.3, 1.0)]) * high[1]
    return Prism("saw", "slot", (place[0], 0.0, place[2]), (c, 0.0, s), (-s, 0.0, c), polygon, width, depth)


@pytest.mark.parametrize(("demos", "tries"), [(DEMOS[-1:], 10), pytest.param(DEMOS, 60, marks=only_with_more)])
def test_random_cuts_take_what_they_take_of_the_whole_and_leave_one_piece_where_that_is_sure(demos, tries):
    rng = np.random.default_rng(tries)
    counted, sure = {1: 0, 2: 0}, 0
    for recipe in map(read_recipe, demos):
        stock = base_body_of(recipe).stock
        for count in rng.integers(1, 4, tries):
            pieces = cut_in_turn(stock, [random_cut(rng, *stock.extents) for _ in range(count)])
            left = cut_with(stock.whole(), pieces.cutting_solids)
            taken = sum(cavity.volume() for cavity in pieces.cavities)
            assert taken == pytest.approx(stock.whole().volume() - left.volume(), rel=SAME, abs=1e-8), recipe.name
            separate = separate_parts(left)
            counted[min(separate, 2)] += 1
            if split._surely_one(pieces, range(count)):
                sure += 1
                assert separate == 1, (recipe.name, pieces.tools)
    assert counted[2] > 0.3 * sum(counted.values())
    assert sure > 0.6 * counted[1]


@pytest.mark.parametrize("path", [path for path in DEMOS if "[lip]" in path.read_text()], ids=lambda path: path.stem)
def test_a_plate_in_a_part_of_the_body_is_in_the_wood_by_as_much(path):
    shaped, _ = pipeline.cut(read_recipe(path))
    plate = pipeline._polygons(shaped.plate)
    solid = plate_solid(slot_of(shaped.tools), plate.outline, plate.holes, plate.thickness)
    tongue, exposed = solid.split(shaped.base_body.stock.whole())
    for found, part in zip(shaped.set_plate.integrals(), map(integrals, (tongue, exposed)), strict=True):
        assert found.volume == pytest.approx(part.volume, rel=SAME)
        np.testing.assert_allclose(found.centroid, part.centroid, atol=SAME)
        np.testing.assert_allclose(found.inertia, part.inertia, rtol=SAME, atol=SAME * np.trace(part.inertia))


def test_a_part_of_the_body_has_its_own_share_of_the_volume():
    recipe = read_recipe(DEMOS[0])
    stock = base_body_of(recipe).stock
    middle = stock.rings.half[len(stock.rings.half) // 2, 0, 0]
    row = len(stock.rings.half) // 2
    rings, lines = (range(count) for count in stock.rings.half.shape[:2])
    parts = [stock.rings.part(some, lines) for some in (rings[: row + 1], rings[row:])]
    assert sum(map(enclosed, parts)) == pytest.approx(enclosed(stock.mesh), rel=1e-12)
    assert np.isclose(parts[0].vertices[:, 0].max(), middle)
    assert stock.rows((middle - 1, middle + 1)) is not None
    assert stock.rows((-1e3, 1e3)) is None


def test_a_bore_that_is_as_it_was_is_not_cut_again():
    recipe = read_recipe(DEMOS[-1])
    base_body = base_body_of(recipe)
    tools = tools_of(recipe, base_body.caster)
    first = cut_in_turn(base_body.stock, tools)
    deeper = replace(tools[0], shoulder=tools[0].shoulder + 0.5)
    again = cut_in_turn(base_body.stock, [deeper, *tools[1:]])
    same = [a is b for a, b in zip(first.cavities, again.cavities, strict=True)]
    assert not same[0]
    assert sum(same) >= len(tools) // 2  # but for those that lie beside the changed one


def test_the_last_digit_does_not_tell_what_was_cut_before():
    """The same cuts under other names, after the first ones are kept: bit for bit the same."""
    for path in DEMOS:
        recipe = read_recipe(path)
        base_body = base_body_of(recipe)
        tools = tools_of(recipe, base_body.caster)
        renamed = [replace(tool, name=f"other {i}") for i, tool in enumerate(tools)]
        first, again = cut_in_turn(base_body.stock, tools), cut_in_turn(base_body.stock, renamed)
        for place, cavity in enumerate(first.cavities):
            if not cavity.is_empty():
                one, other = first.integrals(place), again.integrals(place)
                assert one.volume == other.volume
                assert (one.centroid == other.centroid).all()
