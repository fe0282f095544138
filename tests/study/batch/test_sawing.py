"""Layouts of blanks in planks, sawn up here cut by cut: parts that a cut does not run right through are refused."""

from itertools import product

import numpy as np
import pytest
from planks_sawn import NEAR, comes_out, edges

from bodygen.errors import BodygenError
from bodygen.study.batch.planning.planks import Plank, clear_parts, laid, layout_of, share_of
from bodygen.study.batch.planning.sawing import Rectangle, sawn

KERF = 1.5
BOARDS = {
    "whole": Plank("B", (314.0, 88.0, 24.0)),
    "with a knot": Plank("B", (314.0, 88.0, 24.0), (Rectangle(100.0, 30.0, 120.0, 45.0),)),
    "with three": Plank(
        "B",
        (410.0, 120.0, 24.0),
        (Rectangle(0, 0, 12, 120), Rectangle(200, 50, 215, 62), Rectangle(330, 100, 410, 120)),
    ),
    "grain across": Plank("B", (140.0, 330.0, 24.0), (), grain_along=False),
    "layers": Plank("B", (314.0, 88.0, 50.0)),
}
BLANK = (76.2, 22.225, 26.9875)


@pytest.mark.parametrize("name", BOARDS)
def test_every_blank_comes_out_of_the_saw_whole_with_the_kerf_between(name):
    plank = BOARDS[name]
    layout = layout_of(plank, BLANK, KERF)
    assert layout.pieces > 0
    for wanted in {layout.pieces, layout.pieces // 2, 1}:
        share = share_of(layout, wanted, KERF)
        assert len(share.places) * layout.layers >= wanted
        assert comes_out(plank.face, share.places, share.sawn.cuts, KERF)
        for place in share.places:
            assert not any(place.overlaps(flaw) for flaw in plank.flaws)
            assert sorted(place.size) == pytest.approx(sorted((76.2, layout.side)), abs=NEAR)
            along = place.size[0] if plank.grain_along else place.size[1]
            assert along == pytest.approx(76.2, abs=NEAR)


def test_a_thick_board_is_resawn_and_a_thin_one_gives_none():
    thick = layout_of(BOARDS["layers"], BLANK, KERF)
    once = layout_of(BOARDS["whole"], BLANK, KERF)
    assert (thick.layers, thick.pieces) == (2, 2 * once.pieces)
    assert thick.over == pytest.approx(50.0 - 2 * 22.225 - KERF)
    assert layout_of(Plank("B", (314.0, 88.0, 22.0)), BLANK, KERF).pieces == 0


def test_a_plank_is_ripped_first_where_no_blank_is_lost_by_it():
    """Seven of nine: columns first leave 3 x 2-1/4 in, rows first a longer strip; both give two more blanks.

    But columns first would have parts 3 in long ripped at the fence.
    """
    kerf = 1.5875
    share = share_of(layout_of(Plank("B", (234.95, 85.725, 25.4)), BLANK, kerf), 7, kerf)
    assert len(share.places) == 7
    assert min(cut.part.size[0] for cut in share.sawn.cuts if cut.way == "rip") == pytest.approx(234.95)
    # three rips at one setting, then every cut across at one setting
    assert [cut.way for cut in share.sawn.cuts] == 3 * ["rip"] + 7 * ["cross"]
    assert {(cut.way, cut.set_to) for cut in share.sawn.cuts} == {("rip", 26.9875), ("cross", 76.2)}


@pytest.mark.parametrize("columns", [1, 3, 7])
def test_a_plank_made_for_a_grid_of_blanks_is_used_whole(columns):
    """The answer is perfect by construction: so many blanks and the kerfs between them, and nothing over."""
    long, side, rows = 76.2, 26.9875, 4
    plate = Rectangle(0, 0, columns * (long + KERF) - KERF, rows * (side + KERF) - KERF)
    places = laid([(long, side)] * (columns * rows), plate, KERF)
    assert len(places) == columns * rows
    found = sawn(plate, places, KERF)
    assert found.offcuts == ()
    assert len(found.cuts) == columns * rows - 1  # each cut frees one part more
    assert comes_out(plate, places, found.cuts, KERF)


CGCUT1 = ((8, 4, 2, 66), (3, 7, 1, 35), (8, 2, 3, 24), (3, 4, 5, 17), (3, 3, 2, 11), (3, 2, 2, 8), (2, 1, 1, 2))
"""Length, width, most of them, value, for a plate 15 x 10; the best value of edge-to-edge cuts is 244.

N. Christofides and C. Whitlock, An algorithm for two-dimensional cutting problems, Operations Research 25 (1977) 30-44,
problem 1, as the OR-Library has it (cgcut1); from memory.
"""


def test_the_best_cutting_of_a_published_plate_is_laid_and_sawn():
    plate = Rectangle(0, 0, 15, 10)
    best = 0
    for counts in product(*(range(most + 1) for _, _, most, _ in CGCUT1)):
        rows = [(row, n) for row, n in zip(CGCUT1, counts, strict=True) if n]
        value, area = sum(row[3] * n for row, n in rows), sum(row[0] * row[1] * n for row, n in rows)
        if not 244 <= value <= 246 or area > 150:
            continue
        sizes = [(float(row[0]), float(row[1])) for row, n in rows for _ in range(n)]
        places = laid(sizes, plate, 0.0)
        if len(places) == len(sizes) and value > best:
            found = sawn(plate, places, 0.0)
            assert comes_out(plate, places, found.cuts, 0.0)
            best = value
    assert best == 244


def test_what_no_cut_from_edge_to_edge_can_part_is_told():
    """Four blanks round a fifth, like the vanes of a wheel: the smallest layout that no such cut begins."""
    wheel = [Rectangle(0, 0, 20, 10), Rectangle(20, 0, 30, 20), Rectangle(10, 20, 30, 30), Rectangle(0, 10, 10, 30)]
    with pytest.raises(BodygenError, match="no cut from edge to edge parts 5 blanks"):
        sawn(Rectangle(0, 0, 30, 30), [*wheel, Rectangle(10, 10, 20, 20)], 0.0)


def parted(rectangle, chance, kerf, depth):
    """Part a rectangle at random by cuts from edge to edge."""
    x0, y0, x1, y1 = rectangle
    long, wide = x1 - x0, y1 - y0
    if depth == 0 or min(long, wide) < 4 * kerf + 8:
        return [rectangle]
    share = chance.uniform(0.25, 0.75)
    if chance.random() < 0.5:
        at = x0 + share * (long - kerf)
        halves = (x0, y0, at, y1), (at + kerf, y0, x1, y1)
    else:
        at = y0 + share * (wide - kerf)
        halves = (x0, y0, x1, at), (x0, at + kerf, x1, y1)
    return [part for half in halves for part in parted(half, chance, kerf, depth - 1)]


@pytest.mark.parametrize("seed", range(20))
def test_cuts_are_found_for_every_plank_that_was_parted_by_such_cuts(seed):
    chance = np.random.default_rng(seed)
    plank = Rectangle(0, 0, 300, 90)
    blanks = [Rectangle(*part) for part in parted(edges(plank), chance, 2.0, 5)]
    keep = [blank for blank in blanks if chance.random() < 0.8] or blanks
    for first in ("rip", "cross"):
        assert comes_out(plank, keep, sawn(plank, keep, 2.0, first).cuts, 2.0)


def most_by_trying(size, one, flaws):
    """Most blanks that whole-number cuts without kerf part a board into, by trying every cut."""
    known = {}

    def most(x0, y0, x1, y1):
        key = x0, y0, x1, y1
        if key not in known:
            inside = [f for f in flaws if f[0] < x1 and f[2] > x0 and f[1] < y1 and f[3] > y0]
            whole = (x1 - x0, y1 - y0) == one and not inside
            cuts = [most(x0, y0, x, y1) + most(x, y0, x1, y1) for x in range(x0 + 1, x1)]
            cuts += [most(x0, y0, x1, y) + most(x0, y, x1, y1) for y in range(y0 + 1, y1)]
            known[key] = max([int(whole), *cuts])
        return known[key]

    return most(0, 0, *size)


@pytest.mark.parametrize("seed", range(6))
def test_round_flaws_as_many_blanks_are_laid_as_trying_every_cut_finds(seed):
    chance = np.random.default_rng(seed)
    size, one = (int(chance.integers(7, 11)), int(chance.integers(4, 7))), (3, 2)
    flaws = []
    for _ in range(1 + seed % 2):
        x, y = int(chance.integers(0, size[0] - 1)), int(chance.integers(0, size[1] - 1))
        flaws.append((x, y, x + 1, y + 1))
    parts = clear_parts(Rectangle(0, 0, *size), [Rectangle(*flaw) for flaw in flaws], one, 0.0)
    count = sum(int(part.size[0] // one[0]) * int(part.size[1] // one[1]) for part in parts)
    assert count == most_by_trying(size, one, flaws)
