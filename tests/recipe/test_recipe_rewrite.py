"""Starter recipes hold; a rewrite changes what it is told and nothing else; a copy grows what a bait grows."""

import re
import tomllib
from pathlib import Path

import pytest
from amount import MORE
from recipe_strategies import random_recipe_text, seeded

from bodygen import units
from bodygen.errors import InputError
from bodygen.pipeline import shape
from bodygen.recipe.about import every_key
from bodygen.recipe.changes import changed
from bodygen.recipe.keys import RECIPE
from bodygen.recipe.model import Parameters, Stations
from bodygen.recipe.read import read_recipe, recipe_from_bytes
from bodygen.recipe.readers.items import label, sizes
from bodygen.recipe.rewrite import copy_recipe, rewrite
from bodygen.recipe.starter import starter_text
from bodygen.recipe.text.source_positions import spans
from bodygen.recipe.text.toml_file import toml_of
from bodygen.shop.wire.hangers import eye_size

PARAMS = Path(__file__).parents[2] / "params"


@pytest.mark.parametrize("ruler", ["mm", "in"])
@pytest.mark.parametrize("length", [40.0, 70.0, 110.0, 200.0])
def test_a_starter_reads_without_a_mistake(ruler, length):
    recipe = recipe_from_bytes(starter_text('A "first" bait', ruler, length).encode(), Path("first.toml"))
    assert isinstance(recipe.shape, Parameters)
    assert recipe.shape.length == pytest.approx(length, abs=0.5 if ruler == "mm" else 0.2)
    assert recipe.lip is not None
    assert recipe.name == "A 'first' bait"


@pytest.mark.parametrize("ruler", ["mm", "in"])
def test_what_hangs_on_a_starter_has_an_eye_to_hang_from_and_its_thread_bites(ruler):
    """Common practice, no published source: a screw eye in a pilot of 0.7 of its wire in soft wood."""
    recipe = recipe_from_bytes(starter_text("A bait", ruler).encode(), Path("first.toml"))
    eyes = {fitting.on: fitting.size for fitting in recipe.fittings if fitting.kind == "screw_eye"}
    assert {fitting.on for fitting in recipe.fittings} == set(eyes) == {"belly hanger", "tail hanger", "line tie"}
    for bore in recipe.bores:
        size = eye_size(eyes.get(bore.name) or "")
        assert size is None or (bore.diameter == pytest.approx(0.7 * size[0], rel=0.05) and bore.depth <= size[1] + 0.1)


def test_a_starters_comments_are_the_keys_own_and_fit_on_a_line():
    text = starter_text("A bait")
    assert max(map(len, text.splitlines())) <= 120
    told = [path for path, key in every_key() if f"# {key.about}" in text]
    assert {"shape.back_share", "lip.angle", "wood.density_g_cm3", "mask", "coat", "shop.fit"} <= set(told)


def test_what_a_starter_offers_in_comments_are_keys_that_there_are():
    """Each ``# key = value`` under its table."""
    table, offered = "", []
    for line in starter_text("A bait").splitlines():
        header = re.fullmatch(r"(?:# )?\[+([a-z_.]+)\]+(?: +#.*)?", line)
        key = re.match(r"# ([a-z_]+) = ", line)
        if header:
            table = header[1]
        elif key:
            offered.append(f"{table}.{key[1]}")
    assert len(offered) > 20
    assert set(offered) <= {path for path, _ in every_key()}


def test_a_starter_names_every_table():
    text = starter_text("A bait")
    for name, key in RECIPE.items():
        if key.table:
            assert f"[{name}]" in text


def test_a_rewrite_changes_only_the_lines_it_is_told_to():
    path = PARAMS / "tarn-perch-70.toml"
    before = path.read_text().split("\n")
    after = rewrite(path, {"bore[1].depth": "1/2 in", "shape.squareness": 2.3}).split("\n")
    changed = [(old, new) for old, new in zip(before, after, strict=True) if old != new]
    assert changed == [
        (
            "squareness = 2.1                  # section: 2 is an ellipse, more is fuller",
            "squareness = 2.3                  # section: 2 is an ellipse, more is fuller",
        ),
        ('depth = "3/8 in"', 'depth = "1/2 in"'),
    ]


def test_a_rewrite_adds_a_key_or_a_table_that_is_not_there():
    text = rewrite(PARAMS / "tarn-perch-70.toml", {"shape.nose.bluntness": 0.9, "limits.chin": "1/8 in"})
    recipe = recipe_from_bytes(text.encode(), Path("x.toml"))
    assert isinstance(recipe.shape, Parameters)
    assert recipe.shape.nose.bluntness == 0.9
    assert recipe.limits.chin == 3.175


def test_a_rewrite_changes_what_stands_at_the_top_too():
    new = rewrite(PARAMS / "reedbed-roach-65.toml", {"name": "Another roach", "weighed": None})
    assert tomllib.loads(new)["name"] == "Another roach"
    assert "weighed" not in tomllib.loads(new)


def test_a_rewrite_of_a_bore_that_is_not_there_is_refused():
    with pytest.raises(InputError, match=r"bore\[9\].depth = 3: no such place in this recipe."):
        rewrite(PARAMS / "tarn-perch-70.toml", {"bore[9].depth": 3})


