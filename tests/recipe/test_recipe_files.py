"""Files a recipe names: only beside it, read row by row, and part of its hash."""

import hashlib

import pytest

from bodygen.errors import InputError
from bodygen.recipe.model import MeshFile, Stations
from bodygen.recipe.read import read_recipe

HEADER = "x_mm,top_mm,bottom_mm,half_width_mm"
ROWS = ["0,0,0,0", "10,6,-6,4", "30,9,-9,6", "50,6,-6,4", "70,0,0,0"]


def write(folder, rows=ROWS, header=HEADER, name="s.csv", shape=None):
    folder.mkdir(exist_ok=True)
    (folder / name).write_text("\n".join([header, *rows, ""]))
    recipe = folder / "bait.toml"
    recipe.write_text(f"format = 1\n[shape]\n{shape or 'stations = ' + chr(34) + name + chr(34)}\n")
    return recipe


def mistakes(path, **options):
    with pytest.raises(InputError) as caught:
        read_recipe(path, **options)
    return str(caught.value).replace(f"{path.parent.as_posix()}/", "")


def test_stations_are_read_with_squareness_two_where_none_is_given(tmp_path):
    recipe = read_recipe(write(tmp_path))
    assert isinstance(recipe.shape, Stations)
    assert recipe.shape.rows[1] == (10, 6, -6, 4, 2)
    assert recipe.name == "bait"


def test_squareness_a_mark_comments_and_blank_lines_are_fine(tmp_path):
    rows = ["# by caliper", *(f"{row},2.5" for row in ROWS), "", ""]
    path = write(tmp_path, rows, header=f"\ufeff{HEADER},squareness")
    shape = read_recipe(path).shape
    assert isinstance(shape, Stations)
    assert {row[4] for row in shape.rows} == {2.5}


def test_each_half_may_have_its_own_squareness_and_the_widest_line_a_height(tmp_path):
    rows = [f"{row},2.5,3,{widest}" for row, widest in zip(ROWS, (0, 1.5, -9 * 0.2, 0, 0), strict=True)]
    shape = read_recipe(write(tmp_path, rows, header=f"{HEADER},squareness_back,squareness_belly,widest_mm")).shape
    assert {row[4] for row in shape.rows} == {2.5}
    assert [half[0] for half in shape.lower] == [3] * 5
    assert [half[1] for half in shape.lower][1:3] == pytest.approx([(1.5 + 6) / 12, 0.4])
    assert read_recipe(write(tmp_path)).shape.lower == ()


def test_a_widest_line_outside_the_section_is_refused(tmp_path):
    rows = [f"{row},{widest}" for row, widest in zip(ROWS, (0, 5.9, 0, 0, 0), strict=True)]
    assert mistakes(write(tmp_path, rows, header=f"{HEADER},widest_mm")) == (
        "s.csv:3: widest_mm = 5.9: not between bottom and top, or within 5 % of the depth of one.\n    from -5.4 to 5.4"
    )


@pytest.mark.parametrize(
    "more", ["squareness_back", "squareness,squareness_back,squareness_belly", "widest_mm,widest_mm"]
)
def test_half_of_a_pair_of_columns_or_a_column_twice_is_no_header(tmp_path, more):
    assert "not the header" in mistakes(write(tmp_path, header=f"{HEADER},{more}"))


@pytest.mark.parametrize(
    ("rows", "message"),
    [
        (ROWS[:4], "s.csv: 4 rows.\n    5 to 5000 rows below the header"),
        (["1,0,0,0", *ROWS[1:]], "s.csv:2: x_mm = 1: the first station is not at the nose.\n    0 in the first row"),
        (
            [*ROWS[:2], "10,9,-9,6", *ROWS[3:]],
            "s.csv:4: x_mm = 10: not behind the row before it.\n    more than 10",
        ),
        (
            [*ROWS[:2], "30,-9,9,6", *ROWS[3:]],
            "s.csv:4: top_mm = -9: not above the bottom.\n    more than bottom_mm, 9",
        ),
        (
            [*ROWS[:2], "30,9,-9,0", *ROWS[3:]],
            "s.csv:4: half_width_mm = 0: no width.\n    more than 0; only a closed end is 0, on all sides",
        ),
        (
            [*ROWS[:4], "70,2,-2,0"],
            "s.csv:6: half_width_mm = 0: no width.\n    more than 0; only a closed end is 0, on all sides",
        ),
        ([*ROWS[:2], "30,nan,-9,6", *ROWS[3:]], "s.csv:4: top_mm = nan: not a number.\n    a number from -400 to 400"),
        (
            [*ROWS[:2], "30,9,-9,-6", *ROWS[3:]],
            "s.csv:4: half_width_mm = -6: outside what is accepted.\n    a number from 0 to 150",
        ),
        ([*ROWS[:2], "30,9,-9", *ROWS[3:]], f"s.csv:4: row = 30,9,-9: 3 cells under 4 headings.\n    {HEADER}"),
        ([*ROWS[:4], "7000,0,0,0"], "s.csv:6: x_mm = 7000: outside what is accepted.\n    a number from 0 to 400"),
        (
            ["0,0,0,0", "1,1,-1,1", "2,2,-2,2", "3,1,-1,1", "4,0,0,0"],
            "s.csv:6: x_mm = 4: no sensible length of a bait.\n    from 20 to 400 mm",
        ),
    ],
)
def test_a_mistake_in_a_row_carries_the_stations_own_file_and_line(tmp_path, rows, message):
    assert mistakes(write(tmp_path, rows)) == message


