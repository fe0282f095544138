"""What goes over what: every pair has an answer, and what was read of some of them comes out."""

from itertools import product

import pytest

from bodygen import tables
from bodygen.finish.drying import Air, drying
from bodygen.finish.over import BARE, over

TABLE = tables.load("finishes")
FINISHES = list(TABLE["finish"])
UNDER = TABLE["compatibility"]["under"]
USUAL = Air()


def test_the_table_has_a_row_and_a_column_for_every_finish():
    assert [BARE, *FINISHES] == UNDER
    assert list(TABLE["compatibility"]["over"]) == FINISHES
    assert all(len(row) == len(UNDER) for row in TABLE["compatibility"]["over"].values())


@pytest.mark.parametrize(("finish", "under"), list(product(FINISHES, UNDER)))
def test_every_pair_has_an_answer(finish, under):
    below = None if under == BARE else drying(under, USUAL)
    rule = over(finish, under, below)
    assert rule.code in TABLE["compatibility"]["codes"]
    if rule.code == "no":
        assert rule.wait is None
        assert rule.why
    else:
        least = 0.0 if below is None else min(below.touch, below.recoat_min) if finish == under else below.touch
        assert rule.wait >= least or rule.code == "window"
        assert rule.wait > 0 or below is None
        assert rule.latest is None or rule.latest > rule.wait


def test_solvent_waits_for_epoxy_to_cure_and_the_blush_is_washed_off():
    """epoxy_recoat_page: amine blush stops bonding; lacquer over epoxy at full hardness: common practice."""
    rule = over("lacquer", "two_part_epoxy_slow", drying("two_part_epoxy_slow", USUAL))
    assert rule.wait == TABLE["finish"]["two_part_epoxy_slow"]["water_h"][1]
    assert "wash" in rule.prepare
    assert "scuff" in rule.prepare
    assert "blush" in over("oil_polyurethane", "two_part_epoxy_slow", drying("two_part_epoxy_slow", USUAL)).why


@pytest.mark.parametrize(
    ("finish", "under"),
    [("lacquer", "oil_polyurethane"), ("two_part_urethane", "oil_polyurethane"), ("uv_resin", BARE)],
)
def test_pairs_that_were_read_as_bad_are_refused(finish, under):
    """finish_mix_threads; two_pack_over_one_pack_page; the lamp's light does not reach into wood (common practice)."""
    assert over(finish, under, None if under == BARE else drying(under, USUAL)).code == "no"


def test_acrylic_is_clear_coated_when_its_water_is_out_not_when_it_is_sandable():
    below = drying("acrylic_paint", USUAL)
    assert over("waterborne_polyurethane", "acrylic_paint", below).wait == below.dry == 24.0


def test_reasons_name_pairs_that_the_table_has_and_their_cautions_exist():
    for row in TABLE["compatibility"]["why"]:
        assert set(row["over"]) <= set(FINISHES)
        assert set(row["under"]) <= set(UNDER)
    known = set(tables.load("cautions")["caution"])
    assert all(set(row["cautions"]) <= known for row in TABLE["finish"].values())