def test_a_copy_grows_the_body_and_leaves_drills_sheet_hooks_and_coats(tmp_path):
    source = read_recipe(PARAMS / "tarn-perch-70.toml")
    copy = copy_recipe(PARAMS / "tarn-perch-70.toml", "Big perch", factor=4 / 2.75)
    assert (
        "# hangers, ties, sheet, kerfs, hooks, rings, coats, a goal's mass: check each. What the old bait weighed"
        in copy.recipe
    )
    grown = recipe_from_bytes(copy.recipe.encode(), tmp_path / "big.toml")
    assert isinstance(grown.shape, Parameters)
    assert isinstance(source.shape, Parameters)
    assert source.lip is not None
    assert grown.lip is not None
    factor = pytest.approx(4 / 2.75, rel=2e-5)
    assert grown.shape.length / source.shape.length == factor
    assert grown.lip.length / source.lip.length == factor
    assert grown.bores[0].depth / source.bores[0].depth == factor
    treble = next(place for place, one in enumerate(source.fittings) if one.length is not None)
    assert grown.fittings[treble].length == source.fittings[treble].length
    assert grown.bores[0].drill == "23/64"  # 1/4 times 1.4545, by the nearest drill of its set
    assert grown.bores[1].drill == source.bores[1].drill == "#56"  # what holds wire stays
    assert grown.fittings[0].size == "7 mm resin"
    assert grown.lip.bend.distance / source.lip.bend.distance == factor
    assert grown.lip.thickness == source.lip.thickness
    assert grown.coats == source.coats
    assert [fitting.size for fitting in grown.fittings[1:]] == [fitting.size for fitting in source.fittings[1:]]


def test_a_copys_fittings_at_a_point_and_its_wire_grow(tmp_path):
    source = read_recipe(PARAMS / "fell-reed-110.toml")
    copy = copy_recipe(PARAMS / "fell-reed-110.toml", "Half reed", factor=0.5)
    grown = recipe_from_bytes(copy.recipe.encode(), tmp_path / "half.toml")
    pairs = [(old, new) for old, new in zip(source.fittings, grown.fittings, strict=True) if old.on is None]
    assert len(pairs) == 4
    for old, new in pairs:
        assert new.at == pytest.approx([value / 2 for value in old.at])
        assert new.length == (old.length / 2 if old.length else None)


@pytest.mark.parametrize("path", sorted(PARAMS.glob("*.toml")), ids=lambda path: path.stem)
@pytest.mark.parametrize("length", [60.0, 133.7])
def test_every_demo_can_be_copied_to_a_length(tmp_path, path, length):
    copy = copy_recipe(path, "Copy of it", length=length)
    if copy.stations is not None:
        (tmp_path / copy.stations[0]).write_text(copy.stations[1])
    (tmp_path / "copy.toml").write_text(copy.recipe)
    shape = read_recipe(tmp_path / "copy.toml").shape
    assert isinstance(shape, Parameters | Stations)
    end = shape.length if isinstance(shape, Parameters) else shape.rows[-1][0]
    assert end == pytest.approx(length, abs=1e-4)


def test_a_copy_in_the_same_size_only_changes_the_name():
    copy = copy_recipe(PARAMS / "fell-reed-110.toml", "Other reed")
    source = (PARAMS / "fell-reed-110.toml").read_text()
    assert (
        copy.recipe
        == f"# A copy of fell-reed-110.toml\n\n{source.replace('Fell reed 110' + chr(34), 'Other reed' + chr(34))}"
    )


def test_a_mesh_is_not_scaled(tmp_path):
    (tmp_path / "a.stl").write_bytes(b"solid")
    (tmp_path / "m.toml").write_text('format = 1\n[shape]\nmesh = "a.stl"\n')
    with pytest.raises(InputError, match="a mesh is taken as it is"):
        copy_recipe(tmp_path / "m.toml", "Other", length=80)


@pytest.mark.parametrize(
    ("kind", "written", "found"),
    [
        ("hook", "6", "#6"),
        ("hook", "No. 6", "#6"),
        ("hook", "1/0", "1/0"),
        ("ring", "#3", "#3"),
        ("ring", "#30", None),
        ("screw_eye", '0.062 x 3/4"', "0.062 x 0.75 in"),
        ("screw_eye", "1.57 x 19.05", "0.062 x 0.75 in"),
        ("screw_eye", "0.062 in", None),
        ("wire", "1.04 mm", "0.041 in"),
        ("wire", "thin", None),
        ("eye", "6 mm", "6 mm resin"),
        ("eye", "glass 6 mm", "6 mm glass"),
    ],
)
def test_a_size_is_found_however_it_is_written(kind, written, found):
    assert label(kind, written, "mm") == found


@pytest.mark.parametrize("kind", ["hook", "ring", "eye", "screw_eye", "wire"])
def test_every_size_of_the_table_finds_itself(kind):
    assert all(label(kind, size, ruler) == size for size in sizes(kind) for ruler in ("mm", "in"))


