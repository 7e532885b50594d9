"""A period typed as two days of the ward, both included."""

from datetime import datetime, timedelta
from typing import Final
from zoneinfo import ZoneInfo

from server.pages.forms.entry import Entry, Wrong
from server.pages.forms.ward_time import TypedTime, WardTimeError, instant_of
from server.services.passed_limits import Period
from server.services.ward_day import day_at

A_WEEK: Final = timedelta(days=7)
A_MONTH: Final = timedelta(days=30)


def last_days(back: timedelta, now: datetime, zone: ZoneInfo) -> dict[str, str]:
    """Answer the two days, so far back until today, that stand in the fields at first."""
    today = day_at(now, zone)
    return {"from": f"{today - back}", "to": f"{today}"}


def period_of(asked: Entry, zone: ZoneInfo) -> Period | None:
    """Answer from the beginning of the day `from` to the end of the day `to`, in ward time.

    None, with the reason noted in `asked`, where they are no period. Raises `Wrong`.
    """
    days = [asked.day(name, required=True) for name in ("from", "to")]
    if days[0] is None or days[1] is None:
        return None
    if days[1] < days[0]:
        asked.refuse("to", "lies before the first day")
        return None
    try:
        return Period(_midnight(f"{days[0]}", zone), _midnight(f"{days[1] + timedelta(1)}", zone))
    except (WardTimeError, OverflowError):
        raise Wrong({"from": "the period cannot be told in ward time"}) from None


def _midnight(day: str, zone: ZoneInfo) -> datetime:
    # A midnight that comes twice begins with its first; one that is skipped, with what follows.
    try:
        return instant_of(TypedTime(day, "00:00", "first"), zone)
    except WardTimeError:
        return instant_of(TypedTime(day, "01:00", "first"), zone)
