"""Tidy up: forget what is kept for a while only. No fact is ever among it."""

from datetime import datetime, timedelta
from typing import Final

from server.domain.tries import FORGOTTEN_AFTER
from server.services.half_sign_in import HALF_LASTS
from server.services.keep_unsent import KEPT_FOR
from server.services.second_factor import BEGUN_LASTS
from server.services.sso_begun import LASTS
from server.store.deliveries import forget_deliveries
from server.store.half_sign_ins import forget_halves
from server.store.idempotency import forget_answers
from server.store.plans import forget_unaccepted
from server.store.second_factors import forget_begun_factors
from server.store.sessions import WriteSession
from server.store.sign_ins import forget_expired_sessions
from server.store.sso import forget_begun
from server.store.tries import forget_devices, forget_tries_before
from server.store.unsent import forget_unsent

ANSWERS_KEPT: Final = timedelta(days=7)
PROPOSALS_KEPT: Final = timedelta(days=7)
DELIVERIES_KEPT: Final = timedelta(days=30)
DEVICES_KNOWN: Final = timedelta(days=90)
"""An account is known on a device until nobody has signed in to it there for so long."""


def tidy(session: WriteSession, *, now: datetime) -> int:
    """Delete what has served its time, and answer how many answers to keyed requests went.

    Those answers, sessions, tries, begun sign-ins, devices, unsent forms, messages, and plans never
    in force.
    """
    forget_expired_sessions(session, now)
    forget_halves(session, now - HALF_LASTS)
    forget_begun_factors(session, now - BEGUN_LASTS)
    forget_tries_before(session, now - FORGOTTEN_AFTER)
    forget_begun(session, now - LASTS)
    forget_devices(session, now - DEVICES_KNOWN)
    forget_unsent(session, now - KEPT_FOR)
    forget_unaccepted(session, now - PROPOSALS_KEPT)
    forget_deliveries(session, now - DELIVERIES_KEPT)
    return forget_answers(session, now - ANSWERS_KEPT)
