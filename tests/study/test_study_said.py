"""What a study's file may say, and how its mistakes are told: all at once, each with its place."""

import pytest
from leaves import BAIT, PLAN, RANGES, STUDY

from bodygen.errors import InputError
from bodygen.study.said.kept import NoFigureError, columns_at, one_column
from bodygen.study.said.model import Board, Normal, Plan, Range, Values
from bodygen.study.said.read import read_study
from bodygen.study.said.written import written


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("said")


@pytest.fixture
def said(folder):
    def read(text=STUDY, bait=BAIT, **how):
        (folder / "leaf.toml").write_text(bait, encoding="utf-8")
        (folder / "leaves.toml").write_text(text, encoding="utf-8")
        return read_study(folder / "leaves.toml", **how)

    return read


def test_a_study_says_what_varies_how_and_what_is_kept(said):
    study = said()
    assert (study.name, study.seed, study.plan) == ("Leaves", 5, Plan("monte_carlo", 6))
    assert [one.spread for one in study.varied] == [
        Range(9.0, 12.0), Normal(0.0, 2.0, -6.0, 6.0), Values(("balsa", "basswood")), Range(0.35, 0.45),
    ]  # fmt: skip
    assert [one.column for one in study.varied] == [
        "shape_thickness_mm", "bore_1_lean_deg", "wood_species", "shape_back_fractions_2_1",
    ]  # fmt: skip
    assert [(one.name, one.kind) for one in study.columns] == [
        ("float_reserve_g", "number"), ("stages_drilled_mass_g", "number"), ("body_centroid_mm_1", "number"),
    ]  # fmt: skip
    assert "[weighed]" not in study.text  # a reading of one piece of wood
    assert 'blank = { mass = "3 g"' in study.text  # the density does not vary


def test_boards_have_the_density_of_their_weight_and_take_the_blanks_place(said):
    board = '[[board]]\nname = "B1"\nsize = ["900 mm", "120 mm", "22 mm"]\nmass = "1010 g"\n'
    study = said(STUDY + board)
    assert study.boards == (Board("B1", (900.0, 120.0, 22.0), 1010.0),)
    assert study.boards[0].density == pytest.approx(1010 / (90 * 12 * 2.2), rel=1e-12)  # g over cm3
    assert "blank = " not in study.text
    assert f"density_g_cm3 = {study.boards[0].density:.9g}" in study.text


def test_every_mistake_of_a_study_is_told_at_once_with_its_place(said):
    wrong = (
        STUDY
        .replace("shape.thickness", "shape.thicknes")
        .replace('"2 deg"', '"0 deg"')
        .replace('"basswood"', '"baswood"')
        .replace("to = 0.45", "to = 0.25")
        .replace("float.reserve_g", "float.reserv_g")
        .replace("designs = 6", "designs = 0")
        .replace("seed =", "sede =")
    )
    with pytest.raises(InputError) as caught:
        said(wrong)
    found = {mistake.key: mistake for mistake in caught.value.mistakes}
    assert {*found} == {
        "sede", "keep[1]", "plan.designs", "vary[1].key", "vary[2].deviation", "vary[3].values[2]", "vary[4].to",
    }  # fmt: skip
    assert found["vary[1].key"].line == 11
    assert found["vary[1].key"].written == '"shape.thicknes"'
    assert "Did you mean shape.thickness?" in found["vary[1].key"].problem
    assert "Did you mean float.reserve_g?" in found["keep[1]"].problem
    assert "basswood" in found["vary[3].values[2]"].accepted


