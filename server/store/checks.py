"""What the tick does each second even when nothing is owed: one question and one note."""

from datetime import datetime
from typing import Final

from server.store.sessions import ReadSession, WriteSession

# The comparison implies the condition of the partial index: what never changes again costs nothing.
IS_DUE: Final = "SELECT 1 FROM episode_state WHERE next_change_at <= ? LIMIT 1"
_CHECKED: Final = "UPDATE ward SET checked_at = ?"
_BEAT: Final = (
    "INSERT INTO heartbeat (name, at) VALUES (?, ?) "
    "ON CONFLICT (name) DO UPDATE SET at = excluded.at, detail = NULL"
)


def is_anything_due(session: ReadSession, now: datetime) -> bool:
    """Whether the next change of any episode has come by `now`."""
    return bool(session.plain(IS_DUE, now))


def note_check(session: WriteSession, job: str, at: datetime) -> None:
    """Note that all clocks of all wards were checked at `at`, and that the job did its work."""
    session.plain(_CHECKED, at)
    session.plain(_BEAT, job, at)
