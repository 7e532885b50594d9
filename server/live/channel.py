"""What is said of one ward in one form: encoded once, shared by everybody who listens."""

from asyncio import AbstractEventLoop, Future, Task, current_task
from collections import deque
from dataclasses import dataclass
from time import monotonic
from typing import Final, Protocol

from server.live.news import News, Tick

KEPT: Final = 64  # messages; who falls further behind is told at once what changed meanwhile
STALLED_SECONDS: Final = 20.0


class Encoder(Protocol):
    """Turns news into the bytes of server-sent events. Called outside the event loop; may read."""

    def news(self, news: News) -> bytes:
        """What changed; the last event carries the revision as its id."""

    def tick(self, tick: Tick) -> bytes:
        """The sign of life."""


@dataclass(frozen=True, slots=True)
class Message:
    """Bytes to send; `revision` is None for a sign of life."""

    data: bytes
    revision: int | None


class Listener:
    """One open stream: how far it is. Lives on the event loop, in the task that made it."""

    __slots__ = ("_task", "barred", "gone", "place", "revision", "sending_since", "wake")

    def __init__(self, place: int, revision: int) -> None:
        self.place = place
        self.revision = revision
        self.gone = False
        self.barred = False
        self.sending_since: float | None = None
        self.wake: Future[None] | None = None
        self._task: Task[object] | None = current_task()

    def rouse(self) -> None:
        """Let it look for what is new."""
        if self.wake is not None and not self.wake.done():
            self.wake.set_result(None)

    def leave(self) -> None:
        """Its client is gone."""
        self.gone = True
        self.rouse()

    def bar(self) -> None:
        """Its client may no longer listen."""
        self.barred = True
        self.rouse()

    def drop_if_stalled(self, now: float) -> None:
        """End a stream whose client has read nothing for long; it may come back and resume."""
        since = self.sending_since
        if since is not None and now - since > STALLED_SECONDS and self._task is not None:
            self._task.cancel()


class Channel:
    """The last messages of one ward in one form, and who listens. Lives on the event loop."""

    def __init__(self, ward_id: str, encoder: Encoder, loop: AbstractEventLoop) -> None:
        self.ward_id: Final = ward_id
        self.encoder: Final = encoder
        self.listeners: set[Listener] = set()
        self.closed = False
        self._loop = loop
        self._kept: deque[Message] = deque(maxlen=KEPT)
        self._end = 0

    def join(self, revision: int) -> Listener:
        """Listen from now on, having seen `revision`."""
        listener = Listener(self._end, revision)
        self.listeners.add(listener)
        return listener

    def append(self, message: Message) -> None:
        """Say something to all who listen."""
        self._kept.append(message)
        self._end += 1
        self._rouse_all()

    def lose(self) -> None:
        """Make every listener read anew what changed: something could not be said."""
        self._kept.clear()
        self._end += 1
        self._rouse_all()

    def drop_stalled(self) -> None:
        """End the streams of clients that have stopped reading."""
        now = monotonic()
        for listener in tuple(self.listeners):
            listener.drop_if_stalled(now)

    def _rouse_all(self) -> None:
        for listener in self.listeners:
            listener.rouse()

    def close(self) -> None:
        """End every stream once it has sent what was said so far."""
        self.closed = True
        self._rouse_all()

    def has_lost(self, listener: Listener) -> bool:
        """Whether messages it had not seen are no longer kept."""
        return listener.place < self._end - len(self._kept)

    def skip(self, listener: Listener) -> None:
        """Pass over what is kept."""
        listener.place = self._end

    def unseen(self, listener: Listener) -> bytes:
        """What it has not seen, as one piece of bytes; empty if there is nothing."""
        fresh = [self._kept[at - self._end] for at in range(listener.place, self._end)]
        listener.place = self._end
        wanted = [item for item in fresh if not _is_old(item, listener.revision)]
        listener.revision = max([listener.revision, *(item.revision or 0 for item in wanted)])
        return wanted[0].data if len(wanted) == 1 else b"".join(item.data for item in wanted)

    async def wait(self, listener: Listener) -> None:
        """Until there is something to do for it."""
        if listener.place < self._end or listener.gone or listener.barred or self.closed:
            return
        listener.wake = self._loop.create_future()
        await listener.wake


def _is_old(message: Message, revision: int) -> bool:
    return message.revision is not None and message.revision <= revision
