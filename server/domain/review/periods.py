"""A period cut into the days, weeks and months of a ward's calendar."""

from collections.abc import Iterator
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from enum import StrEnum
from itertools import pairwise

from server.domain.workload.period import Period


class By(StrEnum):
    """What a period is cut into. Weeks begin on Monday (ISO 8601)."""

    DAY = "day"
    WEEK = "week"
    MONTH = "month"


def cut(period: Period, by: By, zone: tzinfo) -> tuple[Period, ...]:
    """Answer the days, weeks or months of the ward that a period holds, in order and without gaps.

    The first and the last are cut to the period. Each begins with the first instant of its day in
    the ward's zone, so that a day of a clock change lasts 23 or 25 hours. A period that ends before
    it begins, or lasts no time, holds none.
    """
    edges = [period.from_at, *_begins(period, by, zone), period.until_at]
    return tuple(Period(begin, end) for begin, end in pairwise(edges) if begin < end)


def _begins(period: Period, by: By, zone: tzinfo) -> Iterator[datetime]:
    """The instants inside a period at which another day, week or month begins."""
    day = _following(period.from_at.astimezone(zone).date(), by)
    while (begin := day_begins(day, zone)) < period.until_at:
        yield begin
        day = _following(day, by)


def _following(day: date, by: By) -> date:
    """The first day of what comes after the day, week or month that holds this day."""
    if by is By.MONTH:
        return date(day.year + day.month // 12, day.month % 12 + 1, 1)
    return day + timedelta(days=7 - day.weekday() if by is By.WEEK else 1)


def day_begins(day: date, zone: tzinfo) -> datetime:
    """Answer the first instant of a day in a zone.

    Where midnight comes twice the earlier one; where it never comes, when the clock jumps.
    """
    return datetime.combine(day, time(), zone).astimezone(UTC)
