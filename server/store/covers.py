"""Covers: who answers for whose units, from when until when."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any, Final

from sqlalchemy import Select, insert, or_, select, update

from server.domain.cover import Absence, Cover
from server.store.sessions import ReadSession, WriteSession
from server.store.statements import columns_for, values_of
from server.store.tables import COVER, SHIFT, SHIFT_BREAK

_COVER: Final = COVER.c
_COVERS: Final = select(*columns_for(COVER, Cover))
_BREAKS: Final = select(SHIFT.c.staff_id, SHIFT_BREAK.c.starts_at, SHIFT_BREAK.c.ends_at).join_from(
    SHIFT_BREAK, SHIFT, SHIFT_BREAK.c.shift_id == SHIFT.c.id
)


def add_cover(session: WriteSession, cover: Cover) -> None:
    """Keep a new cover. `Clash`: nobody of such an id, or no such ward."""
    session.run(insert(COVER), values_of(cover))


def end_cover(session: WriteSession, cover_id: str, *, at: datetime, by: str) -> None:
    """Note that a cover ends at an instant, before the one it was entered with."""
    session.run(update(COVER).where(_COVER.id == cover_id).values(ended_at=at, ended_by=by))


def read_cover(session: ReadSession, cover_id: str) -> Cover | None:
    """One cover, None if there is none of that id."""
    return next(iter(_read(session, _COVERS.where(_COVER.id == cover_id))), None)


def covers_between(
    session: ReadSession, ward_ids: Iterable[str], from_at: datetime, until: datetime
) -> tuple[Cover, ...]:
    """The covers of wards that are in force at any instant of a period, by ward and begin."""
    standing = or_(_COVER.ended_at.is_(None), _COVER.ended_at > from_at)
    return _read(
        session,
        _COVERS.where(
            _COVER.ward_id.in_(sorted(set(ward_ids))),
            _COVER.from_at < until,
            _COVER.until_at > from_at,
            standing,
        ),
    )


def breaks_between(
    session: ReadSession, ward_id: str, from_at: datetime, until: datetime
) -> tuple[Absence, ...]:
    """The planned breaks on a ward that overlap a period, by begin."""
    overlapping = _BREAKS.where(
        SHIFT.c.ward_id == ward_id,
        SHIFT_BREAK.c.starts_at < until,
        SHIFT_BREAK.c.ends_at > from_at,
    )
    ordered = overlapping.order_by(SHIFT_BREAK.c.starts_at, SHIFT.c.staff_id)
    return tuple(Absence(*row) for row in session.rows(ordered))


def _read(session: ReadSession, listed: Select[Any]) -> tuple[Cover, ...]:
    ordered = listed.order_by(_COVER.ward_id, _COVER.from_at, _COVER.id)
    return tuple(Cover(*row) for row in session.rows(ordered))
