"""Identity checks of units, who takes part in them, and what each person read."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final

from sqlalchemy import Select, func, insert, select, update

from server.domain.identity_check import CheckState
from server.domain.identity_reading import How, Item, Reading
from server.store.ids import new_id
from server.store.sessions import AnyRow, ReadSession, WriteSession
from server.store.statements import columns_for, values_of
from server.store.tables import IDENTITY_CHECK, IDENTITY_READING


@dataclass(frozen=True, slots=True)
class IdentityCheck:
    """The `n`th check of a unit, by `checkers` people; `changed_at` is when it last went on."""

    id: str
    episode_id: str
    n: int
    ward_id: str
    checkers: int
    state: CheckState
    opened_by: str
    opened_at: datetime
    changed_at: datetime
    second_by: str | None = None
    second_at: datetime | None = None
    closed_at: datetime | None = None
    closed_by: str | None = None
    event_id: str | None = None

    @property
    def people(self) -> tuple[str, ...]:
        """Who takes part, the first checker first."""
        return tuple(person for person in (self.opened_by, self.second_by) if person is not None)


@dataclass(frozen=True, slots=True)
class StoredReading:
    """One reading, whose it is and when it was entered."""

    staff_id: str
    reading: Reading
    read_at: datetime


_CHECK: Final = select(*columns_for(IDENTITY_CHECK, IdentityCheck))
_NEWEST: Final = _CHECK.order_by(IDENTITY_CHECK.c.n.desc()).limit(1)


def add_check(
    session: WriteSession, episode_id: str, ward_id: str, *, checkers: int, by: str, at: datetime
) -> IdentityCheck:
    """Open the next check of a unit. `Clash`: one is open already."""
    counted = select(func.max(IDENTITY_CHECK.c.n)).where(IDENTITY_CHECK.c.episode_id == episode_id)
    check = IdentityCheck(
        id=new_id(),
        episode_id=episode_id,
        n=(session.value(counted) or 0) + 1,
        ward_id=ward_id,
        checkers=checkers,
        state=CheckState.OPEN,
        opened_by=by,
        opened_at=at,
        changed_at=at,
    )
    session.run(insert(IDENTITY_CHECK), values_of(check))
    return check


def newest_check(session: ReadSession, episode_id: str) -> IdentityCheck | None:
    """The check of a unit that runs, or the last that did."""
    return _read(session, _NEWEST.where(IDENTITY_CHECK.c.episode_id == episode_id))


def read_check(session: ReadSession, check_id: str) -> IdentityCheck | None:
    """One check, None if there is none of that id."""
    return _read(session, _CHECK.where(IDENTITY_CHECK.c.id == check_id))


def open_checks(
    session: ReadSession, ward_ids: Collection[str] | None
) -> tuple[IdentityCheck, ...]:
    """The checks that are open on these wards, on every ward for None, the oldest first."""
    wanted = _CHECK.where(IDENTITY_CHECK.c.state == CheckState.OPEN.value)
    if ward_ids is not None:
        wanted = wanted.where(IDENTITY_CHECK.c.ward_id.in_(sorted(ward_ids)))
    rows = session.rows(wanted.order_by(IDENTITY_CHECK.c.opened_at, IDENTITY_CHECK.c.id))
    return tuple(_check(row) for row in rows)


def set_second(session: WriteSession, check_id: str, staff_id: str, at: datetime) -> None:
    """Keep who the second checker is."""
    values = {"second_by": staff_id, "second_at": at, "changed_at": at}
    _change(session, check_id, values)


def give_seat(session: WriteSession, check_id: str, seat_hash: str) -> None:
    """Keep by what the second checker is known on the first one's device."""
    _change(session, check_id, {"seat_hash": seat_hash})


def seated(session: ReadSession, episode_id: str, seat_hash: str) -> IdentityCheck | None:
    """The check of a unit whose second person is known by a seat."""
    of_seat = IDENTITY_CHECK.c.seat_hash == seat_hash
    return _read(session, _CHECK.where(of_seat, IDENTITY_CHECK.c.episode_id == episode_id))


def close_check(
    session: WriteSession,
    check_id: str,
    state: CheckState,
    *,
    at: datetime,
    by: str | None,
    event_id: str | None = None,
) -> None:
    """Keep how a check ended."""
    values = {"state": state.value, "closed_at": at, "closed_by": by, "event_id": event_id}
    _change(session, check_id, values)


def add_readings(
    session: WriteSession,
    check_id: str,
    staff_id: str,
    readings: Iterable[Reading],
    at: datetime,
) -> None:
    """Keep what somebody read; the same reading again is one."""
    known = {
        _key(stored.reading)
        for stored in readings_of(session, check_id)
        if stored.staff_id == staff_id
    }
    new = {_key(reading): reading for reading in readings if _key(reading) not in known}
    belongs = {"check_id": check_id, "staff_id": staff_id, "read_at": at}
    session.run(insert(IDENTITY_READING), [values_of(one) | belongs for one in new.values()])
    _change(session, check_id, {"changed_at": at})


def readings_of(session: ReadSession, check_id: str) -> tuple[StoredReading, ...]:
    """Everything that was read in a check, in the order it came in."""
    of_check = _READINGS.where(IDENTITY_READING.c.check_id == check_id)
    return tuple(
        StoredReading(
            row.staff_id,
            Reading(Item(row.item), How(row.how), row.value, row.entered),
            row.read_at,
        )
        for row in session.rows(of_check)
    )


_READINGS: Final = select(IDENTITY_READING).order_by(IDENTITY_READING.c.position)


def _key(reading: Reading) -> tuple[str, str, str]:
    return (reading.item, reading.how, reading.value)


def _change(session: WriteSession, check_id: str, values: dict[str, Any]) -> None:
    session.run(update(IDENTITY_CHECK).where(IDENTITY_CHECK.c.id == check_id).values(**values))


def _read(session: ReadSession, wanted: Select[Any]) -> IdentityCheck | None:
    row = session.row(wanted)
    return None if row is None else _check(row)


def _check(row: AnyRow) -> IdentityCheck:
    found = row._asdict()
    return IdentityCheck(**(found | {"state": CheckState(found["state"])}))
