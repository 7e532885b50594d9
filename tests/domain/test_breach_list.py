"""Which limits that were not kept are listed: by what they are and by when they lay on the ward."""

from datetime import UTC, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from server.domain.breach_list import (
    ANY,
    NO_SHIFT,
    Duty,
    Passed,
    Surroundings,
    Wanted,
    WardHours,
    earliest_first,
    open_first,
    wanted_ones,
)
from server.domain.words import ClockName, ClockState, Component
from server.domain.workload.capacity import WallWindow

MINUTE = timedelta(minutes=1)
# The clocks of London go back on Sunday 29 March 2026 at one o'clock, forwards in the sense of UTC.
SATURDAY = datetime(2026, 3, 28, 20, 0, tzinfo=UTC)
SUNDAY = datetime(2026, 3, 29, 6, 59, 59, tzinfo=UTC)  # 07:59:59 in London, an hour ahead by then
LONDON = WardHours(ZoneInfo("Europe/London"), WallWindow(time(20), time(8)))
AUCKLAND = WardHours(ZoneInfo("Pacific/Auckland"), WallWindow(time(0), time(6)))
WARDS = {"w1": LONDON, "w2": AUCKLAND}
NINA = (
    Duty("w1", "nina", SATURDAY - 60 * MINUTE, SATURDAY + 690 * MINUTE),
    Duty("w1", "nina", SATURDAY, SATURDAY + 60 * MINUTE),
    Duty("w2", "nina", SATURDAY + 120 * MINUTE, SATURDAY + 180 * MINUTE),
)


def passed(episode_id: str = "a", **fields: Any) -> Passed:
    given: dict[str, Any] = {
        "ward_id": "w1",
        "clock": ClockName.START,
        "n": 1,
        "limit_at": SATURDAY,
        "met_at": None,
        "state": ClockState.MISSED,
        "component": Component.RED_CELLS,
        "nurse_id": "nina",
        "cause": None,
    }
    return Passed(episode_id, **(given | fields))


SEVERAL = (
    passed("a"),
    passed("b", clock=ClockName.FIRST_CHECK, limit_at=SUNDAY, cause="busy"),
    passed("c", component=Component.PLATELETS, nurse_id="bo"),
    passed("d", ward_id="w2", nurse_id=None),
)


@pytest.mark.parametrize(
    ("wanted", "found"),
    [
        (ANY, "abcd"),
        (Wanted(clock=ClockName.FIRST_CHECK), "b"),
        (Wanted(component=Component.PLATELETS), "c"),
        (Wanted(explained=True), "b"),
        (Wanted(explained=False), "acd"),
        (Wanted(weekday=6), "ac"),
        (Wanted(weekday=7), "bd"),
        (Wanted(hour=20), "ac"),
        (Wanted(hour=7), "b"),
        (Wanted(hour=9), "d"),
        (Wanted(night=True), "abc"),
        (Wanted(night=False), "d"),
        (Wanted(night=True, weekday=7), "b"),
        (Wanted(shift="20:00-21:00"), "a"),
        (Wanted(shift="19:00-08:30"), "b"),
        (Wanted(shift=NO_SHIFT), "cd"),
        (Wanted(shift=NO_SHIFT, hour=20), "c"),
        (Wanted(clock=ClockName.FATE), ""),
    ],
)
def test_what_is_asked_for_is_found_by_the_ward_s_own_clock(wanted: Wanted, found: str) -> None:
    listed = wanted_ones(SEVERAL, wanted, Surroundings(WARDS, NINA))

    assert "".join(one.episode_id for one in listed) == found


def test_a_shift_holds_its_first_second_and_not_its_last() -> None:
    around = Surroundings(WARDS, NINA[:1])

    def shift(minutes: float) -> str:
        return around.shift_of(passed(limit_at=SATURDAY + minutes * MINUTE))

    assert (shift(-60), shift(-60 - 1 / 60)) == ("19:00-08:30", NO_SHIFT)
    assert (shift(690 - 1 / 60), shift(690)) == ("19:00-08:30", NO_SHIFT)


def test_a_night_holds_its_first_minute_and_ends_before_the_day() -> None:
    def at(hour: int, minute: int) -> datetime:
        return datetime(2026, 1, 10, hour, minute, tzinfo=UTC)

    assert [LONDON.is_night(at(*one)) for one in ((19, 59), (20, 0), (7, 59), (8, 0))] == [
        False,
        True,
        True,
        False,
    ]
    # Thirteen hours ahead: midnight there is 11:00 in UTC.
    assert [AUCKLAND.is_night(at(*one)) for one in ((10, 59), (11, 0), (16, 59), (17, 0))] == [
        False,
        True,
        True,
        False,
    ]


def test_open_ones_come_first_and_then_the_latest() -> None:
    later = passed("e", limit_at=SATURDAY + MINUTE, cause="busy")

    ordered = sorted((*SEVERAL, later), key=open_first)

    assert [one.episode_id for one in ordered] == ["a", "c", "d", "b", "e"]
    assert [one.episode_id for one in sorted((*SEVERAL, later), key=earliest_first)] == [
        *("a", "c", "d", "e", "b")
    ]