def test_a_wrong_header_is_shown_beside_the_right_one(tmp_path):
    found = mistakes(write(tmp_path, header="x,top,bottom,width"))
    more = ",squareness or ,squareness_back,squareness_belly and ,widest_mm"
    assert found == f"s.csv:1: header = x,top,bottom,width: not the header.\n    {HEADER} and optionally {more}"


def test_a_path_out_of_the_folder_is_refused_unless_allowed(tmp_path):
    inner = tmp_path / "inner"
    write(inner)
    (tmp_path / "s.csv").write_text((inner / "s.csv").read_text())
    for shape in ('stations = "../s.csv"', f'stations = "{tmp_path.as_posix()}/s.csv"'):
        path = write(inner, shape=shape)
        assert "leads out of the recipe's folder" in mistakes(path)
        assert isinstance(read_recipe(path, allow_outside=True).shape, Stations)


def test_a_link_out_of_the_folder_is_refused(tmp_path):
    inner = tmp_path / "inner"
    path = write(inner)
    (tmp_path / "far.csv").write_text((inner / "s.csv").read_text())
    (inner / "s.csv").unlink()
    (inner / "s.csv").symlink_to(tmp_path / "far.csv")
    assert mistakes(path) == (
        'bait.toml:3: shape.stations = "s.csv": leads out of the recipe\'s folder.\n'
        "    a .csv file in the recipe's own folder; --allow-outside lifts this"
    )


@pytest.mark.parametrize(
    ("shape", "problem"),
    [
        ('stations = "none.csv"', "no such file."),
        ('stations = "bait.toml"', "not a kind of file that is read here."),
        ('mesh = "s.csv"', "not a kind of file that is read here."),
        ('stations = "loop.csv"', "not a path that can be followed."),
        ('stations = "folder.csv"', "not a plain file."),
        (f'stations = "{"n" * 110}.csv"', "no such file."),
    ],
)
def test_a_file_that_cannot_be_read_is_refused(tmp_path, shape, problem):
    path = write(tmp_path, shape=shape)
    (tmp_path / "loop.csv").symlink_to(tmp_path / "loop.csv")
    (tmp_path / "folder.csv").mkdir()
    found = mistakes(path)
    assert problem in found or ("loop" in shape and "no such file." in found)  # what a ring of links is called varies


def test_a_mesh_is_in_the_recipes_units(tmp_path):
    (tmp_path / "a.stl").write_bytes(b"solid")
    path = write(tmp_path, shape='mesh = "a.stl"')
    path.write_text(path.read_text().replace("[shape]", 'units = "in"\n[shape]'))
    shape = read_recipe(path).shape
    content = hashlib.sha256(b"solid").hexdigest()
    assert shape == MeshFile((tmp_path / "a.stl").resolve(), 25.4, content)


def test_the_hash_is_of_the_recipe_and_of_every_file_it_names(tmp_path):
    path = write(tmp_path)
    before = read_recipe(path).sha256
    assert read_recipe(path).sha256 == before
    (tmp_path / "s.csv").write_text((tmp_path / "s.csv").read_text().replace("30,9", "30,8"))
    assert read_recipe(path).sha256 != before


def test_the_hash_of_a_recipe_that_names_no_file_is_the_files_own(tmp_path):
    path = tmp_path / "bait.toml"
    path.write_text("format = 1\n[shape]\nlength = 70\ndepth = 20\nthickness = 15\n")
    assert read_recipe(path).sha256 == hashlib.sha256(path.read_bytes()).hexdigest()
