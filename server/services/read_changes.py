"""What changed on a ward since a revision: for those that follow it, and those that resume."""

from typing import Final

from server.live.news import News, Pulse
from server.services.tick import HEARTBEAT
from server.store.board import changed_since
from server.store.heartbeat import last_beat
from server.store.reminders import reminders_changed_since
from server.store.store import Store
from server.store.wards import list_wards, ward_revision

FAR: Final = 1_000  # revisions or episodes: beyond it, reading the board anew costs less


class Changes:
    """A `Source` of news that reads the database; both calls raise `Away` when it is."""

    def __init__(self, store: Store) -> None:
        self._store = store

    def pulse(self) -> Pulse:
        """The revisions of all wards and the last successful tick."""
        with self._store.read() as session:
            beat = last_beat(session, HEARTBEAT)
            revisions = {ward.id: ward.revision for ward in list_wards(session)}
        return Pulse(revisions, None if beat is None else beat.at)

    def news(self, ward_id: str, since: int) -> News:
        """What changed after `since`; `whole` where that lies far back or was never reached."""
        with self._store.read() as session:
            revision = ward_revision(session, ward_id) or 0
            if revision == since:
                return News(ward_id, revision)
            if not 0 < revision - since <= FAR:
                return News(ward_id, revision, whole=True)
            stamps = changed_since(session, ward_id, since)
            if len(stamps) > FAR:
                return News(ward_id, revision, whole=True)
            reminders = reminders_changed_since(session, ward_id, since)
        return News(ward_id, revision, tuple(stamp.episode_id for stamp in stamps), reminders)
