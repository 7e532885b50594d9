"""The nurses of a ward: who may be given units, or stand in for a colleague."""

from typing import Final

from server.domain.errors import Invalid
from server.domain.words import Role
from server.store.sessions import ReadSession
from server.store.staff import Staff, list_staff, read_staff

NURSES: Final = frozenset({Role.BEDSIDE_NURSE, Role.CHARGE_NURSE})


def nurse_of_ward(session: ReadSession, field: str, staff_id: str, ward_id: str) -> Staff:
    """Answer a nurse who works on the ward. Raises `Invalid` beside `field` for anybody else."""
    staff = read_staff(session, staff_id)
    if staff is None or not is_nurse_of(staff, ward_id):
        raise Invalid(field, "is no nurse of this ward; expected one who works on it")
    return staff


def nurses_of_ward(session: ReadSession, ward_id: str) -> tuple[Staff, ...]:
    """Answer the nurses who work on a ward, by name."""
    return tuple(one for one in list_staff(session, [ward_id]) if is_nurse_of(one, ward_id))


def is_nurse_of(staff: Staff, ward_id: str) -> bool:
    """Whether somebody is a nurse at work on the ward, and not gone."""
    here = staff.wards is None or ward_id in staff.wards
    return staff.active and here and staff.role in NURSES
