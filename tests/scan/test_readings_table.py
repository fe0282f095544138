"""A table of readings as a maker types it, and every slip in it told with its line."""

import numpy as np
import pytest

from bodygen.errors import InputError
from bodygen.scan.readings.table import read_readings

HEAD = "x_mm,top_mm,bottom_mm,half_width_mm"
ROWS = ("0,0,0,0", "10,5,-5,4", "30,8,-8,6", "50,6,-6,4", "60,3,-3,2", "70,0,0,0")


def table(tmp_path, *rows, head=HEAD):
    path = tmp_path / "r.csv"
    path.write_text("\n".join([head, *rows, ""]), encoding="utf-8")
    return path


def told(tmp_path, *rows, head=HEAD):
    with pytest.raises(InputError) as refused:
        read_readings(table(tmp_path, *rows, head=head))
    return str(refused.value).replace(tmp_path.as_posix(), "")


def test_rows_and_columns_stand_in_any_order_and_cells_may_be_empty(tmp_path):
    plain = read_readings(table(tmp_path, *ROWS))
    turned = [",".join(reversed(row.split(","))) for row in reversed(ROWS)]
    assert np.array_equal(
        read_readings(table(tmp_path, *turned, head=",".join(reversed(HEAD.split(","))))).top, plain.top
    )
    holes = read_readings(table(tmp_path, *ROWS, "20,,-7.1", "40,7.5"))
    assert np.isnan(holes.top[holes.x == 20]).all()
    assert np.isnan(holes.half_width[holes.x == 40]).all()
    assert holes.lines[2] == 8  # the row at 20 mm, written last but one


def test_inches_units_in_cells_and_whole_widths_are_read(tmp_path):
    head = "x_in,top_in,bottom_in,width_in"
    rows = [",".join([str(float(x) / 25.4), "1/4", "-6 mm", "1/2 in"]) for x in (0, 10, 30, 50, 70)]
    found = read_readings(table(tmp_path, *rows, head=head))
    assert found.top == pytest.approx(6.35)
    assert found.bottom == pytest.approx(-6.0)
    assert found.half_width == pytest.approx(6.35)
    assert found.length == pytest.approx(70)
    assert found.inches


def test_what_is_no_table_is_told_in_a_line_or_two(tmp_path):
    assert (
        told(tmp_path, head="")
        == "/r.csv: empty.\n    x_mm,top_mm,bottom_mm,half_width_mm and rows of readings below it"
    )
    assert "semicolons between the columns" in told(tmp_path, head=HEAD.replace(",", ";"))
    assert "no such column. Did you mean top_mm?" in told(tmp_path, *ROWS, head=HEAD.replace("top_mm", "topp_mm"))
    assert "no column bottom_mm." in told(tmp_path, *ROWS, head="x_mm,top_mm,half_width_mm")
    assert "/r.csv:3: top_mm = five: not a number." in told(tmp_path, "0,0,0,0", "10,five,-5,4", *ROWS[2:])
    assert "nobody says where this row was read" in told(tmp_path, *ROWS, ",1,1,1")
    assert "3 rows." in told(tmp_path, *ROWS[:3])
    assert "outside what is accepted" in told(tmp_path, *ROWS, "80,1e30,nan,inf")
    assert "5 cells under 4 headings" in told(tmp_path, *ROWS, "80,1,1,1,1")


def test_lines_that_cross_are_refused_by_their_rows(tmp_path):
    said = told(tmp_path, "0,0,0,0", "10,-5,5,4", *ROWS[2:])
    assert "/r.csv:3: top_mm = -5: at x = 10 the top lies below the bottom: the lines cross." in said


@pytest.mark.parametrize(
    ("row", "key", "problem"),
    [
        ("20,-8,8,5", "top_mm = -8", "at x = 20 the top lies below the bottom: the lines cross."),
        ("20,7,-7,-5", "half_width_mm = -5", "outside what is accepted."),
        ("20,nan,-7,5", "top_mm = nan", "not a number."),
        ("20,7,-inf,5", "bottom_mm = -inf", "not a number."),
        ("inf,7,-7,5", "x_mm = inf", "not a number."),
        ("20,1e400,-7,5", "top_mm = 1e400", "not a number."),
        ("20,2,2,5", "top_mm = 2", "at x = 20 no depth is left, between rows that have some: it would be two bodies."),
        ("20,7,-7,0", "half_width_mm = 0", "at x = 20 no width is left, between rows that have some"),
        ("30,5,-8,6", "top_mm = 5", "at x = 30 line 4 has 8: one of the two is a slip."),
        ("30,8,-8,8.5", "half_width_mm = 8.5", "at x = 30 line 4 has 6: one of the two is a slip."),
        ("0,4,0,0", "top_mm = 4", "at x = 0 line 2 has 0: one of the two is a slip."),
    ],
)
def test_a_reading_that_no_body_can_have_is_one_mistake_of_its_own_row(tmp_path, row, key, problem):
    said = told(tmp_path, *ROWS, row)
    assert said.startswith(f"/r.csv:8: {key}: {problem}")
    assert said.count("/r.csv") == 1


def test_a_widest_line_outside_the_body_is_told_of_the_rows_as_they_were_written(tmp_path):
    """What was told were rows of a file that the trace would have written."""
    said = told(tmp_path, *(f"{row},{9 if row[:2] == '30' else ''}" for row in ROWS), head=f"{HEAD},widest_mm")
    assert said.startswith("/r.csv:4: widest_mm = 9: at x = 30 the body is widest above its top or below its bottom.")


def test_a_whole_width_must_be_twice_the_half_width_of_its_row(tmp_path):
    said = told(tmp_path, *(f"{row},{20 if row[:2] == '30' else ''}" for row in ROWS), head=f"{HEAD},width_mm")
    assert said.startswith("/r.csv:4: width_mm = 20: half_width_mm says 6 in this row.")
    assert said.count("/r.csv") == 1


def test_rows_that_are_all_at_one_place_are_one_mistake(tmp_path):
    said = told(tmp_path, *["10,5,-5,4"] * 6)
    assert said.startswith("/r.csv:2: x_mm = 10: every row stands at this x.")
    assert said.count("/r.csv") == 1


def test_two_readings_of_one_place_that_nearly_agree_are_both_taken(tmp_path):
    """A hand reads one place within half a millimetre: common practice, no published source."""
    found = read_readings(table(tmp_path, *ROWS, "30,8.4,-8.1,6.2"))
    assert found.top[found.x == 30].tolist() == [8.0, 8.4]


def test_an_end_may_be_nothing_in_two_rows(tmp_path):
    assert len(read_readings(table(tmp_path, *ROWS, "69.9,0,0,0")).x) == 7


def test_a_file_far_too_large_is_not_read(tmp_path):
    path = tmp_path / "large.csv"
    path.write_text(HEAD + "\n" + "1,2,3,4\n" * 1_000_000, encoding="utf-8")
    with pytest.raises(InputError, match=r"larger than 1 MB\.\n +a CSV file of at most 5000 readings"):
        read_readings(path)


def test_of_thousands_of_mistakes_a_few_are_told(tmp_path):
    assert told(tmp_path, *["word,word,word,word"] * 4000).count("not a number") <= 20


def test_an_axis_that_begins_before_the_nose_is_moved_to_it(tmp_path):
    found = read_readings(table(tmp_path, *[f"{float(r.split(',')[0]) - 12:g},{r.partition(',')[2]}" for r in ROWS]))
    assert (found.x[0], found.length, found.shifted) == (0.0, 70.0, -12.0)
