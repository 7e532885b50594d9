"""A day of a ward by the calendar on its wall, as a period in UTC."""

from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from server.domain.review.periods import day_begins
from server.domain.workload.period import Period

_DAY = timedelta(days=1)


def ward_day(day: date, zone: ZoneInfo) -> Period:
    """Answer a day from its midnight to the next; an hour shorter or longer as the clocks go."""
    return Period(day_begins(day, zone), day_begins(day + _DAY, zone))


def day_at(at: datetime, zone: ZoneInfo) -> date:
    """Answer the day that the ward's calendar shows at an instant."""
    return at.astimezone(zone).date()
