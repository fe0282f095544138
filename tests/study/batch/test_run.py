"""Fifty pieces from six boards: weighed by hand with the blanks that chance gives them, drilled as the sheet says."""

import re
import shutil
from functools import cache
from math import pi, prod, radians, tan

import numpy as np
import pytest
from amount import only_with_more
from fifty import STUDY, fifty
from planks_sawn import comes_out

import bodygen
from bodygen.errors import InputError
from bodygen.study.batch.files import run_document
from bodygen.study.batch.overview import run_lines
from bodygen.study.batch.planning.model import beside_words
from bodygen.study.batch.run import run_of
from bodygen.study.said.read import read_study

BAND = (2.2, 3.0)
KERF = 25.4 / 16


def by_hand(depth, blank, block):
    """Reserve [g] of a perch whose bore is ``depth`` mm deep and whose blank weighed so much.

    What the drill takes and what goes into it are closed forms; all else is the recipe's own bait of the table's wood,
    as the public door tells it: outside of the bore nothing about it changes but the density of its wood.
    """
    recipe = bodygen.read_recipe(STUDY.parents[1] / "tarn-perch-70.toml")
    told = plain_perch()
    bore = next(b for b in recipe.bores if b.kind == "ballast")
    wood = blank / block
    before = told["body"]["wood_density_g_cm3"] / 1000
    deeper = depth - bore.depth
    hole = pi / 4 * bore.diameter**2
    left = told["body"]["cut_volume_cm3"] * 1000 - hole * deeper
    slug = pi / 4 * (bore.diameter - bore.fill.clearance) ** 2
    metal, glue = 8.56e-3, 1.15e-3
    tip = (bore.diameter / 2) / tan(radians(59)) * hole / 3
    assert bore.fill.level == 0.9
    full = 0.9 * deeper
    mass = told["total"]["mass_g"]
    mass += wood * left - before * told["body"]["cut_volume_cm3"] * 1000
    mass += metal * slug * full + glue * ((hole - slug) * full + 0.1 * hole * deeper)
    assert tip > 0  # of the drill's point: the same at every depth
    return told["total"]["displaced_cm3"] * told["float"]["water_g_cm3"] - mass


@cache
def plain_perch():
    return bodygen.properties(bodygen.assess(bodygen.read_recipe(STUDY.parents[1] / "tarn-perch-70.toml")))


def test_every_piece_of_fifty_floats_within_its_band_whatever_its_blank_weighs():
    """Blanks of each board differ as the sheet says they do; each is drilled as the table has it for its reading."""
    document = run_document(fifty())
    block, chance = prod(document["blank_mm"]), np.random.default_rng(50)
    lines = document["depths"][0]["lines"]
    covs = {board["name"]: board["blank_cov"] for board in document["boards"]}
    assert len(document["pieces"]) == 50
    for piece in document["pieces"]:
        grams = piece["density_g_cm3"] * block / 1000 * (1 + covs[piece["board"]] * np.clip(chance.normal(), -3, 3))
        reads = round(grams, 1)  # the scale shows tenths
        line = next(one for one in lines if one["blank_g"][0] - 0.05 <= reads <= one["blank_g"][1] + 0.05)
        assert BAND[0] <= by_hand(line["bore_mm"], grams, block) <= BAND[1], piece["label"]


@only_with_more
def test_of_a_bait_with_several_ballast_bores_it_is_said_whose_depth_is_found(tmp_path):
    """In the lines, on the sheet, and, where no depth of that one would do, that another may be found."""
    shutil.copytree(STUDY.parents[1], tmp_path / "params")
    file = tmp_path / "params" / "studies" / "roach.toml"
    text = (
        'format = 1\nname = "Roach"\nrecipe = "../reedbed-roach-65.toml"\n[batch]\npieces = 4\nsaw = "1.5 mm"\n'
        'reserve = ["0.5 g", "3 g"]\n[[board]]\nname = "B1"\nsize = ["300 mm", "80 mm", "26 mm"]\nmass = "270 g"\n'
    )
    file.write_text(text, encoding="utf-8")
    run = run_of(read_study(file))
    assert [one.name for one in run.beside] == ["after keel"]
    (words,) = beside_words(run)
    assert words in run_lines(run)
    assert re.fullmatch(
        r"the depth of keel is found for each piece; after keel stays as the recipe has it, 4\.00 mm .* to the point, "
        r"0\.\d+ g of bismuth tin 58 42",
        words,
    )
    file.write_text(text.replace("reserve", 'bore = "after keel"\nreserve'), encoding="utf-8")
    assert [one.name for one in run_of(read_study(file)).beside] == ["keel"]
    file.write_text(text.replace('"0.5 g"', '"2.9 g"'), encoding="utf-8")
    with pytest.raises(InputError, match='or find another bore\'s depth: bore = "after keel"'):
        run_of(read_study(file))
    assert fifty().beside == ()


@pytest.mark.parametrize("board", [0, pytest.param(2, marks=only_with_more), pytest.param(5, marks=only_with_more)])
def test_the_sheets_figures_are_those_of_a_recipe_with_that_blank_and_that_bore(board):
    """By the public door: the recipe with the depth written into it, and the blank told as a reading off the scale."""
    run = fifty()
    piece = next(piece for piece in run.pieces if piece.board == run.used[board].name)
    path = STUDY.parents[1] / "tarn-perch-70.toml"
    text = path.read_text(encoding="utf-8")
    depth = piece.made.drilled.depth
    changed = text.replace('depth = "3/8 in"\ndepth_to', f'depth = "{depth} mm"\ndepth_to')
    blank = piece.made.masses["squared"]
    a = bodygen.assess(bodygen.parse_recipe(changed, path), [("squared", blank)])
    told = bodygen.properties(a)
    assert told["float"]["reserve_g"] == pytest.approx(piece.made.drilled.reserve_at(piece.made.density), abs=1e-6)
    for stage in told["stages"]:
        assert piece.made.masses[stage["name"]] == pytest.approx(stage["mass_g"], abs=1e-6)
    assert by_hand(depth, blank, prod(run.block)) == pytest.approx(told["float"]["reserve_g"], abs=0.03)


