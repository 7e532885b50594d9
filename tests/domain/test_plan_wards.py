"""Handovers and nights by the clock on the wall become periods in UTC, whatever the clocks do.

Clock changes are those of the tz database: Europe/London went to summer time on 29 March 2026 at
01:00 UTC and back on 25 October 2026 at 01:00 UTC.
"""

from datetime import UTC, datetime, time
from zoneinfo import ZoneInfo

import pytest

from server.domain.plan.wards import periods_of, rules_of
from server.domain.workload.capacity import (
    Collector,
    NightRule,
    WallWindow,
    WardLimits,
    WardRules,
)
from server.domain.workload.period import Period
from tests.domain.builders import COMMON

LONDON = ZoneInfo("Europe/London")
NIGHT = WallWindow(time(20), time(8))
MORNING = WallWindow(time(7), time(7, 30))


def utc(month: int, day: int, hour: int, minute: int = 0) -> datetime:
    return datetime(2026, month, day, hour, minute, tzinfo=UTC)


def spoken(window: WallWindow, horizon: Period) -> list[str]:
    return [
        f"{one.from_at:%d %H:%M}–{one.until_at:%d %H:%M}"
        for one in periods_of(window, horizon, LONDON)
    ]


@pytest.mark.parametrize(
    ("first", "last", "expected"),
    [
        (utc(3, 3, 6), utc(3, 3, 14), ["03 07:00–03 07:30"]),
        (utc(3, 3, 6), utc(3, 4, 14), ["03 07:00–03 07:30", "04 07:00–04 07:30"]),
        (utc(3, 3, 7, 29), utc(3, 3, 14), ["03 07:00–03 07:30"]),
        (utc(3, 3, 7, 30), utc(3, 3, 14), []),
        (utc(3, 3, 0), utc(3, 3, 7), []),
        (utc(3, 3, 0), utc(3, 3, 7, 1), ["03 07:00–03 07:30"]),
        (utc(7, 3, 5), utc(7, 3, 14), ["03 06:00–03 06:30"]),
    ],
)
def test_a_window_is_found_on_each_ward_day_that_it_touches(
    first: datetime, last: datetime, expected: list[str]
) -> None:
    assert spoken(MORNING, Period(first, last)) == expected


@pytest.mark.parametrize(
    ("day", "expected"),
    [
        (utc(3, 28, 12), ["28 20:00–29 07:00"]),
        (utc(10, 24, 12), ["24 19:00–25 08:00"]),
        (utc(10, 25, 4), ["24 19:00–25 08:00"]),
    ],
)
def test_a_night_is_an_hour_shorter_in_spring_and_longer_in_autumn(
    day: datetime, expected: list[str]
) -> None:
    assert spoken(NIGHT, Period(day, day.replace(hour=day.hour + 8, minute=1))) == expected


def test_a_window_that_the_clocks_show_twice_takes_in_both() -> None:
    """01:00 to 02:00 is shown from 00:00 and again from 01:00 UTC."""
    twice = WallWindow(time(1), time(1, 30))

    assert spoken(twice, Period(utc(10, 24, 20), utc(10, 25, 8))) == ["25 00:00–25 01:30"]


def test_a_window_that_the_clocks_skip_lies_where_it_would_have_been() -> None:
    skipped = WallWindow(time(1), time(1, 30))

    assert spoken(skipped, Period(utc(3, 28, 20), utc(3, 29, 8))) == ["29 01:00–29 01:30"]


def test_a_window_without_an_end_of_its_own_lasts_a_day() -> None:
    whole = WallWindow(time(7), time(7))

    assert spoken(whole, Period(utc(3, 3, 8), utc(3, 3, 9))) == ["03 07:00–04 07:00"]


def test_what_a_ward_allows_is_told_for_a_horizon() -> None:
    limits = WardLimits(
        handovers=(WallWindow(time(19, 30), time(20)), MORNING),
        night_rule=NightRule.REFUSED,
        most_starts=2,
        collected_by=Collector.NURSE,
        porters=1,
        issues_per_quarter=3,
        use_learnt=True,
    )
    evening = Period(utc(3, 3, 6), utc(3, 3, 22))

    assert rules_of(limits, COMMON, evening, LONDON) == WardRules(
        handovers=(
            Period(utc(3, 3, 7), utc(3, 3, 7, 30)),
            Period(utc(3, 3, 19, 30), utc(3, 3, 20)),
        ),
        nights=(
            Period(utc(3, 2, 20), utc(3, 3, 8)),
            Period(utc(3, 3, 20), utc(3, 4, 8)),
        ),
        night_rule=NightRule.REFUSED,
        most_starts=2,
        collected_by=Collector.NURSE,
        porters=1,
        issues_per_quarter=3,
    )
