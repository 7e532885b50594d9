"""Finds out what changed: told by the store for this process, looked up each second for others."""

import logging
from collections.abc import Callable, Iterable
from datetime import datetime
from queue import Empty, SimpleQueue
from threading import Event, Thread
from time import monotonic
from typing import Final, Protocol

from server.live.news import News, Pulse, Source

POLL_SECONDS: Final = 1.0
PATIENCE: Final = 3.5
"""A source that has not answered for so many polls is away, whatever becomes of the question."""
LOOKS: Final = 2
"""So many times in a poll it is looked whether one is overdue."""

_LOG: Final = logging.getLogger(__name__)


class Change(Protocol):
    """What the store says of a commit."""

    @property
    def ward_id(self) -> str:
        """The ward that changed."""

    @property
    def revision(self) -> int:
        """Its revision after the change."""


class Feed:
    """One thread that tells its followers what changed, ward by ward in order of revision.

    Followers are called in that thread, and for the pulse in another, which waits for nobody.
    What several commits changed may be told at once. `away` while the source cannot be read;
    `reached_at` is when it was read last, None: never.
    """

    def __init__(
        self, source: Source, *, now: Callable[[], datetime], poll_seconds: float = POLL_SECONDS
    ) -> None:
        self.pulse = Pulse({}, None)
        self.away = False
        self.reached_at: datetime | None = None
        self._now = now
        self._source = source
        self._poll_seconds = poll_seconds
        self._heard: SimpleQueue[tuple[str, int] | None] = SimpleQueue()
        self._told: dict[str, int] = {}
        self._of_news: list[Callable[[News], None]] = []
        self._of_pulse: list[Callable[[Pulse], None]] = []
        self._threads: tuple[Thread, ...] = ()
        self._busy_since: float | None = None
        self._over = Event()
        self._failing = False

    def follow(self, of_news: Callable[[News], None], of_pulse: Callable[[Pulse], None]) -> None:
        """Have `of_news` called with what changed, and `of_pulse` twice a second, come what may."""
        self._of_news.append(of_news)
        self._of_pulse.append(of_pulse)

    def hear(self, changes: Iterable[Change]) -> None:
        """Take note of a commit of this process; returns at once."""
        for change in changes:
            self._heard.put((change.ward_id, change.revision))

    def told(self, ward_id: str) -> int:
        """The revision of a ward up to which followers were told, 0 if of nothing."""
        return self._told.get(ward_id, 0)

    def news(self, ward_id: str, since: int) -> News:
        """What changed on a ward after `since`, read from the source now."""
        return self._source.news(ward_id, since)

    def start(self) -> None:
        """Begin, if it has not begun; what changed before is not told."""
        if self._threads:
            return
        self._safely(self._poll)
        self._over.clear()
        runs = (("feed", self._run), ("feed-beat", self._beat))
        self._threads = tuple(Thread(target=run, name=name, daemon=True) for name, run in runs)
        for thread in self._threads:
            thread.start()

    def stop(self) -> None:
        """End the threads; nothing is told after this returns."""
        if self._threads:
            self._heard.put(None)
            self._over.set()
        for thread in self._threads:
            thread.join()
        self._threads = ()

    def _run(self) -> None:
        poll_at = monotonic() + self._poll_seconds
        while True:
            try:
                heard = self._heard.get(timeout=max(0.0, poll_at - monotonic()))
            except Empty:
                self._safely(self._poll)
                poll_at = monotonic() + self._poll_seconds
                continue
            if heard is None:
                return
            self._safely(lambda heard=heard: self._catch_up(*heard))  # type: ignore[misc]

    def _beat(self) -> None:
        """Tell the pulse whatever the source does: silence would look like a lost line.

        What hangs may have been asked by the feed, or by a follower that reads what it is told.
        """
        while not self._over.wait(self._poll_seconds / LOOKS):
            since = self._busy_since
            if since is not None and monotonic() - since > PATIENCE * self._poll_seconds:
                self.away = True
            for follower in self._of_pulse:
                self._pulse(follower)

    def _pulse(self, follower: Callable[[Pulse], None]) -> None:
        try:
            follower(self.pulse)
        except Exception:  # noqa: BLE001 - one that fails silences neither the others nor the next
            _LOG.exception("a sign of life could not be told")

    def _poll(self) -> None:
        self._reach()
        for ward_id, revision in self.pulse.revisions.items():
            self._compare(ward_id, revision)

    def _reach(self) -> None:
        at = self._now()  # what is committed while it is read may not be in it
        try:
            self.pulse = self._source.pulse()
        except BaseException:
            self.away = True
            raise
        self.away, self.reached_at = False, at

    def _compare(self, ward_id: str, revision: int) -> None:
        if ward_id not in self._told:
            self._told[ward_id] = revision
        elif revision < self._told[ward_id]:
            # The database was put back to an older state: what was told is worth nothing.
            self._tell(News(ward_id, revision, whole=True))
        else:
            self._catch_up(ward_id, revision)

    def _catch_up(self, ward_id: str, revision: int) -> None:
        told = self.told(ward_id)
        if revision > told:
            self._tell(self._source.news(ward_id, told))

    def _tell(self, news: News) -> None:
        for follower in self._of_news:
            follower(news)
        # Last: a sign of life beside it must not say that what is on its way has been told.
        self._told[news.ward_id] = news.revision

    def _safely(self, act: Callable[[], None]) -> None:
        """Do it; a failure is logged once until something succeeds, and tried again in a second."""
        self._busy_since = monotonic()
        try:
            act()
        except Exception:  # noqa: BLE001 - logged, and tried again for as long as it takes
            if not self._failing:
                _LOG.exception("what changed could not be read; trying again each second")
            self._failing = True
        else:
            self._failing = False
        finally:
            self._busy_since = None
