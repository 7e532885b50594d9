"""Reminders that were raised: once each, and acknowledged by somebody."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final

from sqlalchemy import Select, and_, bindparam, case, insert, or_, select, update

from server.domain.clock import OWED
from server.domain.words import ClockName, Stage
from server.store.sessions import AnyRow, ReadSession, WriteSession
from server.store.statements import (
    IDS,
    columns_for,
    in_chunks,
    insert_if_absent,
    one_of,
    values_of,
)
from server.store.tables import CLOCK_STATE, REMINDER


@dataclass(frozen=True, slots=True)
class RaisedReminder:
    """A stage of a clock that somebody was, or is to be, told about; `to` names whom."""

    id: str
    ward_id: str
    episode_id: str
    clock: ClockName
    n: int
    stage: Stage
    repeat: int
    owed_at: datetime
    raised_at: datetime
    to: str
    acknowledged_at: datetime | None = None
    acknowledged_by: str | None = None

    @property
    def is_early(self) -> bool:
        """Whether a clock that ran ahead raised it: when it is owed it is to be raised again."""
        return self.raised_at < self.owed_at


_REMINDER: Final = REMINDER.c
_REMINDERS: Final = select(*columns_for(REMINDER, RaisedReminder))
_RANK: Final = case({stage.value: rank for rank, stage in enumerate(Stage)}, value=_REMINDER.stage)
IN_ORDER: Final = (_REMINDER.raised_at, _REMINDER.owed_at, _RANK, _REMINDER.repeat, _REMINDER.id)
_OF_EPISODES: Final = _REMINDERS.where(one_of(_REMINDER.episode_id)).order_by(*IN_ORDER)
_STAMP: Final = (
    update(REMINDER)
    .where(_REMINDER.id == bindparam("raised"))
    .values(change_revision=bindparam("stamp"))
)
_NOTE: Final = (
    update(REMINDER)
    .where(_REMINDER.id == bindparam("of"))
    .values(
        acknowledged_at=bindparam("at", type_=_REMINDER.acknowledged_at.type),
        acknowledged_by=bindparam("by"),
        change_revision=bindparam("stamp"),
    )
)
_AGAIN: Final = (
    update(REMINDER)
    .where(_REMINDER.id == bindparam("of"))
    .values(
        raised_at=bindparam("raised", type_=_REMINDER.raised_at.type),
        to=bindparam("told"),
        acknowledged_at=bindparam("at", type_=_REMINDER.acknowledged_at.type),
        acknowledged_by=bindparam("by"),
    )
)
_ESCALATIONS: Final = (Stage.ESCALATE.value, Stage.SECOND_ESCALATE.value)
_OWED: Final = sorted(state.value for state in OWED)
_OF_CLOCK: Final = and_(
    CLOCK_STATE.c.episode_id == _REMINDER.episode_id,
    CLOCK_STATE.c.clock == _REMINDER.clock,
    CLOCK_STATE.c.n == _REMINDER.n,
)
_ANSWERED: Final = ("id", "ward_id", "episode_id")


def raise_reminders(
    session: WriteSession, reminders: Sequence[RaisedReminder]
) -> tuple[RaisedReminder, ...]:
    """Keep reminders that do not exist yet, touch their episodes, and answer the new ones.

    Whoever comes second with the same clock, stage, repeat and instant stores nothing: the table
    itself has room for one only.
    """
    if not reminders:
        return ()
    statement = insert_if_absent(session.engine_name, REMINDER.name, _ANSWERED)
    rows = [values_of(reminder) | {"change_revision": 0} for reminder in reminders]
    inserted = session.rows(statement, rows)
    _stamp(session, inserted)
    new = {row.id for row in inserted}
    return tuple(reminder for reminder in reminders if reminder.id in new)


def raise_again(session: WriteSession, reminders: Sequence[RaisedReminder]) -> None:
    """Store over reminders that came too early when, and to whom, they are raised now."""
    session.run(_AGAIN, [_as_raised(reminder) for reminder in reminders])
    _stamp(session, reminders)


def _as_raised(reminder: RaisedReminder) -> dict[str, object]:
    return {
        "of": reminder.id,
        "raised": reminder.raised_at,
        "told": reminder.to,
        "at": reminder.acknowledged_at,
        "by": reminder.acknowledged_by,
    }


def keep_reminders(session: WriteSession, reminders: Iterable[RaisedReminder]) -> None:
    """Keep reminders of units that nobody has looked at yet. `Clash`: one of them is there."""
    rows = [values_of(reminder) | {"change_revision": 0} for reminder in reminders]
    session.run(insert(REMINDER), rows)


def reminders_since(
    session: ReadSession, ward_id: str, since: datetime | None = None
) -> tuple[RaisedReminder, ...]:
    """The reminders of a ward raised at or after an instant (None: all), in order."""
    listed = _REMINDERS.where(_REMINDER.ward_id == ward_id)
    if since is not None:
        listed = listed.where(_REMINDER.raised_at >= since)
    return _read(session, listed)


def reminders_between(
    session: ReadSession, ward_id: str, from_at: datetime, until: datetime
) -> tuple[RaisedReminder, ...]:
    """The reminders of a ward raised in a period, both ends included, in order."""
    here = _REMINDERS.where(_REMINDER.ward_id == ward_id)
    return _read(session, here.where(_REMINDER.raised_at.between(from_at, until)))


def reminders_calling(
    session: ReadSession,
    ward_ids: Iterable[str],
    recipients: Iterable[str],
    since: datetime,
    *,
    escalated: bool,
) -> tuple[RaisedReminder, ...]:
    """What went to these recipients from `since` on, is owed still and nobody has, in order.

    With `escalated` also every escalation: who is in charge may have changed since.
    """
    told = _REMINDER.to.in_(sorted(set(recipients)))
    calling = _REMINDERS.join(CLOCK_STATE, _OF_CLOCK).where(
        _REMINDER.ward_id.in_(sorted(set(ward_ids))),
        _REMINDER.raised_at >= since,
        _REMINDER.acknowledged_at.is_(None),
        or_(told, _REMINDER.stage.in_(_ESCALATIONS)) if escalated else told,
        CLOCK_STATE.c.state.in_(_OWED),
    )
    return _read(session, calling)


def reminders_changed_since(
    session: ReadSession, ward_id: str, revision: int
) -> tuple[RaisedReminder, ...]:
    """The reminders of a ward that were raised or acknowledged after a revision of it."""
    return _read(
        session,
        _REMINDERS.where(_REMINDER.ward_id == ward_id, _REMINDER.change_revision > revision),
    )


def reminders_of_episodes(
    session: ReadSession, episode_ids: Iterable[str]
) -> dict[str, tuple[RaisedReminder, ...]]:
    """The reminders of these episodes, by episode id."""
    found: dict[str, list[RaisedReminder]] = defaultdict(list)
    for chunk in in_chunks(sorted(set(episode_ids))):
        for row in session.rows(_OF_EPISODES, {IDS: chunk}):
            found[row.episode_id].append(_reminder(row))
    return {episode_id: tuple(listed) for episode_id, listed in found.items()}


def note_acknowledgements(
    session: WriteSession, ward_id: str, episode_id: str, reminders: Iterable[RaisedReminder]
) -> None:
    """Store who says "I have it" of these reminders of a unit, as they now are."""
    revision = session.touch(ward_id, [episode_id])
    noted = [
        {"of": one.id, "at": one.acknowledged_at, "by": one.acknowledged_by, "stamp": revision}
        for one in reminders
    ]
    session.run(_NOTE, noted)


def _stamp(session: WriteSession, inserted: Sequence[AnyRow | RaisedReminder]) -> None:
    by_ward: dict[str, list[AnyRow | RaisedReminder]] = defaultdict(list)
    for row in inserted:
        by_ward[row.ward_id].append(row)
    for ward_id, rows in by_ward.items():
        revision = session.touch(ward_id, [row.episode_id for row in rows])
        session.run(_STAMP, [{"raised": row.id, "stamp": revision} for row in rows])


def _read(session: ReadSession, listed: Select[Any]) -> tuple[RaisedReminder, ...]:
    return tuple(_reminder(row) for row in session.rows(listed.order_by(*IN_ORDER)))


def _reminder(row: AnyRow) -> RaisedReminder:
    facts = row._asdict()
    facts["clock"] = ClockName(facts["clock"])
    facts["stage"] = Stage(facts["stage"])
    return RaisedReminder(**facts)
