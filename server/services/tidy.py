"""Tidy up: forget what is kept for a while only. No fact is ever among it."""

from datetime import datetime, timedelta
from typing import Final

from server.store.idempotency import forget_answers
from server.store.sessions import WriteSession
from server.store.sign_ins import forget_expired_sessions

ANSWERS_KEPT: Final = timedelta(days=7)


def tidy(session: WriteSession, *, now: datetime) -> int:
    """Delete old answers to keyed requests and sessions that are over; how many answers went."""
    forget_expired_sessions(session, now)
    return forget_answers(session, now - ANSWERS_KEPT)
