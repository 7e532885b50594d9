"""Shifts: who is on duty where, and when on a break."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final

from sqlalchemy import Select, bindparam, delete, insert, or_, select

from server.domain.words import Role
from server.store.sessions import ReadSession, WriteSession
from server.store.statements import in_chunks, upsert
from server.store.tables import SHIFT, SHIFT_BREAK, STAFF, STAFF_WARD


@dataclass(frozen=True, slots=True)
class Break:
    """A break inside a shift."""

    starts_at: datetime
    ends_at: datetime


@dataclass(frozen=True, slots=True)
class Shift:
    """On duty on a ward from `starts_at` until `ends_at`."""

    id: str
    staff_id: str
    ward_id: str
    starts_at: datetime
    ends_at: datetime
    breaks: tuple[Break, ...] = ()


_SHIFTS: Final = select(SHIFT).order_by(SHIFT.c.starts_at, SHIFT.c.id)
_HERE: Final = select(STAFF_WARD.c.staff_id).where(STAFF_WARD.c.ward_id == bindparam("of_ward"))
_ON_DUTY: Final = (
    select(SHIFT.c.staff_id)
    .join(STAFF, STAFF.c.id == SHIFT.c.staff_id)
    .where(
        SHIFT.c.ward_id == bindparam("of_ward"),
        SHIFT.c.starts_at <= bindparam("at", type_=SHIFT.c.starts_at.type),
        SHIFT.c.ends_at > bindparam("at", type_=SHIFT.c.ends_at.type),
        STAFF.c.role == bindparam("as_role"),
        STAFF.c.active,
        or_(STAFF.c.all_wards, STAFF.c.id.in_(_HERE)),
    )
    .order_by(SHIFT.c.starts_at, SHIFT.c.id)
    .limit(1)
)
_OF_ROLE: Final = (
    select(SHIFT.c.id, SHIFT.c.staff_id, SHIFT.c.ward_id, SHIFT.c.starts_at, SHIFT.c.ends_at)
    .join(STAFF, STAFF.c.id == SHIFT.c.staff_id)
    .where(STAFF.c.role == bindparam("as_role"))
    .order_by(SHIFT.c.starts_at, SHIFT.c.id)
)


def save_shift(session: WriteSession, shift: Shift) -> None:
    """Enter or change a shift and its breaks."""
    session.run(upsert(session.engine_name, SHIFT.name), _row(shift))
    session.run(delete(SHIFT_BREAK).where(SHIFT_BREAK.c.shift_id == shift.id))
    session.run(insert(SHIFT_BREAK), _break_rows(shift))


def add_shifts(session: WriteSession, shifts: Sequence[Shift]) -> None:
    """Enter new shifts with their breaks. `Clash`: an id is taken, or nobody of such an id."""
    session.run(insert(SHIFT), [_row(shift) for shift in shifts])
    session.run(insert(SHIFT_BREAK), [row for shift in shifts for row in _break_rows(shift)])


def remove_shift(session: WriteSession, shift_id: str) -> bool:
    """Take a shift off the plan; False if there was none of that id."""
    session.run(delete(SHIFT_BREAK).where(SHIFT_BREAK.c.shift_id == shift_id))
    return session.run(delete(SHIFT).where(SHIFT.c.id == shift_id)) == 1


def read_shift(session: ReadSession, shift_id: str) -> Shift | None:
    """One shift, None if there is none of that id."""
    return next(iter(_read(session, _SHIFTS.where(SHIFT.c.id == shift_id))), None)


def shifts_between(
    session: ReadSession, ward_id: str, from_at: datetime, until: datetime
) -> tuple[Shift, ...]:
    """The shifts on a ward that overlap a period, by start."""
    overlapping = _SHIFTS.where(
        SHIFT.c.ward_id == ward_id, SHIFT.c.starts_at < until, SHIFT.c.ends_at > from_at
    )
    return _read(session, overlapping)


def shifts_of_role(session: ReadSession, role: Role) -> tuple[Shift, ...]:
    """Every shift of people who have a role, by start; without the breaks."""
    rows = session.rows(_OF_ROLE, {"as_role": role.value})
    return tuple(Shift(*row) for row in rows)


def staff_on_duty(session: ReadSession, ward_id: str, role: Role, at: datetime) -> str | None:
    """Who of a role is on duty on a ward at an instant: of several, who has been for longest."""
    on_duty: str | None = session.value(
        _ON_DUTY, {"of_ward": ward_id, "as_role": role.value, "at": at}
    )
    return on_duty


def _row(shift: Shift) -> dict[str, Any]:
    return {
        "id": shift.id,
        "staff_id": shift.staff_id,
        "ward_id": shift.ward_id,
        "starts_at": shift.starts_at,
        "ends_at": shift.ends_at,
    }


def _break_rows(shift: Shift) -> list[dict[str, Any]]:
    return [
        {"shift_id": shift.id, "starts_at": pause.starts_at, "ends_at": pause.ends_at}
        for pause in shift.breaks
    ]


def _read(session: ReadSession, listed: Select[Any]) -> tuple[Shift, ...]:
    rows = session.rows(listed)
    breaks = _breaks(session, [row.id for row in rows])
    return tuple(
        Shift(row.id, row.staff_id, row.ward_id, row.starts_at, row.ends_at, tuple(breaks[row.id]))
        for row in rows
    )


def _breaks(session: ReadSession, shift_ids: Iterable[str]) -> dict[str, list[Break]]:
    found: dict[str, list[Break]] = defaultdict(list)
    ordered = select(SHIFT_BREAK).order_by(SHIFT_BREAK.c.starts_at)
    for chunk in in_chunks(shift_ids):
        for row in session.rows(ordered.where(SHIFT_BREAK.c.shift_id.in_(chunk))):
            found[row.shift_id].append(Break(row.starts_at, row.ends_at))
    return found
