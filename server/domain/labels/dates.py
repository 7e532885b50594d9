"""Dates on labels: the last three digits of the year, the day of the year, hour and minute.

They carry no zone and are those of the clock on the wall where the label was printed. Source:
ICCBBA ST-001 v6.2.2 (2023), data structures 004 to 009. That a year code from 900 on is of the
twentieth century: from memory.
"""

from datetime import date, datetime, time, timedelta
from typing import Final

from server.domain.labels.refusals import wrong

END_OF_DAY: Final = time(23, 59)
_THIS_ERA: Final = 2000
_LAST_ERA: Final = 1000
_TURN: Final = 900


def read_day_of_year(text: str) -> date:
    """Read `cyyjjj`, such as 026031 for 31 January 2026."""
    code, day = int(text[:3]), int(text[3:])
    year = code + (_LAST_ERA if code >= _TURN else _THIS_ERA)
    found = date(year, 1, 1) + timedelta(days=day - 1)
    if day == 0 or found.year != year:
        raise wrong(f"names day {day} of {year}; expected a day that this year has")
    return found


def read_minute(text: str) -> datetime:
    """Read `cyyjjjhhmm` as a naive local time."""
    hour, minute = int(text[6:8]), int(text[8:])
    day = read_day_of_year(text[:6])
    try:
        return datetime.combine(day, time(hour, minute))
    except ValueError:
        raise wrong(f"says {hour:02}:{minute:02}; expected a time from 00:00 to 23:59") from None


def read_calendar_day(text: str) -> date:
    """Read `yyyymmdd`, as a date of birth is written."""
    try:
        return date(int(text[:4]), int(text[4:6]), int(text[6:]))
    except ValueError:
        raise wrong("holds no day of the calendar; expected year, month and day") from None
