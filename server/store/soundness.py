"""Questions whether what is stored is whole: each costs as little as its index allows."""

from datetime import datetime
from typing import Final

from sqlalchemy import and_, bindparam, column, exists, func, or_, select, table

from server.domain.delivery import DeliveryState
from server.domain.issued_units import IssuedUnit
from server.domain.words import ClockState, Phase
from server.store.deliveries import TAKES
from server.store.sessions import ReadSession
from server.store.statements import columns_for
from server.store.tables import (
    BADGE,
    CLOCK_STATE,
    DELIVERY,
    EPISODE_STATE,
    EVENT,
    ISSUED_UNIT,
    PIN,
    REMINDER,
    WARD,
    WEBHOOK,
)
from server.store.vitals import Queue

_STATE: Final = EPISODE_STATE.c
_CLOCKED: Final = [one.value for one in (Phase.ISSUED, Phase.RUNNING, Phase.PAUSED)]
_LIVE: Final = and_(
    # By way of the wards, as boards find them.
    _STATE.ward_id.in_(select(WARD.c.id)),
    or_(
        _STATE.open_until.is_(None),
        _STATE.open_until > bindparam("now", type_=_STATE.open_until.type),
    ),
)
_LIVE_AFTER: Final = (
    select(_STATE.episode_id)
    .where(_LIVE, _STATE.episode_id > bindparam("last"))
    .order_by(_STATE.episode_id)
    .limit(bindparam("at_most"))
)
_LIVE_COUNT: Final = select(func.count()).select_from(EPISODE_STATE).where(_LIVE)
_CHANGING: Final = [one.value for one in (ClockState.PENDING, ClockState.OPEN, ClockState.DUE)]
_ITS_CLOCKS: Final = CLOCK_STATE.c.episode_id == _STATE.episode_id
_WITHOUT_CLOCKS: Final = (
    select(_STATE.episode_id)
    .where(
        _LIVE,
        _STATE.phase.in_(_CLOCKED),
        or_(
            ~exists().where(_ITS_CLOCKS),
            and_(
                _STATE.next_change_at.is_(None),
                exists().where(_ITS_CLOCKS, CLOCK_STATE.c.state.in_(_CHANGING)),
            ),
        ),
    )
    .order_by(_STATE.episode_id)
)
_BESIDE_LIVE: Final = select(*columns_for(ISSUED_UNIT, IssuedUnit)).where(
    ISSUED_UNIT.c.number.in_(
        select(ISSUED_UNIT.c.number)
        .join(EPISODE_STATE, ISSUED_UNIT.c.episode_id == _STATE.episode_id)
        .where(_LIVE)
    )
)
_PLACES: Final = select(func.count()).where(
    EVENT.c.position > bindparam("after"), EVENT.c.position <= bindparam("until")
)
_LAST_PLACE: Final = select(func.coalesce(func.max(EVENT.c.position), 0))
_REVISIONS: Final = select(WARD.c.id, WARD.c.revision)
_SENDING_COUNT: Final = select(func.count()).select_from(WEBHOOK).where(TAKES)
_NOW: Final = bindparam("now", type_=DELIVERY.c.next_at.type)
_STUCK: Final = (
    select(func.count(), func.min(DELIVERY.c.next_at))
    .join(WEBHOOK, WEBHOOK.c.id == DELIVERY.c.webhook_id)
    .where(
        DELIVERY.c.state == DeliveryState.WAITING.value,
        DELIVERY.c.next_at <= _NOW,
        TAKES,
        or_(WEBHOOK.c.not_before.is_(None), WEBHOOK.c.not_before <= _NOW),
    )
)
_SCHEMA: Final = table("alembic_version", column("version_num"))


def live_units_after(
    session: ReadSession, last_id: str, now: datetime, *, limit: int
) -> tuple[str, ...]:
    """The next units on a board in the order of ids."""
    rows = session.rows(_LIVE_AFTER, {"now": now, "last": last_id, "at_most": limit})
    return tuple(row[0] for row in rows)


def count_live(session: ReadSession, now: datetime) -> int:
    """How many units are on a board."""
    return int(session.value(_LIVE_COUNT, {"now": now}))


def count_units(session: ReadSession) -> int:
    """How many units there ever were."""
    return int(session.value(select(func.count()).select_from(EPISODE_STATE)))


def units_without_clocks(session: ReadSession, now: datetime) -> tuple[str, ...]:
    """The units that were issued and are not over, and that no tick would ever look at."""
    return tuple(row[0] for row in session.rows(_WITHOUT_CLOCKS, {"now": now}))


def bags_beside_live(session: ReadSession, now: datetime) -> tuple[IssuedUnit, ...]:
    """The bags of units on boards, and all others of the same numbers."""
    return tuple(IssuedUnit(*row) for row in session.rows(_BESIDE_LIVE, {"now": now}))


def last_place(session: ReadSession) -> int:
    """The place of the newest fact in the log, 0 for an empty one."""
    return int(session.value(_LAST_PLACE))


def count_places(session: ReadSession, after: int, until: int) -> int:
    """How many facts have a place above `after` and up to `until`."""
    return int(session.value(_PLACES, {"after": after, "until": until}))


def ward_revisions(session: ReadSession) -> dict[str, int]:
    """The revision of each ward."""
    return {row[0]: row[1] for row in session.rows(_REVISIONS)}


def newest_stamps(session: ReadSession) -> dict[str, int]:
    """The newest revision that a unit or a reminder of each ward bears."""
    found: dict[str, int] = {}
    for stamped in (EPISODE_STATE.c, REMINDER.c):
        newest = (
            select(func.max(stamped.change_revision))
            .where(stamped.ward_id == WARD.c.id)
            .scalar_subquery()
        )
        for ward_id, revision in session.rows(select(WARD.c.id, newest)):
            found[ward_id] = max(found.get(ward_id, 0), revision or 0)
    return found


def webhooks_on(session: ReadSession) -> int:
    """How many webhooks are sent to."""
    return int(session.value(_SENDING_COUNT))


def is_key_needed(session: ReadSession) -> bool:
    """Whether anything is stored that only the board's key opens."""
    kept = (select(table.c[next(iter(table.c.keys()))]).limit(1) for table in (BADGE, PIN, WEBHOOK))
    return any(session.row(one) is not None for one in kept)


def messages_stuck(session: ReadSession, now: datetime) -> Queue:
    """The messages to webhooks that are on whose time to be tried has come."""
    return Queue(*session.rows(_STUCK, {"now": now})[0])


def schema_version(session: ReadSession) -> str | None:
    """The version of the schema that the database has."""
    version: str | None = session.value(select(_SCHEMA.c.version_num))
    return version
