"""What the tick does each second even when nothing is owed: one question and one note."""

from datetime import datetime
from typing import Final

from server.store.sessions import ReadSession, WriteSession

# The comparison implies the condition of the partial index: what never changes again costs nothing.
IS_DUE: Final = "SELECT 1 FROM episode_state WHERE next_change_at <= ? LIMIT 1"
_WAS_AHEAD: Final = "SELECT 1 FROM heartbeat WHERE name = ? AND at > ?"
# What was off the board before it went back was looked at for the last time by a right clock.
_LOOK_AGAIN: Final = (
    "UPDATE episode_state SET next_change_at = ? WHERE open_until IS NULL OR open_until > ?"
)
_CHECKED: Final = "UPDATE ward SET checked_at = ?"
_BEAT: Final = (
    "INSERT INTO heartbeat (name, at) VALUES (?, ?) "
    "ON CONFLICT (name) DO UPDATE SET at = excluded.at, detail = NULL"
)


def is_anything_due(session: ReadSession, now: datetime) -> bool:
    """Whether the next change of any episode has come by `now`."""
    return bool(session.plain(IS_DUE, now))


def was_ahead(session: ReadSession, job: str, at: datetime) -> bool:
    """Whether a job noted its work later than `at`: the clock was put back since."""
    return bool(session.plain(_WAS_AHEAD, job, at))


def look_again(session: WriteSession, now: datetime) -> None:
    """Have every episode that can still change looked at by the tick at `now`."""
    session.plain(_LOOK_AGAIN, now, now)


def note_check(session: WriteSession, job: str, at: datetime) -> None:
    """Note that all clocks of all wards were checked at `at`, and that the job did its work."""
    session.plain(_CHECKED, at)
    session.plain(_BEAT, job, at)
