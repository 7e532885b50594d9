"""What wards changed in how they work: noted, withdrawn, never altered."""

from collections.abc import Iterable
from datetime import date, datetime
from typing import Any, Final

from sqlalchemy import Select, insert, select

from server.domain.ward_change import WardChange
from server.store.sessions import ReadSession, WriteSession
from server.store.tables import WARD_CHANGE, WITHDRAWN_CHANGE

_CHANGE: Final = WARD_CHANGE.c
_WITHDRAWN: Final = WITHDRAWN_CHANGE.c
_CHANGES: Final = select(
    *WARD_CHANGE.columns, _WITHDRAWN.withdrawn_by, _WITHDRAWN.withdrawn_at
).join(WITHDRAWN_CHANGE, _WITHDRAWN.change_id == _CHANGE.id, isouter=True)


def add_ward_change(session: WriteSession, change: WardChange) -> None:
    """Keep a new change. `Clash`: one of that id is there, or no such ward."""
    facts = {column.name: getattr(change, column.name) for column in WARD_CHANGE.columns}
    session.run(insert(WARD_CHANGE), facts)


def withdraw_ward_change(session: WriteSession, change_id: str, *, by: str, at: datetime) -> None:
    """Note that a change was entered by mistake. `Clash`: it was withdrawn before."""
    withdrawn = {"change_id": change_id, "withdrawn_by": by, "withdrawn_at": at}
    session.run(insert(WITHDRAWN_CHANGE), withdrawn)


def read_ward_change(session: ReadSession, change_id: str) -> WardChange | None:
    """One change, None if there is none of that id."""
    return next(iter(_read(session, _CHANGES.where(_CHANGE.id == change_id))), None)


def ward_changes_between(
    session: ReadSession, ward_ids: Iterable[str], first: date, last: date
) -> tuple[WardChange, ...]:
    """The changes of wards with a day in `first` <= day <= `last`, withdrawn ones too, by day."""
    theirs = _CHANGE.ward_id.in_(sorted(set(ward_ids)))
    return _read(session, _CHANGES.where(theirs, _CHANGE.day >= first, _CHANGE.day <= last))


def _read(session: ReadSession, listed: Select[Any]) -> tuple[WardChange, ...]:
    ordered = listed.order_by(_CHANGE.day, _CHANGE.recorded_at, _CHANGE.id)
    return tuple(WardChange(*row) for row in session.rows(ordered))
