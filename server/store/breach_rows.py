"""Limits that were not kept, limits that only looked so, and the shifts around them."""

from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import Any, Final

from sqlalchemy import Select, and_, bindparam, func, literal_column, select

from server.domain.breach_list import Duty, Passed
from server.domain.words import ClockName, ClockState, Component
from server.store.columns import UtcDateTime
from server.store.sessions import AnyRow, ReadSession
from server.store.statements import IDS, in_chunks, one_of
from server.store.tables import CLOCK_STATE, EPISODE, SHIFT, TRANSITION

_FROM: Final = bindparam("from_at", type_=UtcDateTime())
_UNTIL: Final = bindparam("until", type_=UtcDateTime())
_CLOCK: Final = CLOCK_STATE.c
_SHOWN: Final = TRANSITION.c
_HELD: Final = [_CLOCK[name] for name in Passed._fields if name != "limit_at"]
_WHERE: Final = Passed._fields.index("limit_at")

_BREACHES: Final = select(
    *_HELD[:_WHERE], _CLOCK.breached_at.label("limit_at"), *_HELD[_WHERE:]
).where(one_of(_CLOCK.ward_id), _CLOCK.breached_at >= _FROM, _CLOCK.breached_at < _UNTIL)

# Written out, not bound: only so does an engine see that the partial index holds all of these.
_AS_PASSED: Final = _SHOWN.to_state.in_([literal_column("'overdue'"), literal_column("'missed'")])
# A record from elsewhere was on no board. The crossings are few and come first: a ward that is put
# together is in no index, which would lead to all limits that it ever kept.
_KEPT: Final = (
    select(*_HELD[:_WHERE], func.min(_SHOWN.at).label("limit_at"), *_HELD[_WHERE:])
    .select_from(TRANSITION)
    .join(
        CLOCK_STATE,
        and_(
            _CLOCK.episode_id == _SHOWN.episode_id,
            _CLOCK.clock == _SHOWN.clock,
            _CLOCK.n == _SHOWN.n,
        ),
    )
    .join(EPISODE, EPISODE.c.id == _SHOWN.episode_id)
    .where(
        _AS_PASSED,
        _SHOWN.at >= _FROM,
        _SHOWN.at < _UNTIL,
        _CLOCK.state == ClockState.MET.value,
        one_of(_CLOCK.ward_id.concat("")),
        EPISODE.c.history.is_(False),
    )
    .group_by(_CLOCK.episode_id, _CLOCK.clock, _CLOCK.n)
)
_DUTIES: Final = select(*(SHIFT.c[name] for name in Duty._fields)).where(
    one_of(SHIFT.c.ward_id),
    SHIFT.c.starts_at >= _FROM,
    SHIFT.c.starts_at < _UNTIL,
    SHIFT.c.staff_id.in_(bindparam("nurses", expanding=True)),
)


def passed_between(
    session: ReadSession, ward_ids: Iterable[str], from_at: datetime, until: datetime
) -> tuple[Passed, ...]:
    """What was not kept on these wards of the limits in `from_at` <= limit < `until`."""
    return _passed(session, _BREACHES, ward_ids, from_at, until)


def kept_after_all(
    session: ReadSession, ward_ids: Iterable[str], from_at: datetime, until: datetime
) -> tuple[Passed, ...]:
    """What was shown as passed in a period and has been met in time, as is known now.

    `limit_at` is the limit as it was shown; a correction may have moved it since.
    """
    return _passed(session, _KEPT, ward_ids, from_at, until)


def duties_of(
    session: ReadSession,
    ward_ids: Iterable[str],
    nurse_ids: Iterable[str],
    from_at: datetime,
    until: datetime,
) -> tuple[Duty, ...]:
    """The shifts of these nurses on these wards that begin in `from_at` <= start < `until`."""
    asked = _asked(ward_ids, from_at, until)
    return tuple(
        Duty(*row)
        for chunk in in_chunks(sorted(set(nurse_ids)))
        for row in session.rows(_DUTIES, asked | {"nurses": chunk})
    )


def _asked(ward_ids: Iterable[str], from_at: datetime, until: datetime) -> dict[str, Any]:
    return {IDS: sorted(set(ward_ids)), "from_at": from_at, "until": until}


def _passed(
    session: ReadSession,
    listed: Select[Any],
    ward_ids: Iterable[str],
    from_at: datetime,
    until: datetime,
) -> tuple[Passed, ...]:
    rows: Sequence[AnyRow] = session.rows(listed, _asked(ward_ids, from_at, until))
    return tuple(_read(row) for row in rows)


def _read(row: AnyRow) -> Passed:
    episode_id, ward_id, clock, n, limit_at, met_at, state, component, nurse_id, cause = row
    return Passed(
        episode_id,
        ward_id,
        ClockName(clock),
        n,
        limit_at,
        met_at,
        ClockState(state),
        component and Component(component),
        nurse_id,
        cause,
    )
