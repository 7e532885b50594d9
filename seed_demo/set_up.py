"""The ward itself before anything happens on it: its policy, its people, its days."""

from datetime import datetime, timedelta
from typing import Final
from zoneinfo import ZoneInfo

from seed_demo.rota import BEFORE, LENGTH, Duty, Shift, shift_of
from seed_demo.staff import EVERYBODY, PASSWORD, PEOPLE, SET_UP, WARD_ID, Person
from server.domain.workload.capacity import Duty as FixedDuty
from server.domain.workload.capacity import NightRule, WallWindow, WardLimits
from server.domain.workload.period import Period
from server.policies import load_policies
from server.services.enter_day import DayDraft, PersonDay, enter_day
from server.services.enter_shift import ShiftDraft
from server.services.enter_staff import StaffDraft, enter_staff
from server.services.enter_ward import WardDraft, enter_ward
from server.store.sessions import WriteSession
from server.store.shifts import Break
from server.store.training import ShiftWork, Training

WARD_NAME: Final = "Lantern Ward, Ebbstone"
NEXT_CONTACT: Final = "Site coordinator, bleep 400"
OPENED_BEFORE: Final = timedelta(weeks=14)
HANDOVER: Final = timedelta(minutes=15)
"""Before and after the change of shifts nobody starts a unit."""


def set_up_ward(session: WriteSession, *, start: datetime, timezone: str) -> None:
    """Enter the ward, everybody on it and the first two shifts, weeks before `start`."""
    opened = start - OPENED_BEFORE
    draft = WardDraft(WARD_ID, WARD_NAME, "common", timezone, next_contact=NEXT_CONTACT)
    enter_ward(session, SET_UP, draft, load_policies(), now=opened)
    for person in EVERYBODY:
        enter_staff(session, SET_UP, _staff_draft(person), now=opened)
    for number in (0, 1):
        put_on_rota(session, shift_of(start, number), now=opened)
    limits = DayDraft(WARD_ID, (), limits=_limits(start, ZoneInfo(timezone)))
    enter_day(session, SET_UP, limits, now=opened)


def put_on_rota(session: WriteSession, shift: Shift, *, now: datetime) -> None:
    """Enter the shift of everybody on it, with breaks, duties, beds and what they may do."""
    people = tuple(_person_day(shift.number, duty) for duty in shift.everybody)
    enter_day(session, SET_UP, DayDraft(WARD_ID, people), now=now)


def _limits(start: datetime, zone: ZoneInfo) -> WardLimits:
    """This ward gives day and night, with two porters, and starts three units at once at most."""
    first = start - BEFORE
    changes = (first, first + LENGTH)
    handovers = (
        WallWindow(
            (change - HANDOVER).astimezone(zone).time().replace(second=0, microsecond=0),
            (change + HANDOVER).astimezone(zone).time().replace(second=0, microsecond=0),
        )
        for change in changes
    )
    return WardLimits(
        handovers=tuple(handovers),
        night_rule=NightRule.ALLOWED,
        most_starts=3,
        porters=2,
    )


def _staff_draft(person: Person) -> StaffDraft:
    return StaffDraft(
        person.id,
        person.name,
        person.role,
        frozenset({WARD_ID}),
        person.sign_in_name,
        PASSWORD if person.sign_in_name else None,
    )


def _person_day(number: int, duty: Duty) -> PersonDay:
    shift = ShiftDraft(
        staff_id=duty.staff_id,
        ward_id=WARD_ID,
        starts_at=duty.starts_at,
        ends_at=duty.ends_at,
        breaks=tuple(Break(begins, ends) for begins, ends in duty.breaks),
        id=f"shift-{number}-{duty.staff_id}",
    )
    duties = (FixedDuty(Period(one.begins, one.ends), one.name) for one in duty.duties)
    work = ShiftWork(frozenset(duty.beds), tuple(duties))
    return PersonDay(shift, work, Training(may_start=PEOPLE[duty.staff_id].may_start))
