"""When the last backup was made, and how often one is: noted in the database it is a backup of."""

import json
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from server.store.heartbeat import Beat, keep_beat, last_beat
from server.store.sessions import ReadSession
from server.store.store import Store

BEAT: Final = "backup"


@dataclass(frozen=True, slots=True)
class Backup:
    """A backup that was made at `at` into a file of that name; `every`: and so often since."""

    at: datetime
    file: str
    every: timedelta | None = None


def note_backup(store: Store, backup: Backup) -> None:
    """Note that a backup was made. Raises `Away`."""
    seconds = None if backup.every is None else backup.every.total_seconds()
    with store.write() as session:
        keep_beat(session, Beat(BEAT, backup.at, json.dumps([backup.file, seconds])))


def last_backup(session: ReadSession) -> Backup | None:
    """The last backup that was made of this database, None if none ever was."""
    beat = last_beat(session, BEAT)
    if beat is None or beat.detail is None:
        return None
    file, seconds = json.loads(beat.detail)
    return Backup(beat.at, file, None if seconds is None else timedelta(seconds=seconds))
