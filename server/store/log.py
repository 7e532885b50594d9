"""The log of events: append to it, and read on in the order of the log."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from sqlalchemy import bindparam, func, insert, select

from server.domain.events import Event
from server.store.event_rows import EVENT_COLUMNS, event_of, parameters_of
from server.store.sessions import AnyRow, ReadSession, WriteSession
from server.store.tables import EVENT


@dataclass(frozen=True, slots=True)
class Logged:
    """An event with the patient and the ward it was recorded for."""

    event: Event
    patient_id: str
    ward_id: str | None


_LOGGED: Final = select(*EVENT_COLUMNS, EVENT.c.patient_id, EVENT.c.ward_id)
_NEXT: Final = select(func.coalesce(func.max(EVENT.c.position), 0) + 1)


def next_position(session: WriteSession) -> int:
    """The place in the log that the next event will take."""
    return int(session.value(_NEXT))


def append_events(
    session: WriteSession, events: Iterable[Event], *, patient_id: str, ward_id: str | None
) -> None:
    """Append events of one patient. Raises `Clash` if an id or a position is taken."""
    session.run(insert(EVENT), [parameters_of(event, patient_id, ward_id) for event in events])


def append_logged(session: WriteSession, logged: Iterable[Logged]) -> None:
    """Append events of many patients in this order, whatever their positions; `Clash` for an id.

    They take the next places of the log.
    """
    first = next_position(session)
    rows = [parameters_of(one.event, one.patient_id, one.ward_id) for one in logged]
    session.run(insert(EVENT), [row | {"position": first + n} for n, row in enumerate(rows)])


def read_event(session: ReadSession, event_id: str) -> Logged | None:
    """One event, None if there is none of that id."""
    row = session.row(_LOGGED.where(EVENT.c.id == event_id))
    return None if row is None else _logged(row)


def events_after(session: ReadSession, position: int, *, limit: int = 1000) -> tuple[Logged, ...]:
    """What was recorded after a place in the log, at most `limit` events, in the log's order."""
    after = _LOGGED.where(EVENT.c.position > position).order_by(EVENT.c.position).limit(limit)
    return tuple(_logged(row) for row in session.rows(after))


_OF_WARD: Final = (
    _LOGGED.where(EVENT.c.ward_id == bindparam("ward_id"), EVENT.c.position > bindparam("after"))
    .order_by(EVENT.c.position)
    .limit(1000)
)


def ward_events_after(session: ReadSession, ward_id: str, position: int) -> tuple[Logged, ...]:
    """What was recorded on a ward after a place in the log, at most 1000 events."""
    rows = session.rows(_OF_WARD, {"ward_id": ward_id, "after": position})
    return tuple(_logged(row) for row in rows)


def last_position(session: ReadSession) -> int:
    """The place in the log of the newest event, 0 if there is none."""
    return int(session.value(_NEXT)) - 1


def _logged(row: AnyRow) -> Logged:
    return Logged(event_of(row), patient_id=row.patient_id, ward_id=row.ward_id)
