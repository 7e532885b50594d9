"""Days, weeks and months of a ward, over clock changes of Europe, Chile and Cuba."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.domain.review.periods import By, cut
from server.domain.workload.period import Period

LONDON = ZoneInfo("Europe/London")
ZONES = [ZoneInfo(name) for name in ("Europe/London", "America/Santiago", "Pacific/Auckland")]
INSTANTS = st.datetimes(datetime(2015, 1, 1), datetime(2035, 1, 1), timezones=st.just(UTC))  # noqa: DTZ001 - hypothesis adds the zone


def utc(month: int, day: int, hour: int = 0, year: int = 2026) -> datetime:
    return datetime(year, month, day, hour, tzinfo=UTC)


def edges(period: Period, by: By, zone: ZoneInfo = LONDON) -> list[datetime]:
    found = cut(period, by, zone)
    return [*(one.from_at for one in found), found[-1].until_at]


def test_weeks_begin_on_monday_and_the_ends_are_cut() -> None:
    assert edges(Period(utc(3, 4, 10), utc(3, 18, 7)), By.WEEK) == [
        utc(3, 4, 10),
        utc(3, 9),
        utc(3, 16),
        utc(3, 18, 7),
    ]


def test_months_over_the_turn_of_the_year_in_ward_time() -> None:
    assert edges(Period(utc(11, 30, 23), utc(2, 1, 1, 2027)), By.MONTH) == [
        utc(11, 30, 23),
        utc(12, 1),
        utc(1, 1, 0, 2027),
        utc(2, 1, 0, 2027),
        utc(2, 1, 1, 2027),
    ]
    assert edges(Period(utc(6, 30, 23), utc(7, 31, 23)), By.MONTH) == [
        utc(6, 30, 23),
        utc(7, 31, 23),
    ]


def test_days_of_a_clock_change_last_23_and_25_hours() -> None:
    for first, hours in ((utc(3, 28), [24, 23, 24]), (utc(10, 23, 23), [24, 25, 24])):
        days = cut(Period(first, first + timedelta(hours=sum(hours))), By.DAY, LONDON)
        assert [one.length / timedelta(hours=1) for one in days] == hours


@pytest.mark.parametrize(
    ("zone", "first", "midnight"),
    [
        ("America/Santiago", utc(9, 5, 12), utc(9, 6, 4)),
        ("America/Havana", utc(11, 1, 0), utc(11, 1, 4)),
    ],
)
def test_a_midnight_that_never_comes_or_comes_twice(
    zone: str, first: datetime, midnight: datetime
) -> None:
    """Chile goes forward at midnight, Cuba back to it: a day begins with its first instant."""
    day = first + timedelta(days=1)

    assert edges(Period(first, day), By.DAY, ZoneInfo(zone)) == [first, midnight, day]


def test_no_time_holds_nothing() -> None:
    assert cut(Period(utc(3, 2), utc(3, 2)), By.WEEK, LONDON) == ()
    assert cut(Period(utc(3, 3), utc(3, 2)), By.DAY, LONDON) == ()


@given(INSTANTS, st.integers(1, 24 * 400), st.sampled_from(list(By)), st.sampled_from(ZONES))
def test_the_pieces_are_the_period_and_nothing_twice(
    first: datetime, hours: int, by: By, zone: ZoneInfo
) -> None:
    period = Period(first, first + timedelta(hours=hours))
    found = cut(period, by, zone)

    assert (found[0].from_at, found[-1].until_at) == (period.from_at, period.until_at)
    assert [one.until_at for one in found[:-1]] == [one.from_at for one in found[1:]]
    for one in found:
        begins = {_begin(at.astimezone(zone), by) for at in (one.from_at, _last_of(one))}
        assert len(begins) == 1


def _last_of(period: Period) -> datetime:
    return period.until_at - timedelta(seconds=1)


def _begin(local: datetime, by: By) -> tuple[int, ...]:
    """What day, week or month an instant of the ward's wall clock belongs to."""
    if by is By.WEEK:
        return tuple(local.isocalendar()[:2])
    return (local.year, local.month, *([local.day] if by is By.DAY else []))
