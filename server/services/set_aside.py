"""Set a unit aside that cannot be worked out: boards name it, and the tick tries it again."""

from datetime import datetime, timedelta
from typing import Final

from server.services.errors import Damaged, Unreadable
from server.services.fault_words import fault_line
from server.store.due import set_fault
from server.store.sessions import WriteSession
from server.store.states import EpisodeState

RETRY_AFTER: Final = timedelta(seconds=30)
LONGEST: Final = 500


def set_aside(session: WriteSession, unit: EpisodeState, why: str, *, now: datetime) -> None:
    """Note why a unit could not be worked out; its derived rows stay as they were last.

    The first time its ward is marked as changed: boards say so from now on.
    """
    set_fault(session, unit.episode_id, fault=why[:LONGEST], retry_at=now + RETRY_AFTER)
    if unit.fault is None:
        session.touch(unit.ward_id, [unit.episode_id])


def why_not(fault: Exception) -> str:
    """Answer what stopped a unit from being worked out, in one line for whoever mends it.

    A type and a place: but for our own, a message can quote what was recorded of the patient.
    """
    first = fault.__cause__ if isinstance(fault, Unreadable) else fault
    return f"{first}" if isinstance(first, Damaged) else fault_line(first or fault)
