"""Judge whether time is kept: ticks, what is owed, what is sent, sheets and backups."""

from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Final

from server.domain.invariants.finding import Finding, Patience, ago, broken, holds, idle, of_each
from server.domain.invariants.words import Invariant

UNCHECKED: Final = 3
UNLOOKED: Final = 6
UNSENT: Final = 30
LATE_BACKUP: Final = 2
MOMENT: Final = timedelta(minutes=30)
"""So long a backup itself may take."""


def clocks_checked(
    beat_at: datetime | None, now: datetime, patience: Patience, *, is_served: bool
) -> Finding:
    """Of the last tick that succeeded; `is_served`: a process of the board runs."""
    told = Invariant.CLOCKS_CHECKED
    if beat_at is None:
        words = "no tick has ever succeeded on this database"
        return broken(told, words) if is_served else idle(told, f"{words}; nobody serves it")
    if now - beat_at > patience.times(UNCHECKED):
        return broken(told, f"the last tick succeeded {ago(beat_at, now)} ago")
    return holds(told, f"the last tick succeeded {ago(beat_at, now)} ago")


def units_looked_at(
    count: int, since: datetime | None, now: datetime, patience: Patience
) -> Finding:
    """Of the units whose next change has come, `since` for the one that waits longest."""
    told = Invariant.UNITS_LOOKED_AT
    if since is None or now - since <= patience.times(UNLOOKED):
        return holds(told, "none waits for longer than a moment")
    waits = "1 unit waits" if count == 1 else f"{count} units wait"
    return broken(told, f"{waits} for a tick, the first for {ago(since, now)}", count)


def reminders_raised(subjects: Sequence[str]) -> Finding:
    """Of the units of which a reminder is owed that does not exist."""
    return of_each(
        Invariant.REMINDERS_RAISED,
        subjects,
        "none is missing",
        "unit lacks a reminder",
        "units lack reminders",
    )


def messages_sent(
    webhooks_on: int, stuck: int, since: datetime | None, now: datetime, patience: Patience
) -> Finding:
    """Of the messages to webhooks that are on and should have been tried a while ago."""
    told = Invariant.MESSAGES_SENT
    if since is not None and now - since > patience.times(UNSENT):
        waits = "1 message should" if stuck == 1 else f"{stuck} messages should"
        return broken(told, f"{waits} have been tried, the first {ago(since, now)} ago", stuck)
    return holds(told, "none waits for its try") if webhooks_on else idle(told, "no webhook is on")


def sheets_fresh(written_at: datetime | None, now: datetime, old_after: timedelta) -> Finding:
    """Of the last time that the sheets of all wards were written."""
    told = Invariant.SHEETS_FRESH
    if written_at is None:
        return idle(told, "no process writes paper sheets into a folder")
    words = f"all were written {ago(written_at, now)} ago"
    return broken(told, words) if now - written_at > old_after else holds(told, words)


def backup_fresh(made_at: datetime | None, every: timedelta | None, now: datetime) -> Finding:
    """Of the last backup, and how often one is made; None: nobody said so."""
    told = Invariant.BACKUP_FRESH
    if made_at is None:
        return idle(told, "“fourth-hour backup” has never been run on this database")
    words = f"the last one was made {ago(made_at, now)} ago"
    if every is None:
        return idle(told, f"{words}; none is made every so often")
    return (
        broken(told, words) if now - made_at > LATE_BACKUP * every + MOMENT else holds(told, words)
    )
