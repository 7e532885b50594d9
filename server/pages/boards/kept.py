"""The boards that an application keeps: asked from the event loop, drawn in a thread when stale."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from threading import Lock
from typing import Any, Final
from zoneinfo import ZoneInfo

from server.pages.boards.faces import Face
from server.pages.boards.last_known import LastKnown
from server.pages.boards.shells import shell_around
from server.pages.boards.ward_board import Rows, Wanted, WardBoard
from server.pages.page_head import PageHead
from server.pages.ward_setting import WardSetting, ward_setting
from server.services.actor import Actor
from server.services.live_board import LiveBoards
from server.store.sessions import Change
from server.store.wards import Ward

MOST: Final = 512
MOST_PAGES: Final = 64  # each as large as its board


@dataclass(frozen=True, slots=True)
class Kept:
    """Drawn rows, and the moment of the ward that they show."""

    moment: tuple[int, datetime]
    rows: Rows


@dataclass(frozen=True, slots=True)
class Ready:
    """A page for one reader; good as long as `stamp` and `rows` are the same."""

    stamp: object
    rows: Rows
    page: bytes


class KeptBoards:
    """Every board that was asked for, as long as the ward and the minute stay the same."""

    def __init__(self, store: Any, feed: Any) -> None:
        self._feed = feed
        self._store = store
        self._live = LiveBoards(store)
        self._heard: dict[str, int] = {}
        self._wards: dict[str, tuple[WardBoard, Lock]] = {}
        self._kept: dict[Wanted, Kept] = {}
        self._pages: dict[tuple[Wanted, str], Ready] = {}
        self._settings: dict[tuple[str, str], tuple[datetime, WardSetting]] = {}
        self._lock = Lock()
        self.last_known = LastKnown(feed, self._live, lambda ward_id: self._ward(ward_id)[0])
        store.on_commit(self.hear)

    def hear(self, changes: Iterable[Change]) -> None:
        """Take note of a commit of this process before its author looks at the board again."""
        listed = tuple(changes)
        self._live.hear(listed)
        for change in listed:
            self._heard[change.ward_id] = change.revision

    def fresh(self, wanted: Wanted, now: datetime) -> Rows | None:
        """The board if what is kept is what would be drawn; asks nothing but memory."""
        kept = self._kept.get(wanted)
        return kept.rows if kept and kept.moment == self.moment(wanted.ward_id, now) else None

    def draw(self, wanted: Wanted, now: datetime) -> Rows:
        """Draw the board; called in a thread. Raises `NotFound` for an unknown ward."""
        moment = self.moment(wanted.ward_id, now)
        board, lock = self._ward(wanted.ward_id)
        with lock:
            kept = self._kept.get(wanted)
            if kept is not None and kept.moment == moment:
                return kept.rows
            # Another process may have committed in this very second: look, whatever is known.
            self._live.hear((Change(wanted.ward_id, moment[0], frozenset()),))
            rows = board.rows(wanted.face, wanted.where, wanted.nurse_id, now)
        if len(self._kept) >= MOST:
            self._kept.clear()
        self._kept[wanted] = Kept(moment, rows)
        return rows

    def changes(
        self, ward_id: str, face: Face, now: datetime, episode_ids: frozenset[str] | None
    ) -> str:
        """Draw what open boards put in place; None: every row. Called in a thread."""
        board, lock = self._ward(ward_id)
        with lock:
            self._live.hear((Change(ward_id, self._feed.told(ward_id), frozenset()),))
            return board.changes(face, now, episode_ids)

    def fresh_page(self, wanted: Wanted, reader: str, stamp: object, rows: Rows) -> bytes | None:
        """The whole page for one reader, if what stands around the rows is still right."""
        ready = self._pages.get((wanted, reader))
        good = ready is not None and ready.rows is rows and ready.stamp == stamp
        return ready.page if ready is not None and good else None

    def page(self, wanted: Wanted, reader: str, stamp: object, rows: Rows, head: PageHead) -> bytes:
        """The whole page for one reader, drawn around rows; called in a thread."""
        _, lock = self._ward(wanted.ward_id)
        with lock:
            ready = self.fresh_page(wanted, reader, stamp, rows)
            if ready is not None:
                return ready
            before, after = shell_around(wanted.face, head, rows.view)
        if len(self._pages) >= MOST_PAGES:
            self._pages.clear()
        self._pages[wanted, reader] = Ready(stamp, rows, b"".join((before, *rows.pieces, after)))
        return self._pages[wanted, reader].page

    def setting(self, actor: Actor, ward_id: str, now: datetime) -> WardSetting:
        """The ward as the heads of pages name it, read once a minute; called in a thread."""
        minute, key = now.replace(second=0), (actor.id, ward_id)
        kept = self._settings.get(key)
        if kept is None or kept[0] != minute:
            with self._store.read() as session:
                kept = minute, ward_setting(session, actor, now, ward_id)
            if len(self._settings) >= MOST:
                self._settings.clear()
            self._settings[key] = kept
        return kept[1]

    def last_setting(self, actor: Actor, ward: Ward) -> WardSetting:
        """The ward as the heads of pages name it, by what is known without asking."""
        kept = self._settings.get((actor.id, ward.id))
        plain = WardSetting(ward, None, ZoneInfo(ward.timezone), several=False)
        return plain if kept is None else kept[1]

    def moment(self, ward_id: str, now: datetime) -> tuple[int, datetime]:
        """The revision of a ward and the minute: while both stay, so does what is drawn of it."""
        revision = max(self._feed.told(ward_id), self._heard.get(ward_id, 0))
        return revision, now.replace(second=0)

    def _ward(self, ward_id: str) -> tuple[WardBoard, Lock]:
        with self._lock:
            if ward_id not in self._wards:
                self._wards[ward_id] = WardBoard(ward_id, self._live, self._store), Lock()
            return self._wards[ward_id]


def kept_boards(app: Any) -> KeptBoards:
    """The boards of an application."""
    known: KeptBoards | None = getattr(app.state, "kept_boards", None)
    if known is None:
        known = app.state.kept_boards = KeptBoards(app.state.store, app.state.feed)
    return known
