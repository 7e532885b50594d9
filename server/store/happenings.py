"""What happened on a ward in a stretch of time: bare instants, for finding the way among them."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import Any, Final

from sqlalchemy import Select, and_, bindparam, or_, select

from server.domain.words import ClockState, Kind
from server.store.reminders import IN_ORDER
from server.store.sessions import ReadSession
from server.store.tables import EPISODE_STATE, EVENT, REMINDER, TRANSITION

# What a clock does that somebody has to act on; the other crossings are seen by the facts.
_CROSSED: Final = (ClockState.DUE.value, ClockState.OVERDUE.value)


class Sort(StrEnum):
    """What sort of thing happened."""

    FACT = "fact"
    CROSSING = "crossing"
    REMINDER = "reminder"


@dataclass(frozen=True, slots=True)
class Happening:
    """One thing on a unit, in the bed it was asked for; `word` is a kind, or the clock's name.

    `came` is the state a clock came into, or the stage of a reminder; empty for a fact. A fact
    has the two instants at which it happened and was recorded; of anything else they are one.
    """

    sort: Sort
    episode_id: str
    bed: str
    word: str
    came: str
    happened_at: datetime
    recorded_at: datetime


_STATE: Final = EPISODE_STATE.c
_FROM: Final = bindparam("from_at", type_=EVENT.c.happened_at.type)
_UNTIL: Final = bindparam("until", type_=EVENT.c.happened_at.type)
# Facts are found by the units that were on the board at any time of the stretch, or were
# charted after it: the log itself is ordered by recording, and long.
_PRESENT: Final = and_(
    _STATE.ward_id == bindparam("of_ward"),
    or_(_STATE.first_at.is_(None), _STATE.first_at < _UNTIL),
    or_(
        _STATE.open_until.is_(None),
        _STATE.open_until >= _FROM,
        _STATE.last_recorded_at >= _FROM,
    ),
)
_IN_STRETCH: Final = or_(
    and_(EVENT.c.happened_at >= _FROM, EVENT.c.happened_at < _UNTIL),
    and_(EVENT.c.recorded_at >= _FROM, EVENT.c.recorded_at < _UNTIL),
)


def _facts(of_unit: Any) -> Select[Any]:
    columns = (_STATE.episode_id, _STATE.bed, EVENT.c.kind, EVENT.c.happened_at)
    facts = select(*columns, EVENT.c.recorded_at).join_from(EPISODE_STATE, EVENT, of_unit)
    return facts.where(_PRESENT, _IN_STRETCH).order_by(EVENT.c.position)


_OWN_FACTS: Final = _facts(EVENT.c.episode_id == _STATE.episode_id)
_PATIENT_FACTS: Final = _facts(
    and_(
        EVENT.c.patient_id == _STATE.patient_id,
        EVENT.c.kind == Kind.OBSERVED.value,
        EVENT.c.episode_id.is_(None),
    )
)
_CROSSINGS: Final = (
    select(_STATE.episode_id, _STATE.bed, TRANSITION.c.clock, TRANSITION.c.to_state)
    .add_columns(TRANSITION.c.at)
    .join_from(EPISODE_STATE, TRANSITION, TRANSITION.c.episode_id == _STATE.episode_id)
    .where(_PRESENT, TRANSITION.c.at >= _FROM, TRANSITION.c.at < _UNTIL)
    .where(TRANSITION.c.to_state.in_(_CROSSED))
    .order_by(TRANSITION.c.position)
)
_REMINDED: Final = (
    select(_STATE.episode_id, _STATE.bed, REMINDER.c.clock, REMINDER.c.stage)
    .add_columns(REMINDER.c.raised_at)
    .join_from(REMINDER, EPISODE_STATE, REMINDER.c.episode_id == _STATE.episode_id)
    .where(REMINDER.c.ward_id == bindparam("of_ward"))
    .where(REMINDER.c.raised_at >= _FROM, REMINDER.c.raised_at < _UNTIL)
    .order_by(*IN_ORDER)
)


def happenings_between(
    session: ReadSession, ward_id: str, from_at: datetime, until: datetime
) -> tuple[Happening, ...]:
    """What happened, or was recorded, on a ward from an instant until just before another.

    Each sort in the order of its log, sets of a patient after facts of units. A set of a patient
    with several units is told once for each of them.
    """
    asked = {"of_ward": ward_id, "from_at": from_at, "until": until}
    return tuple(_all(session, asked))


def _all(session: ReadSession, asked: dict[str, Any]) -> Iterator[Happening]:
    for statement in (_OWN_FACTS, _PATIENT_FACTS):
        for unit, bed, kind, happened_at, recorded_at in session.rows(statement, asked):
            yield Happening(Sort.FACT, unit, bed, kind, "", happened_at, recorded_at)
    for sort, statement in ((Sort.CROSSING, _CROSSINGS), (Sort.REMINDER, _REMINDED)):
        for unit, bed, clock, came, at in session.rows(statement, asked):
            yield Happening(sort, unit, bed, clock, came, at, at)
