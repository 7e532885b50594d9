"""What the load of reminders is counted from, by the period that is asked for.

Each query walks an index from the period's beginning to its end; what lies outside costs nothing.
"""

from collections.abc import Iterable
from datetime import datetime
from typing import Final

from sqlalchemy import String, and_, bindparam, select

from server.domain.alarm_load import Duty
from server.domain.alarm_outcomes import Told
from server.domain.words import ClockName, ClockState, Role, Stage
from server.store.columns import UtcDateTime
from server.store.sessions import AnyRow, ReadSession
from server.store.tables import CLOCK_STATE, EPISODE_STATE, REMINDER, SHIFT, STAFF

_FROM: Final = bindparam("from_at", type_=UtcDateTime())
_UNTIL: Final = bindparam("until", type_=UtcDateTime())
_WARD: Final = bindparam("of_ward", type_=String())

_REMINDED: Final = select(REMINDER.c.episode_id).where(
    REMINDER.c.ward_id == _WARD, REMINDER.c.raised_at >= _FROM, REMINDER.c.raised_at < _UNTIL
)
_TOLD: Final = (
    select(
        *(REMINDER.c[name] for name in Told._fields[:-2]),
        CLOCK_STATE.c.met_at,
        CLOCK_STATE.c.state,
    )
    .join_from(
        REMINDER,
        CLOCK_STATE,
        and_(
            CLOCK_STATE.c.episode_id == REMINDER.c.episode_id,
            CLOCK_STATE.c.clock == REMINDER.c.clock,
            CLOCK_STATE.c.n == REMINDER.c.n,
        ),
        isouter=True,
    )
    .where(REMINDER.c.episode_id.in_(_REMINDED))
)
_ISSUED: Final = select(EPISODE_STATE.c.episode_id).where(
    EPISODE_STATE.c.ward_id == _WARD,
    EPISODE_STATE.c.issued_at >= _FROM,
    EPISODE_STATE.c.issued_at < _UNTIL,
)
_DUTIES: Final = (
    select(SHIFT.c.staff_id, SHIFT.c.starts_at, SHIFT.c.ends_at)
    .join(STAFF, STAFF.c.id == SHIFT.c.staff_id)
    .where(
        SHIFT.c.ward_id == _WARD,
        SHIFT.c.starts_at >= _FROM,
        SHIFT.c.starts_at < _UNTIL,
        SHIFT.c.ends_at <= _UNTIL,
        STAFF.c.role.in_(bindparam("roles", expanding=True)),
    )
)


def reminders_of_period(
    session: ReadSession, ward_id: str, from_at: datetime, until: datetime
) -> tuple[Told, ...]:
    """Every reminder of the units that were reminded of in the period, whenever it was raised."""
    return tuple(_told(row) for row in session.rows(_TOLD, _period(ward_id, from_at, until)))


def units_issued(
    session: ReadSession, ward_id: str, from_at: datetime, until: datetime
) -> frozenset[str]:
    """The units that were issued to a ward in `from_at` <= issued < `until`."""
    return frozenset(row[0] for row in session.rows(_ISSUED, _period(ward_id, from_at, until)))


def duties_within(
    session: ReadSession, ward_id: str, from_at: datetime, until: datetime, roles: Iterable[Role]
) -> tuple[Duty, ...]:
    """The shifts on a ward, of people of these roles, that lie wholly inside the period."""
    wanted = _period(ward_id, from_at, until) | {"roles": sorted(role.value for role in roles)}
    return tuple(Duty(*row) for row in session.rows(_DUTIES, wanted))


def _period(ward_id: str, from_at: datetime, until: datetime) -> dict[str, object]:
    return {"of_ward": ward_id, "from_at": from_at, "until": until}


def _told(row: AnyRow) -> Told:
    facts = row._asdict()
    facts["clock"] = ClockName(facts["clock"])
    facts["stage"] = Stage(facts["stage"])
    facts["state"] = facts["state"] and ClockState(facts["state"])
    return Told(**facts)
