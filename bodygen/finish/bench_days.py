"""When the bench is open: on which days, from which hour, for how long. Knows dates; knows no coat and no clock."""

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from math import ceil

DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
QUARTER = timedelta(minutes=15)


@dataclass(frozen=True, slots=True)
class BenchDays:
    """On which weekdays (0 is Monday), from which hour of the day and for how many [h]."""

    days: frozenset[int]
    opens: float
    hours: float

    def next_open(self, earliest: datetime) -> datetime:
        """The first quarter of an hour from then on at which the bench is open.

        Examples
        --------
        >>> BenchDays(frozenset({1, 3}), 19.0, 3.0).next_open(datetime(2031, 12, 30, 22, 1)).isoformat(" ")
        '2032-01-01 19:00:00'
        """
        midnight = datetime.combine(earliest.date(), time())
        at = midnight + QUARTER * ceil((earliest - midnight) / QUARTER)
        # a day before may stay open past midnight; within a week every open day comes round
        for back in range(-1, 8):
            day = midnight + timedelta(days=back)
            first, last = day + timedelta(hours=self.opens), day + timedelta(hours=self.opens + self.hours)
            if day.weekday() in self.days and at < last:
                return max(at, first)
        msg = "a bench that is open on no day"
        raise ValueError(msg)


def day_words(moment: date) -> str:
    """A day as people say it: ``Thu 4 Mar 2032``.

    Elementary; in English wherever it runs.

    Examples
    --------
    >>> day_words(date(2032, 3, 4))
    'Thu 4 Mar 2032'
    """
    months = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
    return f"{DAYS[moment.weekday()][:3]} {moment.day} {months[moment.month - 1]} {moment.year}"
