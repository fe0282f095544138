"""Every wording as a whole text: file, line, key, what was written, what is accepted."""

from pathlib import Path

import pytest

from bodygen.errors import InputError
from bodygen.recipe.read import read_recipe, recipe_from_bytes

GOOD = """\
format = 1
name = "Test perch"
units = "{units}"

[shape]
length = "70 mm"
depth = "22 mm"
thickness = "16 mm"
"""
WORDINGS = (Path(__file__).parent / "broken" / "wordings.txt").read_text(encoding="utf-8").split("===\n")[1:]
LENGTH = 'a length such as "2-3/4 in", "3/8\\"", "9.5 mm" or "1.2 cm"; a bare number is in mm'


def refusal(tmp_path, extra, units="mm", drop=""):
    text = GOOD.format(units=units).replace(drop, "") + extra
    with pytest.raises(InputError) as caught:
        recipe_from_bytes(text.encode(), tmp_path / "perch.toml")
    return str(caught.value).replace(f"{tmp_path.as_posix()}/", "")


@pytest.mark.parametrize("block", WORDINGS, ids=lambda block: block.split("\n---\n")[1].split("\n")[0])
def test_a_mistake_is_worded_as_a_whole(tmp_path, block):
    extra, message = block.split("\n---\n")
    assert refusal(tmp_path, extra) == message.rstrip("\n")


def test_a_wrong_unit_names_what_belongs_there(tmp_path):
    text = GOOD.format(units="mm").replace('"22 mm"', '"3 g"')
    with pytest.raises(InputError) as caught:
        recipe_from_bytes(text.encode(), tmp_path / "perch.toml")
    assert str(caught.value).endswith(
        f'perch.toml:7: shape.depth = "3 g": a mass where a length belongs.\n    {LENGTH}'
    )


def test_bounds_are_shown_in_the_makers_own_unit(tmp_path):
    found = refusal(tmp_path, "[limits]\nchin = 4", units="in")
    assert found == (
        'perch.toml:10: limits.chin = 4: more than the most accepted, 1-31/32 in (1.969). In mm? Write "4 mm".\n'
        '    a length such as "2-3/4 in", "3/8\\"", "9.5 mm" or "1.2 cm"; a bare number is in in,'
        " from 0 in (0.000) to 1-31/32 in (1.969)"
    )


def test_a_name_of_several_woods_is_refused_with_all_of_them(tmp_path):
    assert refusal(tmp_path, '[wood]\nspecies = "White Cedar"') == (
        'perch.toml:10: wood.species = "White Cedar": a name that more than one wood has.\n'
        "    say which: atlantic_white_cedar, northern_white_cedar"
    )


def test_a_misspelt_wood_is_refused_with_the_nearest(tmp_path):
    found = refusal(tmp_path, '[wood]\nspecies = "baswood"')
    assert found.startswith('perch.toml:10: wood.species = "baswood": no such name here. Did you mean "basswood"?\n')


@pytest.mark.parametrize("key", ["sg", "SG", "specific_gravity"])
def test_a_bare_specific_gravity_is_refused_with_the_reason(tmp_path, key):
    found = refusal(tmp_path, f'[wood]\nspecies = "basswood"\n{key} = 0.37')
    assert found.startswith(
        f"perch.toml:11: wood.{key} = 0.37: no such key: it has too many meanings.\n"
        '    A bare "SG" has at least four meanings. Oven-dry mass over green volume (gb)'
    )


def test_one_body_has_one_source(tmp_path):
    (tmp_path / "a.stl").write_text("solid")
    found = refusal(tmp_path, 'mesh = "a.stl"')
    problem = "does not go with shape.mesh, which is the whole body already."
    accepted = "\n    exactly one of: the parameters, stations, mesh"
    assert found.split("\nperch")[0] == f'perch.toml:6: shape.length = "70 mm": {problem}{accepted}'
    assert found.count(problem) == 3


def test_a_recipe_without_a_shape_or_a_format_says_both(tmp_path):
    with pytest.raises(InputError) as caught:
        recipe_from_bytes(b'name = "x"', tmp_path / "perch.toml")
    assert [mistake.key for mistake in caught.value.mistakes] == ["format", "shape"]


