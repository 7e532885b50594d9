"""How the board itself does: what waits to be looked at, to be sent, and what could not be."""

from dataclasses import dataclass
from datetime import datetime
from typing import Final

from sqlalchemy import bindparam, func, select

from server.domain.delivery import DeliveryState
from server.store.sessions import ReadSession
from server.store.tables import DELIVERY, EPISODE_STATE, REMINDER, WARD

_STATE: Final = EPISODE_STATE.c
_DUE: Final = select(func.count(), func.min(_STATE.next_change_at)).where(
    _STATE.next_change_at <= bindparam("now", type_=_STATE.next_change_at.type)
)
_SET_ASIDE: Final = select(func.count()).where(
    _STATE.next_change_at.is_not(None), _STATE.fault.is_not(None)
)
# By way of the wards: reminders are found by ward and time, and there may be years of them.
_RAISED: Final = select(REMINDER.c.owed_at, REMINDER.c.raised_at).where(
    REMINDER.c.ward_id.in_(select(WARD.c.id)),
    REMINDER.c.raised_at >= bindparam("since", type_=REMINDER.c.raised_at.type),
    REMINDER.c.raised_at >= REMINDER.c.owed_at,  # others came too early, and come again
)
_WAITING: Final = select(func.count(), func.min(DELIVERY.c.made_at)).where(
    DELIVERY.c.state == DeliveryState.WAITING.value
)


@dataclass(frozen=True, slots=True)
class Queue:
    """How many wait, and since when the one does that has waited longest; None: none does."""

    count: int
    since: datetime | None


def units_due(session: ReadSession, now: datetime) -> Queue:
    """The units whose next change has come by `now`, and that no tick has looked at."""
    return Queue(*session.rows(_DUE, {"now": now})[0])


def messages_waiting(session: ReadSession) -> Queue:
    """The messages to webhooks that have not arrived yet."""
    return Queue(*session.rows(_WAITING)[0])


def units_set_aside(session: ReadSession) -> int:
    """How many live units could not be worked out when they were last looked at."""
    return int(session.value(_SET_ASIDE))


def delays_since(session: ReadSession, since: datetime) -> tuple[float, ...]:
    """By how many seconds each reminder raised since an instant came after it was owed."""
    rows = session.rows(_RAISED, {"since": since})
    return tuple((raised - owed).total_seconds() for owed, raised in rows)
