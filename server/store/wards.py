"""Wards: their settings, their revision, and when their clocks were last checked."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from sqlalchemy import bindparam, insert, select, update

from server.store.sessions import ReadSession, WriteSession
from server.store.statements import IDS, columns_for, one_of, values_of
from server.store.tables import WARD


@dataclass(frozen=True, slots=True)
class Ward:
    """A ward. `timezone` is an IANA name, `temperature_unit` C or F (for the screen only).

    `plan_id` is the plan in force, None where there is none.
    """

    id: str
    name: str
    timezone: str
    recorded_at: datetime
    temperature_unit: str = "C"
    next_contact: str | None = None
    revision: int = 0
    checked_at: datetime | None = None
    plan_id: str | None = None


_WARDS: Final = select(*columns_for(WARD, Ward))
_WARD: Final = _WARDS.where(WARD.c.id == bindparam("ward_id"))
_BY_NAME: Final = _WARDS.order_by(WARD.c.name, WARD.c.id)
_NAMED: Final = _BY_NAME.where(one_of(WARD.c.id))
_REVISION: Final = select(WARD.c.revision).where(WARD.c.id == bindparam("ward_id"))


def add_ward(session: WriteSession, ward: Ward) -> None:
    """Enter a new ward. Raises `Clash` if its id is taken."""
    session.run(insert(WARD), values_of(ward))


def change_ward(session: WriteSession, ward: Ward) -> None:
    """Store the settings of a ward; its revision and its last check are not settings."""
    settings = {
        "name": ward.name,
        "timezone": ward.timezone,
        "temperature_unit": ward.temperature_unit,
        "next_contact": ward.next_contact,
    }
    session.run(update(WARD).where(WARD.c.id == ward.id).values(**settings))


def read_ward(session: ReadSession, ward_id: str) -> Ward | None:
    """One ward, None if there is none of that id."""
    row = session.row(_WARD, {"ward_id": ward_id})
    return None if row is None else Ward(*row)


def list_wards(session: ReadSession, ward_ids: Iterable[str] | None = None) -> tuple[Ward, ...]:
    """The wards of these ids (None: all), by name."""
    listed = _BY_NAME if ward_ids is None else _NAMED
    wanted = None if ward_ids is None else {IDS: sorted(ward_ids)}
    return tuple(Ward(*row) for row in session.rows(listed, wanted))


def ward_revision(session: ReadSession, ward_id: str) -> int | None:
    """How many commits have changed a ward's board, None if there is no such ward."""
    revision: int | None = session.value(_REVISION, {"ward_id": ward_id})
    return revision


def set_plan(session: WriteSession, ward_id: str, plan_id: str | None) -> None:
    """Note which plan is in force on a ward, None: none any more."""
    session.run(update(WARD).where(WARD.c.id == ward_id).values(plan_id=plan_id))


def mark_checked(session: WriteSession, ward_ids: Iterable[str], at: datetime) -> None:
    """Note that all clocks of these wards were checked at `at`; this is no change of the board."""
    session.run(update(WARD).where(WARD.c.id.in_(sorted(ward_ids))).values(checked_at=at))
