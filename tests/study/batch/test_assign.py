"""Sharing pieces out over boards, against every way there is."""

from itertools import product

import numpy as np
import pytest

from bodygen.study.batch.planning.assign import BoardOffer, assigned


def every_way(wanted, offers):
    """Counts (boards, lots) that boards and lots allow."""
    each = [
        [
            counts
            for counts in product(*(range((o.pieces if m is not None else 0) + 1) for m in o.metal))
            if sum(counts) <= o.pieces
        ]
        for o in offers
    ]
    for way in product(*each):
        if tuple(map(sum, zip(*way, strict=True))) == tuple(wanted):
            yield np.array(way)


def cost(way, offers, aim):
    if aim == "metal":
        return sum(
            n * (m or 0.0) for row, o in zip(way, offers, strict=True) for n, m in zip(row, o.metal, strict=True)
        )
    begun = [o for row, o in zip(way, offers, strict=True) if sum(row)]
    return sum(o.area for o in begun) if aim == "wood" else len(begun)


@pytest.mark.parametrize("aim", ["wood", "metal", "boards"])
@pytest.mark.parametrize("seed", range(4))
def test_no_other_way_costs_less(seed, aim):
    chance = np.random.default_rng(seed)
    offers = [
        BoardOffer(
            int(chance.integers(1, 5)),
            float(chance.integers(50, 150)),
            tuple(None if chance.random() < 0.25 else round(float(chance.uniform(1, 3)), 2) for _ in range(2)),
        )
        for _ in range(4)
    ]
    wanted = (3, 2)
    found = assigned(wanted, offers, aim)
    ways = list(every_way(wanted, offers))
    if not ways:
        assert found is None
        return
    assert tuple(found.sum(axis=0)) == wanted
    assert cost(found, offers, aim) == pytest.approx(min(cost(way, offers, aim) for way in ways), abs=1e-3)


def test_too_few_boards_give_nothing():
    assert assigned([5], [BoardOffer(4, 1.0, (1.0,))], "wood") is None
