"""A day of a ward by the calendar on its wall, as a period in UTC."""

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from server.domain.workload.period import Period

_DAY = timedelta(days=1)


def ward_day(day: date, zone: ZoneInfo) -> Period:
    """Answer a day from its midnight to the next; an hour shorter or longer as the clocks go."""
    return Period(_midnight(day, zone), _midnight(day + _DAY, zone))


def day_at(at: datetime, zone: ZoneInfo) -> date:
    """Answer the day that the ward's calendar shows at an instant."""
    return at.astimezone(zone).date()


def _midnight(day: date, zone: ZoneInfo) -> datetime:
    return datetime.combine(day, time(), zone).astimezone(UTC)