def test_every_other_format_is_refused(tmp_path):
    with pytest.raises(InputError) as caught:
        recipe_from_bytes(GOOD.format(units="mm").replace("format = 1", "format = 2").encode(), tmp_path / "perch.toml")
    assert str(caught.value).endswith("perch.toml:1: format = 2: a format this version does not know.\n    format = 1")


def test_all_mistakes_of_a_file_come_together_sorted_by_line(tmp_path):
    extra = 'depht = 1\n[wood]\nspecies = "oak"\n[[bore]]\nfrom = "nose"\n[lip]\nsheet = "card"\n'
    with pytest.raises(InputError) as caught:
        recipe_from_bytes((GOOD.format(units="mm") + extra).encode(), tmp_path / "perch.toml")
    lines = [mistake.line for mistake in caught.value.mistakes]
    keys = {mistake.key for mistake in caught.value.mistakes}
    assert lines == sorted(lines)
    assert {
        "shape.depht",
        "wood.species",
        "bore[1].diameter",
        "bore[1].depth",
        "lip.sheet",
        "lip.angle",
        "lip.x",
    } <= keys


@pytest.mark.parametrize(
    ("content", "problem"),
    [
        (b"", "empty."),
        (b"  \n\n", "empty."),
        (b"format = 1\nname = '\xff'\n", "not UTF-8."),
        (b"x" * 1_000_001, "larger than 1 MB."),
        (b"a = " + b"[" * 5000, "tables or lists too deep inside each other."),
        (b"a = " + b"9" * 5000, None),
        (b"format = 1\0", None),
    ],
    ids=["empty", "blank", "latin", "huge", "deep", "digits", "nul"],
)
def test_a_file_that_is_no_recipe_is_refused(tmp_path, content, problem):
    path = tmp_path / "odd.toml"
    path.write_bytes(content)
    with pytest.raises(InputError) as caught:
        read_recipe(path)
    if problem is not None:
        assert caught.value.mistakes[0].problem == problem


def test_a_folder_and_a_missing_file_are_refused(tmp_path):
    with pytest.raises(InputError, match="a folder"):
        read_recipe(tmp_path)
    with pytest.raises(InputError, match="no such file"):
        read_recipe(tmp_path / "none.toml")


def test_a_mark_at_the_start_and_windows_line_ends_change_nothing(tmp_path):
    text = GOOD.format(units="mm")
    plain = recipe_from_bytes(text.encode(), tmp_path / "perch.toml")
    other = recipe_from_bytes(b"\xef\xbb\xbf" + text.replace("\n", "\r\n").encode(), tmp_path / "perch.toml")
    assert plain == other
    assert plain.source.lines == other.source.lines


@pytest.mark.parametrize(
    ("units", "length", "hint"),
    [
        ("in", "70", 'In mm? Write "70 mm".'),
        ("in", '"70"', 'In mm? Write "70 mm".'),
        ("mm", "2.75", 'In inches? Write "2.75 in".'),
        ("mm", "4000", ""),
        ("in", '"70 in"', ""),
    ],
)
def test_a_length_on_the_other_ruler_is_told(tmp_path, units, length, hint):
    text = GOOD.format(units=units).replace('"70 mm"', length)
    with pytest.raises(InputError) as caught:
        recipe_from_bytes(text.encode(), tmp_path / "perch.toml")
    first = str(caught.value).splitlines()[0]
    assert "shape.length" in first
    assert first.endswith(hint or ".")
    assert ("Write" in first) is bool(hint)


@pytest.mark.parametrize(("mark", "name"), [(";", "semicolons"), ("\t", "tabs")])
def test_a_table_parted_by_other_marks_is_told_so(tmp_path, mark, name):
    rows = ["x_mm,top_mm,bottom_mm,half_width_mm", "0,0,0,0", "20,5,-5,4", "30,6,-6,5", "40,5,-5,4", "60,0,0,0"]
    (tmp_path / "s.csv").write_text("\n".join(rows).replace(",", mark), encoding="utf-8")
    text = 'format = 1\n[shape]\nstations = "s.csv"\n[wood]\nspecies = "balsa"\n'
    with pytest.raises(InputError) as caught:
        recipe_from_bytes(text.encode(), tmp_path / "perch.toml")
    assert "s.csv:1: header" in str(caught.value)
    assert f"{name} between the columns; write commas, and decimal points within the numbers." in str(caught.value)
