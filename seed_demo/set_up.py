"""The ward itself before anything happens on it: its policy, its people, its shifts."""

from datetime import datetime, timedelta
from typing import Final

from seed_demo.rota import Duty, Shift, shift_of
from seed_demo.staff import EVERYBODY, PASSWORD, SET_UP, WARD_ID, Person
from server.policies import load_policies
from server.services.enter_shift import ShiftDraft, enter_shift
from server.services.enter_staff import StaffDraft, enter_staff
from server.services.enter_ward import WardDraft, enter_ward
from server.store.sessions import WriteSession
from server.store.shifts import Break

WARD_NAME: Final = "Lantern Ward, Ebbstone"
NEXT_CONTACT: Final = "Site coordinator, bleep 400"
OPENED_BEFORE: Final = timedelta(days=1)


def set_up_ward(session: WriteSession, *, start: datetime, timezone: str) -> None:
    """Enter the ward, everybody on it and the first two shifts, a day before `start`."""
    opened = start - OPENED_BEFORE
    draft = WardDraft(WARD_ID, WARD_NAME, "common", timezone, next_contact=NEXT_CONTACT)
    enter_ward(session, SET_UP, draft, load_policies(), now=opened)
    for person in EVERYBODY:
        enter_staff(session, SET_UP, _staff_draft(person), now=opened)
    for number in (0, 1):
        put_on_rota(session, shift_of(start, number))


def put_on_rota(session: WriteSession, shift: Shift) -> None:
    """Enter the shift of everybody on it."""
    for duty in shift.everybody:
        enter_shift(session, SET_UP, _shift_draft(shift.number, duty))


def _staff_draft(person: Person) -> StaffDraft:
    return StaffDraft(
        person.id,
        person.name,
        person.role,
        frozenset({WARD_ID}),
        person.sign_in_name,
        PASSWORD if person.sign_in_name else None,
    )


def _shift_draft(number: int, duty: Duty) -> ShiftDraft:
    return ShiftDraft(
        staff_id=duty.staff_id,
        ward_id=WARD_ID,
        starts_at=duty.starts_at,
        ends_at=duty.ends_at,
        breaks=tuple(Break(begins, ends) for begins, ends in duty.breaks),
        id=f"shift-{number}-{duty.staff_id}",
    )
