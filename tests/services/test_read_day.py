"""A day of a ward as it was entered, and who may not read it."""

from datetime import date
from zoneinfo import ZoneInfo

import pytest

from server.domain.workload.capacity import Duty, WardLimits
from server.domain.workload.period import Period
from server.services.enter_day import DayDraft, PersonDay, enter_day
from server.services.enter_shift import ShiftDraft, enter_shift
from server.services.errors import Forbidden, NotFound
from server.services.read_day import Day, read_day
from server.services.ward_day import day_at, ward_day
from server.store.shifts import Shift
from server.store.training import ShiftWork, Training
from tests.domain.builders import at
from tests.services.charting import Charting
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.people import ADMINISTRATOR, CHARGE, MANAGER, OUTSIDER
from tests.store.facts import counted_queries

TODAY = date(2026, 3, 3)  # of the base instant, 10:00 in London
WORK = ShiftWork(
    frozenset({"4"}),
    (Duty(Period(at(60), at(90)), "round"), Duty(Period(at(90), at(120)), "teaching")),
)
ONLY_SECOND = Training(may_start=False)
LIMITS = WardLimits(most_starts=2)


def chart(charting: Charting) -> None:
    """Last night's shift, one of today with all that belongs to it, and the manager's."""
    night = ShiftDraft("nurse-2", "w1", at(-780), at(-60), (), "night")
    today = ShiftDraft("nurse-1", "w1", at(-180), at(540), (), "day")
    desk = ShiftDraft("manager-1", "w1", at(-120), at(360), (), "desk")
    with charting.store.write() as session:
        people = (PersonDay(night, ShiftWork()), PersonDay(today, WORK, ONLY_SECOND))
        enter_day(session, CHARGE, DayDraft("w1", people, (), LIMITS), now=at(-180))
        enter_shift(session, ADMINISTRATOR, desk, now=at(-240))


def _read(ward: Charting, day: date = TODAY) -> Day:
    with ward.store.read() as session:
        return read_day(session, MANAGER, "w1", day, now=at(0))


@ON_BOTH_ENGINES
def test_a_day_holds_its_shifts_what_else_touches_it_and_the_week_before(ward: Charting) -> None:
    night = Shift("night", "nurse-2", "w1", at(-780), at(-60))
    desk = Shift("desk", "manager-1", "w1", at(-120), at(360))

    day = _read(ward)

    assert (day.ward.id, day.zone, day.day) == ("w1", ZoneInfo("Europe/London"), TODAY)
    assert [one.id for one in day.nurses] == ["charge-1", "nurse-2", "nurse-1"]
    assert day.shifts == (Shift("day", "nurse-1", "w1", at(-180), at(540)),)
    assert (day.others, day.before) == ((night, desk), (night,))
    assert (day.works, day.trained) == ({"day": WORK}, {"nurse-1": ONLY_SECOND})
    assert day.limits == LIMITS
    assert day.names == {
        "charge-1": "Carl Charge",
        "nurse-1": "Nina Nurse",
        "nurse-2": "Cleo Colleague",
        "manager-1": "Mona Manager",
    }


def test_a_week_on_nothing_is_left_and_a_day_more_costs_no_query_more(ward: Charting) -> None:
    with counted_queries(ward.store) as full:
        _read(ward)
    with counted_queries(ward.store) as empty:
        later = _read(ward, date(2026, 3, 11))

    assert (later.shifts, later.others, later.before) == ((), (), ())
    assert len(empty) <= len(full)


def test_whoever_is_not_on_the_ward_reads_no_day_of_it(ward: Charting) -> None:
    with pytest.raises(Forbidden), ward.store.read() as session:
        read_day(session, OUTSIDER, "w1", TODAY, now=at(0))
    with pytest.raises(NotFound), ward.store.read() as session:
        read_day(session, ADMINISTRATOR, "w8", TODAY, now=at(0))


def test_a_day_of_the_ward_is_an_hour_shorter_or_longer_as_the_clocks_go() -> None:
    london = ZoneInfo("Europe/London")

    lengths = [
        ward_day(date(2026, month, day), london).length.total_seconds() / 3600
        for month, day in ((3, 28), (3, 29), (10, 25))
    ]

    assert lengths == [24, 23, 25]
    assert day_at(at(0), ZoneInfo("Pacific/Auckland")) == TODAY
    assert day_at(at(600), ZoneInfo("Pacific/Auckland")) == date(2026, 3, 4)