@pytest.mark.parametrize("factor", [0.5, 0.7, 1.4, 2.0] if MORE else [0.5, 2.0])
@pytest.mark.parametrize("name", [*sorted(path.stem for path in PARAMS.glob("*.toml")), *range(8 if MORE else 3)])
def test_a_copy_of_any_size_is_taken_and_breaks_no_rule(name, factor, tmp_path):
    """Random ones are left out where they break a rule at their own size."""
    source = PARAMS / f"{name}.toml"
    if isinstance(name, int):
        source = tmp_path / f"{name}.toml"
        source.write_text(random_recipe_text(seeded(name)))
        if any(doubt.severity == "error" for doubt in shape(read_recipe(source))[1]):
            pytest.skip("breaks a rule at its own size")
    copy = copy_recipe(source, "Copy", factor=factor)
    if copy.stations:
        (tmp_path / copy.stations[0]).write_text(copy.stations[1])
    (tmp_path / "copy.toml").write_text(copy.recipe)
    grown = read_recipe(tmp_path / "copy.toml")
    assert [doubt.where for doubt in shape(grown)[1] if doubt.severity == "error"] == []


def test_a_copy_of_another_size_has_no_reading_of_the_old_bait(tmp_path):
    """Its board's density stays: that of the weighed blank, 18.6 g in 120 x 25 x 20 mm."""
    grown = recipe_from_bytes(
        copy_recipe(PARAMS / "fell-reed-110.toml", "Reed", factor=1.5).recipe.encode(), tmp_path / "r"
    )
    assert (grown.wood.blank_mass, grown.wood.density_g_cm3, grown.lip.mass) == (None, 0.31, None)
    assert grown.goal.waterline.x == 55 * 1.5
    roach = recipe_from_bytes(
        copy_recipe(PARAMS / "reedbed-roach-65.toml", "Roach", factor=1.5).recipe.encode(), tmp_path / "r"
    )
    assert roach.weighed == ()
    assert roach.bores[0].fill.mass is None


def test_every_growing_key_grows_and_no_other_length_does(tmp_path):
    """By the table in keys/: each length that a demo writes, in the copy of twice the size."""
    for path in sorted(PARAMS.glob("*.toml")):
        old, new = (tomllib.loads(text) for text in (path.read_text(), copy_recipe(path, "C", factor=2.0).recipe))
        for key, where in _lengths({name: key for name, key in RECIPE.items() if name != "wood"}):
            if key.grows == "wire":
                continue  # of a wire and of no hook: the test of fittings at a point and of wire holds both
            for before, after in zip(_values(old, where), _values(new, where), strict=True):
                ruler = old.get("units", "mm")
                grown = [units.length(value, ruler) for value in after]
                kept = [units.length(value, ruler) for value in before]
                times = 2 if key.grows == "lengths" else 1
                assert grown == pytest.approx([times * value for value in kept], abs=1e-4), (path.stem, where)


def _lengths(keys, path=()):
    """Keys of plain lengths that are not rounded to a drill, and the way to each."""
    for name, key in keys.items():
        if key.kind in {"length", "lengths"} and key.unit != "m" and key.grows != "drill":
            yield key, (*path, name)
        yield from _lengths(key.table, (*path, name))


def _values(table, where):
    """Every value at a way through tables and lists of tables, each as a list."""
    if isinstance(table, list):
        return [value for one in table for value in _values(one, where)]
    if not isinstance(table, dict) or where[0] not in table:
        return []
    found = table[where[0]]
    if len(where) > 1:
        return _values(found, where[1:])
    return [found if isinstance(found, list) else [found]]


@pytest.mark.parametrize(
    ("demo", "old", "new", "key"),
    [
        ("fell-reed-110", "length = 110", "length = 90", "shape.back.points[9]"),
        ("reedbed-roach-65", "length = 65", "length = 45", "bore[2].x"),
    ],
)
def test_a_length_changed_alone_points_to_a_copy_of_that_size(demo, old, new, key, tmp_path):
    path = tmp_path / "changed.toml"
    path.write_text((PARAMS / f"{demo}.toml").read_text().replace(old, new, 1))
    with pytest.raises(InputError) as caught:
        shape(read_recipe(path))
    first = caught.value.mistakes[0]
    assert (first.key, first.line) == (key, first.line)
    assert first.line > 0
    size = new.removeprefix("length = ")
    assert f"bodygen new NAME --from {path.as_posix()} --size '{size}.00 mm'" in first.accepted
    assert sum("bodygen new" in mistake.accepted for mistake in caught.value.mistakes) == 1


@pytest.mark.parametrize("path", sorted(PARAMS.glob("*.toml")), ids=lambda path: path.stem)
def test_what_a_changed_text_says_is_known_without_reading_all_of_it(path):
    text = path.read_text(encoding="utf-8")
    for key in list(spans(text))[::11]:
        after, raw = changed(text, {key: "[2.50, { a = 'b' }]", "name": 'of # "another"'})
        assert raw is None or raw == toml_of(after, "after.toml")
        assert raw is not None or key == "name" or '"' in key
    assert changed(text, {"name": None})[1] is None
    assert changed(text, {})[1] is None