def test_the_planks_are_used_to_four_fifths_and_every_blank_comes_out_of_the_saw():
    run = fifty()
    blanks = 0.0
    for used in run.used:
        plank, share = used.share.layout.plank, used.share
        assert comes_out(plank.face, share.places, share.sawn.cuts, KERF)
        assert len(share.places) * share.layout.layers >= share.pieces
        blanks += sum((p.x1 - p.x0) * (p.y1 - p.y0) for p in share.places)
    planks = sum(used.share.layout.plank.size[0] * used.share.layout.plank.size[1] for used in run.used)
    assert blanks / planks >= 0.8
    assert run.used_share == pytest.approx(blanks / planks)
    assert [piece.number for piece in run.pieces] == list(range(1, 51))
    places = {(piece.board, piece.place, piece.layer) for piece in run.pieces}
    assert len(places) == 50


def changed_study(tmp_path, *changes):
    text = STUDY.read_text(encoding="utf-8").replace("../tarn-perch-70.toml", "tarn-perch-70.toml")
    for before, after in changes:
        assert before in text
        text = text.replace(before, after)
    for name in ("tarn-perch-70.toml",):
        (tmp_path / name).write_bytes((STUDY.parents[1] / name).read_bytes())
    path = tmp_path / "fifty.toml"
    path.write_text(text, encoding="utf-8")
    return path


def refused(tmp_path, *changes):
    with pytest.raises(InputError) as error:
        run_of(read_study(changed_study(tmp_path, *changes)))
    return str(error.value).replace(f"{tmp_path.as_posix()}/", "")


def line_of(tmp_path, text):
    rows = (tmp_path / "fifty.toml").read_text(encoding="utf-8").splitlines()
    return next(n for n, row in enumerate(rows, 1) if text in row)


@only_with_more
def test_too_few_boards_say_how_many_they_give_and_which_board_would_do(tmp_path):
    told = refused(tmp_path, ("pieces = 50", "pieces = 60"))
    assert told.startswith(f"fifty.toml:{line_of(tmp_path, 'pieces = 60')}: batch.pieces: the boards give 52 (B1 12, ")
    assert "one more board" in told
    assert "g/cm3" in told


def test_a_board_that_is_too_thin_or_too_short_says_what_a_blank_needs(tmp_path):
    thin = '["9-1/4 in", "3-3/8 in", "1/2 in"]'
    told = refused(tmp_path, ('["9-1/4 in", "3-3/8 in", "1 in"]', thin), ('mass = "197 g"', 'mass = "99 g"'))
    assert told.startswith(
        f"fifty.toml:{line_of(tmp_path, thin)}: board[2].size: no blank can be sawn of B2: thick 1/2 in"
    )
    assert "where a blank needs 7/8 in (0.875)" in told
    short = '["2-1/2 in", "3-3/8 in", "1 in"]'
    told = refused(tmp_path, ('["9-1/4 in", "3-3/8 in", "1 in"]', short), ('mass = "197 g"', 'mass = "53 g"'))
    assert "long 2-1/2 in (2.500), where a blank needs 3 in (3.000)" in told


@only_with_more
def test_a_band_that_no_wood_of_the_boards_reaches_says_which_would(tmp_path):
    told = refused(tmp_path, ('["2.2 g", "3.0 g"]', '["8.2 g", "8.9 g"]'))
    assert "batch.pieces: the boards give 0 (none of them suits)" in told
    assert "B1 is too heavy: 0.412 g/cm3" in told
    assert "no such ballast bore" in refused(tmp_path, ('spare = "wood"', 'bore = "balast"'))


@only_with_more
def test_a_heavy_board_is_left_out_and_told(tmp_path):
    path = changed_study(
        tmp_path, ('mass = "128 g"', 'mass = "250 g"'), ("pieces = 50", "pieces = 40"), ('blanks = ["18.4 g"]', "")
    )
    run = run_of(read_study(path))
    assert "B4" not in {used.name for used in run.used}
    finding = next(f for f in run.findings if f.code == "board-unsuited")
    assert finding.where == "board[4]"
    assert "too heavy" in finding.remedy


@only_with_more
def test_lots_get_the_boards_that_suit_them(tmp_path):
    lots = """
[[batch.lot]]
name = "lively"
pieces = 20
reserve = ["2.6 g", "3.4 g"]

[[batch.lot]]
name = "slow"
pieces = 20
reserve = ["1.6 g", "2.2 g"]
"""
    path = changed_study(tmp_path, ("pieces = 50\n", ""), ('spare = "wood"', f'spare = "metal"\n{lots}'))
    text = path.read_text(encoding="utf-8").replace(
        'reserve = ["2.2 g", "3.0 g"]      # every piece is to carry as much\n', ""
    )
    path.write_text(text, encoding="utf-8")
    run = run_of(read_study(path))
    counts = {name: [p for p in run.pieces if p.made.lot.name == name] for name in ("lively", "slow")}
    assert [len(pieces) for pieces in counts.values()] == [20, 20]
    for name, (low, high) in (("lively", (2.6, 3.4)), ("slow", (1.6, 2.2))):
        for piece in counts[name]:
            assert low <= piece.made.assessment.flotation.reserve_g <= high