@pytest.mark.parametrize(
    ("change", "key", "words"),
    [
        (("monte_carlo", "sobol"), "plan.designs", "designs = 4 or 8"),
        (("monte_carlo", "grid"), "vary[1]", "steps = 5"),
        (('to = "1.2 cm"', 'to = "1.2 g"'), "vary[1].to", "a mass where a length belongs"),
        (('to = "1.2 cm"', 'to = "1.2 m"'), "vary[1].to", "more than the most accepted"),
        (('to = "1.2 cm"', 'to = "1.2 cm"\nsteps = 3'), "vary[1].steps", "grid"),
        (('to = "1.2 cm"', 'mean = "1.2 cm"'), "vary[1]", "from and to; or values; or mean and deviation"),
        (('"bore[1].lean"', '"bore[2].lean"'), "vary[2].key", "no such place"),
        (('"bore[1].lean"', '"bore"'), "vary[2].key", "a table"),
        (('"bore[1].lean"', '"shape.thickness"'), "vary[2].key", "varied twice"),
        (('"leaf.toml"', '"leef.toml"'), "recipe", "no such file"),
        (('"leaf.toml"', '"../../leaf.toml"'), "recipe", "--allow-outside"),
        (("stages[drilled]", "stages[painted]"), "keep[2]", "stages[drilled]"),
        (("stages[drilled].mass_g", "dive.depth_m"), "keep[2]", "has no dive"),
    ],
)
def test_a_mistake_says_what_would_be_accepted(said, change, key, words):
    with pytest.raises(InputError) as caught:
        said(STUDY.replace(*change))
    assert [mistake.key for mistake in caught.value.mistakes][:1] == [key]
    assert words in str(caught.value)


def test_a_recipe_with_mistakes_is_told_as_any_recipe(said):
    with pytest.raises(InputError, match=r"leaf\.toml:6: shape\.depth = 140"):
        said(bait=BAIT.replace("depth = 14", "depth = 1400"))


def test_a_path_leads_to_one_figure_or_to_all_below_it():
    document = {"dive": {"depth_m": {"low": 1.0, "likely": 2.0, "high": 3.0}}, "stages": [{"name": "a b", "mass_g": 1}]}
    assert [c.name for c in columns_at(document, "dive.depth_m")] == [
        "dive_depth_m_low", "dive_depth_m_likely", "dive_depth_m_high",
    ]  # fmt: skip
    assert one_column(document, "dive.depth_m").name == "dive_depth_m_likely"
    assert one_column(document, "stages[a b].mass_g").name == one_column(document, "stages[1].mass_g").name.replace(
        "1", "a_b"
    )
    with pytest.raises(NoFigureError, match="not a path"):
        columns_at(document, "dive..depth_m")
    with pytest.raises(NoFigureError, match="where one is asked for"):
        one_column(document | {"dive": {"depth_m": {"a": 1, "b": 2}}}, "dive.depth_m")


def test_a_value_is_written_with_its_unit_and_nine_digits(said):
    thickness = said().varied[0]
    assert written(thickness, 28 / 3) == "9.33333333 mm"


def test_places_in_a_list_are_counted_from_one_and_none_from_its_end(said):
    """``[0]`` once led to the last of a list: another figure than the one that was asked for, and another bore."""
    document = {"at_mm": [1.0, 2.0], "stages": [{"name": "squared", "mass_g": 3.0}, {"name": "blank", "mass_g": 2.0}]}
    for path, problem, near in (
        ("stages[0].mass_g", "stages of this recipe has no 0.", ("stages[squared]", "stages[blank]")),
        ("stages[3].mass_g", "stages of this recipe has no 3.", ("stages[squared]", "stages[blank]")),
        ("at_mm[0]", "at_mm of this recipe has no 0.", ("at_mm[1]", "at_mm[2]")),
        ("at_mm[²]", "at_mm of this recipe has no ².", ("at_mm[1]", "at_mm[2]")),
    ):
        with pytest.raises(NoFigureError) as raised:
            columns_at(document, path)
        assert (str(raised.value), raised.value.near) == (problem, near)
    with pytest.raises(InputError) as wrong:
        said(STUDY.replace("bore[1].lean", "bore[0].lean"))
    assert [(one.key, one.problem) for one in wrong.value.mistakes] == [
        ("vary[2].key", "no such place in this recipe.")
    ]


