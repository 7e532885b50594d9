"""The page of a day of `w1`: what is stored of it, a shift to enter, what stands in its form."""

from datetime import date

from server.domain.workload.capacity import (
    Duty,
)
from server.domain.workload.period import Period
from server.services.enter_day import DayDraft, PersonDay, enter_day
from server.services.enter_shift import ShiftDraft
from server.services.read_day import Day, read_day
from server.store.shifts import Break, Shift
from server.store.training import ShiftWork, Training
from tests.domain.builders import at
from tests.pages.hospital import Hospital
from tests.pages.reading import Page
from tests.services.people import (
    CHARGE,
)

DAY = "/wards/w1/plan/day"
TODAY = date(2026, 3, 3)  # of the base instant, 10:00 in London
SHIFT = Shift("s1", "nurse-1", "w1", at(-180), at(570), (Break(at(120), at(150)),))
WORK = ShiftWork(frozenset({"12", "4", "5"}), (Duty(Period(at(60), at(90)), "round"),))


def read(hospital: Hospital, day: date = TODAY) -> Day:
    with hospital.store.read() as session:
        return read_day(session, CHARGE, "w1", day, now=hospital.clock.now)


def enter(hospital: Hospital) -> None:
    """Nina is on from seven to half past seven in the evening, with a break and a round."""
    shift = ShiftDraft("nurse-1", "w1", SHIFT.starts_at, SHIFT.ends_at, SHIFT.breaks, "s1")
    people = (PersonDay(shift, WORK, Training(skills=frozenset({"child"}))),)
    with hospital.store.write() as session:
        enter_day(session, CHARGE, DayDraft("w1", people), now=at(-180))


def typed_in(page: Page, name: str) -> list[str]:
    return page.form("day").values[name]
