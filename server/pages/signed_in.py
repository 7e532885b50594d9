"""Who is signed in, kept in memory: for a few seconds always, longer while nobody can be asked."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from threading import Lock
from time import monotonic
from typing import Any, Final

from server.services.lock_session import is_worth_noting, lock, note_act
from server.services.sign_in import (
    NOTED_EVERY,
    Holder,
    closed_among,
    holder_of_session,
    holders_of_sessions,
)
from server.store.errors import Away

KEPT_SECONDS: Final = 3.0
MOST_KEPT: Final = 4_096
SEEN_WITHIN: Final = timedelta(minutes=1)
"""Who was looked up no longer than this before the database went away is still known."""
SEEN_FOR: Final = timedelta(minutes=15)
SEEN_AGAIN: Final = timedelta(seconds=4)
WATCHED_FOR: Final = timedelta(seconds=6)
"""A stream takes what was seen so lately: thousands that each ask would be most of the work."""


@dataclass(frozen=True, slots=True)
class Seen:
    """An unlocked session as it was looked up at `verified_at`, and last asked for at `used_at`.

    `acted_at` is an act that could not be written, None: there is none.
    """

    holder: Holder
    verified_at: datetime
    used_at: datetime
    acted_at: datetime | None = None


class SignedIn:
    """Who is signed in, remembered for a few seconds, so that a board costs no query.

    What was seen of a session is kept longer, for the time in which nobody can be looked up. What
    was read before somebody was forgotten is not kept after it.
    """

    def __init__(self) -> None:
        self._kept: dict[str, tuple[float, Holder]] = {}
        self._seen: dict[str, Seen] = {}
        self._to_lock: set[str] = set()
        self._forgotten = 0
        self._lock = Lock()

    def remembered(self, secret: str, now: datetime) -> Holder | None:
        """The unlocked session of a cookie that was looked up a moment ago."""
        kept = self._kept.get(secret)
        if kept is None or kept[0] <= monotonic():
            return None
        return _if_open(kept[1], now)

    def watching(self, secret: str, now: datetime) -> Holder | None:
        """The unlocked session of an open stream, if it was looked up lately; asks nobody."""
        seen = self._seen.get(secret)
        if seen is None or _age(seen, now) > WATCHED_FOR:
            return None
        if now - seen.used_at >= SEEN_WITHIN:
            self._renew(secret, seen, replace(seen, used_at=now))
        return _if_open(seen.holder, now)

    def look_up(self, app: Any, secret: str, now: datetime) -> Holder | None:
        """The session of a cookie, asked of the database; one that was left too long is locked."""
        self._lock_if_owed(app, secret, now)
        forgotten = self._forgotten
        holder = _read(app, secret, now)
        if holder is not None and self._acted_since(secret, holder):
            holder = self._write_act(app, secret, now)
        if holder is not None and not holder.locked:
            self._keep(secret, holder, now, forgotten)
            return holder
        self.forget(secret)
        if holder is not None and holder.session.locked_at is None:
            with app.state.store.write() as session:
                lock(session, secret, now=now)
        return holder

    def last_known(self, app: Any, secret: str, now: datetime) -> Holder | None:
        """The session of a cookie while the database is away, by what was seen of it before.

        None unless it was looked up shortly before and found open, and would be open still.
        """
        seen = self._seen.get(secret)
        away_since = app.state.feed.reached_at or now
        if seen is None or seen.verified_at < away_since - SEEN_WITHIN:
            return None
        return _if_open(seen.holder, now)

    def find_or_last_known(self, app: Any, secret: str, now: datetime) -> Holder | None:
        """The session of a cookie, also while the database is away. Raises `Away`: not known."""
        try:
            # A database that is known to be away is not asked: that may take seconds.
            if not app.state.feed.away:
                return self.find(app, secret, now)
            away = Away("it was when it was last asked")
        except Away as refusal:
            away = refusal
        holder = self.remembered(secret, now) or self.last_known(app, secret, now)
        if holder is None:
            raise away
        return holder

    def find(self, app: Any, secret: str, now: datetime) -> Holder | None:
        """The session of a cookie, locked or not; None if it is over."""
        return self.remembered(secret, now) or self.look_up(app, secret, now)

    def act(self, app: Any, secret: str, holder: Holder, now: datetime) -> None:
        """Take note that somebody did something: it keeps their screen from locking."""
        if not is_worth_noting(holder, now=now):
            return
        with app.state.store.write() as session:
            note_act(session, secret, now=now)
        self.look_up(app, secret, now)

    def act_unwritten(self, app: Any, secret: str, holder: Holder, now: datetime) -> None:
        """Take note of an act while the database is away: it keeps the screen from locking here."""
        lock_after, seen = app.state.settings.lock_after, self._seen.get(secret)
        if seen is not None and lock_after:
            acted = replace(holder, locks_at=now + lock_after + NOTED_EVERY)
            self._renew(secret, seen, replace(seen, holder=acted, acted_at=now))

    def see_again(self, app: Any, now: datetime) -> None:
        """Forget whose session was locked or ended elsewhere; look up again who was here lately.

        Called twice a second; each person is looked up every few. Raises `Away`.
        """
        for secret in tuple(self._to_lock):
            self._lock_if_owed(app, secret, now)
        self._drop_unused(now)
        self._drop_closed(app)
        seen = [*self._seen.items()]
        due = {secret: one for secret, one in seen if _age(one, now) >= SEEN_AGAIN}
        found = _read_all(app, due, now) if due else {}
        for secret, one in due.items():
            self._verify(app, secret, one, found.get(secret), now)

    def _drop_unused(self, now: datetime) -> None:
        for secret, seen in tuple(self._seen.items()):
            if now - seen.used_at > SEEN_FOR:
                self._seen.pop(secret, None)
                self._kept.pop(secret, None)

    def _drop_closed(self, app: Any) -> None:
        secrets = tuple(self._seen)  # first: what is opened meanwhile is not among what was read
        if not secrets:
            return
        with app.state.store.read() as session:
            closed = closed_among(session, secrets)
        for secret in closed:
            self.forget(secret)

    def close(self, secret: str) -> None:
        """Show a session nothing more from memory, and lock it once the database is there.

        Said before a session is locked or ended; `forget`, said afterwards, takes back what was
        done by then.
        """
        is_known = secret in self._seen
        self.forget(secret)
        if is_known and len(self._to_lock) < MOST_KEPT:
            self._to_lock.add(secret)

    def forget(self, secret: str) -> None:
        """Forget a session that has ended or is locked."""
        with self._lock:
            self._forgotten += 1
            self._kept.pop(secret, None)
            self._seen.pop(secret, None)
            self._to_lock.discard(secret)

    def forget_all(self) -> None:
        """Forget everybody: somebody's role or wards have changed."""
        with self._lock:
            self._forgotten += 1
            self._kept.clear()
            self._seen.clear()

    def _lock_if_owed(self, app: Any, secret: str, now: datetime) -> None:
        if secret in self._to_lock:
            with app.state.store.write() as session:
                lock(session, secret, now=now)
            self._to_lock.discard(secret)

    def _acted_since(self, secret: str, holder: Holder) -> bool:
        """Whether an act is still to be written, of a session that nobody locked by hand."""
        seen = self._seen.get(secret)
        acted_at = None if seen is None else seen.acted_at
        is_newer = acted_at is not None and acted_at > holder.session.seen_at
        return is_newer and holder.session.locked_at is None

    def _write_act(self, app: Any, secret: str, now: datetime) -> Holder | None:
        """Write the act that could not be written before, and read the session again."""
        acted_at = self._seen[secret].acted_at or now
        with app.state.store.write() as session:
            note_act(session, secret, now=acted_at)
        return _read(app, secret, now)

    def _verify(
        self, app: Any, secret: str, seen: Seen, holder: Holder | None, now: datetime
    ) -> None:
        if holder is not None and self._acted_since(secret, holder):
            holder = self._write_act(app, secret, now)
        if holder is None or holder.locked:
            self.forget(secret)
        else:
            self._renew(secret, seen, Seen(holder, now, seen.used_at))

    def _renew(self, secret: str, seen: Seen, by: Seen) -> None:
        """Put `by` in the place of what was seen, unless that is another by now, or forgotten."""
        with self._lock:
            if self._seen.get(secret) is seen:
                self._seen[secret] = by

    def _keep(self, secret: str, holder: Holder, now: datetime, forgotten: int) -> None:
        """Keep a session that was read when so many had been forgotten."""
        with self._lock:
            if self._forgotten != forgotten:
                return
            for kept in (self._kept, self._seen):
                if len(kept) >= MOST_KEPT:
                    kept.clear()
            self._kept[secret] = (monotonic() + KEPT_SECONDS, holder)
            self._seen[secret] = Seen(holder, now, now)


def _if_open(holder: Holder, now: datetime) -> Holder | None:
    """Answer the session unless it is over by now, or left for too long."""
    ends = (holder.session.expires_at, holder.locks_at)
    return None if any(end is not None and now >= end for end in ends) else holder


def _age(seen: Seen, now: datetime) -> timedelta:
    """How long ago it was verified; for ever if the clock was put back since."""
    age = now - seen.verified_at
    return age if age >= timedelta(0) else timedelta.max


def _read(app: Any, secret: str, now: datetime) -> Holder | None:
    lock_after = app.state.settings.lock_after
    with app.state.store.read() as session:
        return holder_of_session(session, secret, now=now, lock_after=lock_after)


def _read_all(app: Any, secrets: Iterable[str], now: datetime) -> dict[str, Holder]:
    lock_after = app.state.settings.lock_after
    with app.state.store.read() as session:
        return holders_of_sessions(session, secrets, now=now, lock_after=lock_after)
