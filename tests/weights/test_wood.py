"""Which density wins, and what is doubted about it."""

import pytest

from bodygen.errors import DesignError
from bodygen.recipe.model import Wood
from bodygen.weights.wood import blank_volume, density_at, unusual_board, wood_density


def codes(wood):
    return [f.code for f in wood_density(wood).findings]


def test_given_density_wins_over_blank_and_species():
    wood = Wood("basswood", density_g_cm3=0.5, blank_mass=30.0, blank_size=(80.0, 30.0, 20.0))
    assert wood_density(wood).g_cm3 == 0.5
    assert wood_density(wood).cov == 0.0


def test_weighed_blank_wins_over_species():
    """20.16 g over 80 x 30 x 20 mm = 48 cm^3 is 0.42 g/cm^3."""
    found = wood_density(Wood("basswood", blank_mass=20.16, blank_size=(80.0, 30.0, 20.0)))
    assert found.g_cm3 == pytest.approx(0.42)
    assert found.basis == "blank weighed: 20.16 g, 80 x 30 x 20 mm"


def test_weighed_blank_is_as_sure_as_scale_and_calliper():
    """Tenths of a gram on 20 g and tenths of a mm on 80, 30 and 20 mm, each / sqrt(12), in quadrature."""
    found = wood_density(Wood(blank_mass=20.16, blank_size=(80.0, 30.0, 20.0)))
    parts = [0.1 / 20.16, 0.1 / 80, 0.1 / 30, 0.1 / 20]
    assert found.cov == pytest.approx((sum(p * p for p in parts) / 12) ** 0.5)


def test_species_names_its_source():
    basis = wood_density(Wood("balsa")).basis
    assert basis == "balsa at 12 % moisture, species average (usda_fpl_gtr190, recalled)"


def test_basswood_indoors_raises_no_doubt():
    assert codes(Wood("basswood", 10.0)) == []


def test_balsa_is_too_various_for_an_average():
    (doubt,) = wood_density(Wood("balsa")).findings
    assert (doubt.code, doubt.severity, doubt.value, doubt.limit) == ("wood-varies", "warning", 0.2, 0.1)
    assert "0.13 to 0.22 g/cm^3" in doubt.remedy


@pytest.mark.parametrize(
    ("moisture", "expected"),
    [(4.0, ["moisture-unusual"]), (18.0, ["moisture-unusual"]), (45.0, ["moisture-green"]), (6.0, []), (12.0, [])],
)
def test_unusual_moisture_is_said(moisture, expected):
    assert codes(Wood("basswood", moisture)) == expected


def test_negative_moisture_is_refused_with_the_value():
    with pytest.raises(DesignError, match="moisture_percent = -1:"):
        density_at("basswood", -1.0)


def test_unknown_species_lists_the_woods():
    with pytest.raises(DesignError, match='"tarnwood": no such row in the table; one of alaska_yellow_cedar'):
        wood_density(Wood("tarnwood"))


def test_no_density_at_all_is_refused():
    with pytest.raises(DesignError, match="a weighed blank"):
        wood_density(Wood())


def test_a_board_far_from_its_species_is_doubted():
    assert not unusual_board(Wood("basswood"), 1.29 * 0.4144, "weighed")
    (doubt,) = unusual_board(Wood("basswood"), 1.31 * 0.4144, "weighed")
    assert doubt.code == "board-unusual"
    assert doubt.limit == pytest.approx(1.3 * 0.4144)


def test_a_board_too_light_is_doubted_with_the_low_limit():
    """Three times 10 % (cov_default of woods.toml) below 0.4144."""
    assert not unusual_board(Wood("basswood"), 0.71 * 0.4144, "weighed")
    (doubt,) = unusual_board(Wood("basswood"), 0.69 * 0.4144, "weighed")
    assert (doubt.value, doubt.limit) == (pytest.approx(0.69 * 0.4144), pytest.approx(0.7 * 0.4144))


@pytest.mark.parametrize(("moisture", "limit"), [(4.0, 6.0), (18.0, 12.0), (45.0, 30.0)])
def test_unusual_moisture_is_told_with_the_limit_that_it_passes(moisture, limit):
    """Kept indoors 6 to 12 % (common practice); fibre saturation 30 % (Wood Handbook, chapter 4)."""
    (doubt,) = wood_density(Wood("basswood", moisture)).findings
    assert (doubt.value, doubt.limit) == (moisture, limit)


@pytest.mark.parametrize("edge", [6.0, 12.0])
def test_the_edges_of_usual_moisture_are_usual(edge):
    assert codes(Wood("basswood", edge)) == []


def test_blank_volume_is_the_box():
    assert blank_volume(Wood(blank_size=(80.0, 30.0, 20.0))) == 48000
    assert blank_volume(Wood("basswood")) is None
