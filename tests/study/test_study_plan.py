"""Designs of a plan: spread as asked, the same for the same seed, and never all at once."""

from itertools import islice
from math import erf, sqrt
from pathlib import Path

import numpy as np
import pytest
from scipy.stats import qmc, truncnorm

from bodygen.study.plan.designs import designs_of, text_at
from bodygen.study.said.model import Board, Normal, Plan, Range, Study, Values, Varied

THICK = Varied("shape.thickness", Range(10.0, 14.0, 3), "mm", "shape_thickness_mm")
ANGLE = Varied("lip.angle", Values(("35 deg", "40 deg")), "deg", "lip_angle_deg")
DENSE = Varied("wood.density_g_cm3", Normal(0.4, 0.03, 0.31, 0.49), "g/cm3", "wood_density_g_cm3")
COUNT = Varied("coat[1].coats", Range(1.0, 4.0), "", "coat_1_coats", whole=True)
BOARDS = (Board("B1", (100.0, 100.0, 10.0), 40.0), Board("B2", (100.0, 100.0, 10.0), 50.0))


def study(how, designs, varied=(THICK, ANGLE), boards=(), seed=3):
    plan = Plan(how, designs)
    return Study(Path("s.toml"), "s", Path("r.toml"), "", "", seed, plan, tuple(varied), boards, ())


def drawn(*args, **kinds):
    one = study(*args, **kinds)
    return list(designs_of(one, one.plan))


def test_a_grid_has_every_value_with_every_other_and_every_board():
    designs = drawn("grid", 12, boards=BOARDS)
    assert [design.number for design in designs] == list(range(1, 13))
    told = {(*(text for _, text in design.changes), design.board) for design in designs}
    assert told == {
        (f"{mm} mm", angle, f"{0.4 if board == 'B1' else 0.5:g}", board)
        for mm in (10, 12, 14) for angle in ("35 deg", "40 deg") for board in ("B1", "B2")
    }  # fmt: skip


def test_a_latin_hypercube_has_one_design_in_each_part_of_each_range():
    designs = drawn("latin_hypercube", 50, boards=BOARDS)
    values = sorted(float(dict(design.changes)["shape.thickness"].split()[0]) for design in designs)
    assert [int((value - 10) / 4 * 50) for value in values] == list(range(50))
    assert [design.board for design in designs].count("B1") == 25
    assert [dict(design.changes)["lip.angle"] for design in designs].count("35 deg") == 25


def test_a_sobol_sequence_is_the_librarys_however_it_is_drawn():
    """In parts of a thousand as at once; its discrepancy is far below that of chance."""
    designs = drawn("sobol", 2048, (THICK, COUNT))
    points = np.array([float(dict(design.changes)["shape.thickness"].split()[0]) for design in designs])
    whole = qmc.Sobol(2, scramble=True, rng=3).random(2048)
    assert points == pytest.approx(10 + 4 * whole[:, 0], rel=1e-8)  # nine digits are written


def test_the_same_seed_gives_the_same_designs_and_another_others():
    for how in ("latin_hypercube", "sobol", "monte_carlo"):
        assert drawn(how, 8) == drawn(how, 8)
        assert drawn(how, 8) != drawn(how, 8, seed=4)


def test_a_normal_spread_is_the_cut_distributions_inverse():
    """SciPy's truncnorm, which works the cut out otherwise."""
    for share in (0.001, 0.2, 0.5, 0.9, 0.999):
        expected = truncnorm.ppf(share, -3, 3, 0.4, 0.03)
        assert float(text_at(DENSE, share).split()[0]) == pytest.approx(expected, rel=1e-8)
    within = erf(1 / sqrt(2)) / erf(3 / sqrt(2))
    assert float(text_at(DENSE, 0.5 + within / 2).split()[0]) == pytest.approx(0.43, rel=1e-7)


def test_whole_numbers_come_as_often_as_each_other():
    texts = [text_at(COUNT, (i + 0.5) / 400) for i in range(400)]
    assert {text: texts.count(text) for text in set(texts)} == {str(n): 100 for n in (1, 2, 3, 4)}


@pytest.mark.parametrize("how", ["grid", "sobol", "monte_carlo"])
def test_a_million_designs_are_not_made_before_they_are_asked_for(how):
    many = Varied("shape.thickness", Range(10.0, 14.0, 1 << 19), "mm", "shape_thickness_mm")
    one = study(how, 1 << 20, (many, ANGLE))
    assert [design.number for design in islice(designs_of(one, one.plan), 3)] == [1, 2, 3]