def test_a_deviation_of_a_temperature_is_a_difference(said):
    """9 degF are 5 degC of difference (1.8 degF to the degree, SP 811), though 9 degF on the scale are -12.8 degC."""
    # -2 is the least that the key itself takes
    vary = '\n[[vary]]\nkey = "water.temperature"\nmean = "50 degF"\ndeviation = '
    for said_as, celsius in (('"9 degF"', 5.0), ('"5 degC"', 5.0), ("5", 5.0)):
        assert said(STUDY + vary + said_as + "\n").varied[-1].spread == Normal(10.0, celsius, -2.0, 25.0)
    with pytest.raises(InputError):
        said(STUDY + vary + '"-9 degF"\n')


def test_a_board_that_is_no_wood_is_refused_where_its_mass_stands(said):
    """A mass in the wrong unit, or a side in centimetres, makes a density that no wood has."""
    board = '[[board]]\nname = "B1"\nsize = ["900 mm", "120 mm", "22 mm"]\nmass = "101 kg"\n'
    with pytest.raises(InputError) as raised:
        said(STUDY + board)
    (mistake,) = raised.value.mistakes
    assert (mistake.key, mistake.problem) == ("board[1].mass", "with this size it is of 42.5 g/cm3, which is no wood.")


LIMIT = '\n[[limit]]\nfigure = "{}"\n{}\n'


@pytest.mark.parametrize(
    ("figure", "written", "least"),
    [
        ("float.reserve_g", '"2 g"', 2.0),
        ("float.reserve_g", '"0.1 oz"', 0.1 * 28.349523125),  # NIST Handbook 44, appendix C
        ("float.reserve_g", "2", 2.0),
        ("body.length_mm", '"1-1/2 in"', 38.1),
        ("body.length_mm", '"4 cm"', 40.0),
        ("float.pitch_deg", '"0.5 rad"', 28.64788975654116),
        ("body.volume_cm3", '"2.5 cm3"', 2.5),
        ("body.volume_cm3", "2.5", 2.5),
        ("body.wood_density_g_cm3", '"160 kg/m3"', 0.16),
        ("body.centroid_mm[1]", '"1 in"', 25.4),
    ],
)
def test_a_limit_takes_what_people_write_and_a_bare_number_in_the_figures_unit(said, figure, written, least):
    (limit,) = said(STUDY + LIMIT.format(figure, f"least = {written}")).limits
    assert limit.least == pytest.approx(least, rel=1e-12)


def test_an_aim_takes_a_target_and_what_is_near_it_with_units(said):
    aims = '[search]\ndesigns = 9\n[[aim]]\nfigure = "float.reserve_g"\ntarget = "0.1 oz"\nwithin = "50 mg"\n'
    (aim,) = said(RANGES.replace(PLAN, aims)).aims
    assert (aim.target, aim.within) == (pytest.approx(2.8349523125, rel=1e-12), 0.05)


@pytest.mark.parametrize(
    ("figure", "said_of_it", "key", "problem", "accepted"),
    [
        (
            "float.reserve_g", 'least = "2 mm"', "limit[1].least", "a length where a mass belongs.",
            'a mass such as "14 g", "0.5 oz" or "150 gr"; a bare number is in g',
        ),
        (
            "body.volume_cm3", 'most = "2.5 ml"', "limit[1].most", "no number of cm3.",
            'a number, such as 2.5 or "2.5 cm3"',
        ),
        ("float.reserve_g", 'least = 2\nmost = "1 g"', "limit[1].most", "less than least, 2 g.", "the greater end"),
        ("body.volume_cm3", "most = true", "limit[1].most", "not a number.", "a number"),
    ],
)  # fmt: skip
def test_a_limit_of_another_kind_is_a_mistake_with_its_place(said, figure, said_of_it, key, problem, accepted):
    with pytest.raises(InputError) as raised:
        said(STUDY + LIMIT.format(figure, said_of_it))
    (mistake,) = raised.value.mistakes
    assert (mistake.key, mistake.problem, mistake.accepted) == (key, problem, accepted)
    assert mistake.line > STUDY.count("\n")
