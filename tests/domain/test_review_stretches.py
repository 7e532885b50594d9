"""The places of a chart, cut where the clock of the ward is put forward or back.

The instants of the changes are facts of the tz database: Europe at 01:00 UTC on the last Sundays of
March and October, Lord Howe Island by half an hour.
"""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from server.domain.review.stretches import PlaceFinder, Stretch, stretches_of
from server.domain.workload.period import Period

HOUR = timedelta(hours=1)
LONDON = ZoneInfo("Europe/London")


def utc(*parts: int) -> datetime:
    return datetime(*parts, tzinfo=UTC)  # type: ignore[arg-type, misc]


def test_a_year_has_a_stretch_before_between_and_after_the_changes() -> None:
    year = Period(utc(2026, 1, 1), utc(2027, 1, 1))
    spring, autumn = utc(2026, 3, 29, 1), utc(2026, 10, 25, 1)

    assert stretches_of("w1", [year], LONDON) == (
        Stretch("w1", 0, Period(year.from_at, spring), 0 * HOUR),
        Stretch("w1", 0, Period(spring, autumn), HOUR),
        Stretch("w1", 0, Period(autumn, year.until_at), 0 * HOUR),
    )


def test_a_place_that_begins_or_ends_with_a_change_is_not_cut() -> None:
    spring = utc(2026, 3, 29, 1)
    before = Period(spring - 7 * HOUR, spring)
    after = Period(spring, spring + timedelta(days=2))

    assert stretches_of("w1", [before, after], LONDON) == (
        Stretch("w1", 0, before, 0 * HOUR),
        Stretch("w1", 1, after, HOUR),
    )


def test_half_an_hour_and_places_without_a_change() -> None:
    zone = ZoneInfo("Australia/Lord_Howe")
    days = [Period(utc(2026, 4, day, 13, 30), utc(2026, 4, day + 1, 13, 30)) for day in (3, 4, 5)]
    change = utc(2026, 4, 4, 15)

    assert [
        (one.place, one.period, one.offset / HOUR) for one in stretches_of("w", days, zone)
    ] == [
        (0, days[0], 11.0),
        (1, Period(days[1].from_at, change), 11.0),
        (1, Period(change, days[1].until_at), 10.5),
        (2, days[2], 10.5),
    ]


def test_no_place_has_no_stretch() -> None:
    assert stretches_of("w1", [], LONDON) == ()


def test_an_instant_lies_in_one_place_of_its_ward_or_in_none() -> None:
    spring = utc(2026, 3, 29, 1)
    days = [
        Period(spring - 3 * HOUR, spring + 3 * HOUR),
        Period(spring + 5 * HOUR, spring + 9 * HOUR),
    ]
    found = PlaceFinder([*stretches_of("w1", days, LONDON), *stretches_of("w2", days[1:], LONDON)])

    second = timedelta(seconds=1)
    asked = [-3 * HOUR, 0 * HOUR, 3 * HOUR - second, 3 * HOUR, 5 * HOUR, 9 * HOUR, -4 * HOUR]
    assert [found.place_of("w1", spring + one) for one in asked] == [0, 0, 0, None, 1, None, None]
    assert [found.place_of(ward, spring + 5 * HOUR) for ward in ("w2", "w3")] == [0, None]
