"""When the bench is open, across days, months and years."""

from datetime import date, datetime, time, timedelta

import pytest

from bodygen.finish.bench_days import BenchDays, day_words

AT = datetime.fromisoformat
EVENINGS = BenchDays(frozenset({1, 3}), 18.5, 3.0)  # Tuesday and Thursday


@pytest.mark.parametrize(
    ("earliest", "opens"),
    [
        ("2031-12-30 18:00", "2031-12-30 18:30"),  # a Tuesday
        ("2031-12-30 20:01", "2031-12-30 20:15"),
        ("2031-12-30 21:20", "2032-01-01 18:30"),  # closed by the quarter, so on to Thursday, over the year's end
        ("2032-02-26 22:00", "2032-03-02 18:30"),  # over a leap day
        ("2031-02-27 22:00", "2031-03-04 18:30"),
    ],
)
def test_the_bench_opens_next(earliest, opens):
    assert EVENINGS.next_open(AT(earliest)) == AT(opens)


def test_a_bench_open_past_midnight_is_still_open_then():
    late = BenchDays(frozenset({4}), 22.0, 4.0)
    assert late.next_open(AT("2031-05-03 01:30")) == AT("2031-05-03 01:30")  # Saturday, 01:30
    assert late.next_open(AT("2031-05-03 02:00")) == AT("2031-05-09 22:00")


def test_any_moment_is_answered_by_an_open_one_that_is_not_before_it():
    for hours in range(0, 24 * 400, 7):
        moment = AT("2031-11-01") + timedelta(hours=hours)
        found = EVENINGS.next_open(moment)
        assert moment <= found < moment + timedelta(days=7)
        assert found.weekday() in {1, 3}
        assert timedelta(hours=18.5) <= found - datetime.combine(found, time()) < timedelta(hours=21.5)


def test_days_are_said_in_words():
    """1 January 2000 was a Saturday, 29 February 2032 is a Sunday (any calendar)."""
    assert day_words(date(2000, 1, 1)) == "Sat 1 Jan 2000"
    assert day_words(date(2032, 2, 29)) == "Sun 29 Feb 2032"


def test_a_bench_open_on_no_day_is_refused():
    with pytest.raises(ValueError, match="no day"):
        BenchDays(frozenset(), 9.0, 8.0).next_open(AT("2031-01-01"))
