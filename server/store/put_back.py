"""What a clock that ran ahead had stamped, set right once it was put back.

A reminder whose stamp lies before the instant at which it is owed was raised too early: no clock
that is right makes one.
"""

from datetime import datetime
from typing import Final

from server.store.sessions import WriteSession

# By way of the wards: reminders are found by ward and time, and there may be years of them.
_RAISED_AHEAD: Final = (
    "UPDATE reminder SET raised_at = ? WHERE ward_id IN (SELECT id FROM ward) AND raised_at > ?"
)
_FORGET_EARLY: Final = (
    "DELETE FROM delivery WHERE state = 'waiting' AND reminder_id IN "
    "(SELECT id FROM reminder WHERE ward_id IN (SELECT id FROM ward) "
    "AND raised_at = ? AND owed_at > ?)"
)
_SEND_NOW: Final = "UPDATE delivery SET next_at = ? WHERE state = 'waiting' AND next_at > ?"
_FREE: Final = "UPDATE webhook SET leased_until = NULL, leased_by = NULL WHERE leased_until > ?"
_ASK_AGAIN: Final = "UPDATE webhook SET not_before = NULL WHERE not_before > ?"


def set_right(session: WriteSession, now: datetime) -> None:
    """Stamp what was raised ahead of `now` with it, and have messages sent from now on.

    What of it is not owed yet is thereby known to have come too early; its messages are not sent.
    """
    session.plain(_RAISED_AHEAD, now, now)
    session.plain(_FORGET_EARLY, now, now)
    session.plain(_SEND_NOW, now, now)
    session.plain(_FREE, now)
    session.plain(_ASK_AGAIN, now)
