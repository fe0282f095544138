"""The bench's question both ways, through the command line: pi/4 d^2 h and the handbook's density, 11.34 g/cm^3.

Shop arithmetic, worked again here; density of lead: CRC Handbook of Chemistry and Physics (from memory).
"""

import json
import math

import pytest

from bodygen.cli import main


def asked(capsys, *words):
    assert main(["bore", *words, "--json"]) == 0
    return json.loads(capsys.readouterr().out)


def test_three_eighths_by_half_an_inch_holds_0_905_cm3_and_10_3_g_of_solid_lead(capsys):
    answer = asked(capsys, "3/8", "--depth", "1/2 in")
    assert answer["volume_cm3"] == pytest.approx(math.pi / 4 * 0.9525**2 * 1.27, rel=1e-8)
    assert answer["volume_cm3"] == pytest.approx(0.905, abs=5e-4)
    assert answer["mass_g"] == pytest.approx(10.3, abs=0.05)


def test_fourteen_grams_in_that_bore_want_about_0_68_in(capsys):
    answer = asked(capsys, "3/8", "--mass", "14 g")
    assert answer["depth_mm"] / 25.4 == pytest.approx(14 / 11.34 / (math.pi / 4 * 0.9525**2) / 2.54, rel=1e-8)
    assert answer["depth_mm"] / 25.4 == pytest.approx(0.68, abs=0.005)


def test_ten_grams_in_five_sixteenths_want_0_70_in(capsys):
    assert asked(capsys, "5/16", "--depth", "0.5", "--units", "in")["mass_g"] == pytest.approx(7.1, abs=0.05)
    assert asked(capsys, "5/16", "--mass", "10 g")["depth_mm"] / 25.4 == pytest.approx(0.70, abs=0.005)


def test_a_bare_number_is_in_mm_unless_inches_are_asked_for(capsys):
    assert asked(capsys, "8 mm", "--depth", "10")["depth_mm"] == 10
    assert asked(capsys, "8", "--depth", "10")["diameter_mm"] == 8
    assert asked(capsys, "0.25", "--depth", "0.5", "--units", "in")["depth_mm"] == pytest.approx(12.7, rel=1e-12)


@pytest.mark.parametrize(
    ("words", "answer"),
    [
        (["8 mm", "--depth", "10"], "8.00 mm wide, 10.00 mm deep"),
        (["#30", "--depth", "10 mm"], "1/8 in (0.129) wide"),
        (["8 mm", "--depth", "1/2 in", "--units", "mm"], "8.00 mm wide, 12.70 mm deep"),
    ],
)
def test_the_answer_speaks_in_the_ruler_that_was_used(words, answer, capsys):
    assert main(["bore", *words]) == 0
    assert capsys.readouterr().out.startswith(answer)


def test_the_words_name_the_cautions_and_every_mistake_is_told_at_once(capsys):
    assert main(["bore", "3/8", "--depth", "1/2 in"]) == 0
    told = capsys.readouterr().out
    assert told.startswith(
        "3/8 in (0.375) wide, 1/2 in (0.500) deep to the flat bottom: 0.905 cm3, 10.26 g (0.362 oz) of lead\n"
    )
    assert "Lead: keep it out of mouths" in told
    assert main(["bore", "3 g", "--mass", "-2 g", "--metal", "leed"]) == 2
    error = capsys.readouterr().err
    assert 'diameter = "3 g"' in error
    assert 'mass = "-2 g": nothing fits into that.' in error
    assert "--metal = leed: no such metal. Did you mean lead?" in error
