"""All open streams of a process: channels that live as long as somebody listens."""

import logging
from asyncio import AbstractEventLoop
from collections.abc import Callable, Hashable
from datetime import datetime
from functools import partial
from time import monotonic
from typing import Final

from server.live.channel import Channel, Encoder, Listener, Message
from server.live.feed import Feed
from server.live.news import News, Pulse, Tick

BEAT_SECONDS: Final = 2.0

_LOG: Final = logging.getLogger(__name__)


class Streams:
    """Channels by key and ward. News is encoded in the feed's thread, and sent on the event loop.

    `now` answers the present instant for the signs of life.
    """

    def __init__(self, feed: Feed, *, now: Callable[[], datetime]) -> None:
        self.feed: Final = feed
        self._now = now
        self.channels: dict[tuple[Hashable, str], Channel] = {}
        self._loop: AbstractEventLoop | None = None
        self._beaten_at, self._said_away = 0.0, False
        self._closed = False
        feed.follow(self._publish, self._beat)

    def open(self, loop: AbstractEventLoop) -> None:
        """Accept listeners on this event loop."""
        self._loop, self._closed = loop, False

    def close(self) -> None:
        """End all streams; safe from any thread, and more than once."""
        self._closed = True
        self._on_loop(self._close_channels)

    def join(
        self, key: Hashable, ward_id: str, encoder: Encoder, revision: int
    ) -> tuple[Channel, Listener]:
        """Listen to a ward in the form that `key` names; streams of one key share what is encoded.

        Call on the event loop.
        """
        assert self._loop is not None  # noqa: S101 - opened when the application starts
        channel = self.channels.get((key, ward_id))
        if channel is None:
            channel = Channel(ward_id, encoder, self._loop)
            channel.closed = self._closed
            self.channels[key, ward_id] = channel
        return channel, channel.join(revision)

    def leave(self, key: Hashable, channel: Channel, listener: Listener) -> None:
        """Stop listening; a channel that nobody listens to is dropped."""
        channel.listeners.discard(listener)
        if not channel.listeners and self.channels.get((key, channel.ward_id)) is channel:
            del self.channels[key, channel.ward_id]

    def tick(self, channel: Channel, revision: int) -> bytes:
        """A sign of life for one listener, as of now."""
        return channel.encoder.tick(self._tick(channel, self.feed.pulse, revision))

    def _tick(self, channel: Channel, pulse: Pulse, revision: int) -> Tick:
        return Tick(channel.ward_id, self._now(), pulse.checked_at, revision, self.feed.away)

    def _publish(self, news: News) -> None:
        for channel in self._channels_of(news.ward_id):
            self._say(channel, partial(channel.encoder.news, news), news.revision)

    def _beat(self, pulse: Pulse) -> None:
        away = self.feed.away
        if away == self._said_away and monotonic() - self._beaten_at < BEAT_SECONDS:
            return
        self._beaten_at, self._said_away = monotonic(), away
        for channel in self._channels_of():
            tick = self._tick(channel, pulse, self.feed.told(channel.ward_id))
            self._say(channel, partial(channel.encoder.tick, tick), None)
            self._on_loop(channel.drop_stalled)

    def _say(self, channel: Channel, encode: Callable[[], bytes], revision: int | None) -> None:
        try:
            message = Message(encode(), revision)
        except Exception:  # noqa: BLE001 - one form that fails must not silence the others
            _LOG.exception("what changed on ward %s could not be encoded", channel.ward_id)
            self._on_loop(channel.lose)
        else:
            self._on_loop(partial(channel.append, message))

    def _on_loop(self, act: Callable[[], None]) -> None:
        if self._loop is not None and not self._loop.is_closed():
            self._loop.call_soon_threadsafe(act)

    def _close_channels(self) -> None:
        for channel in self._channels_of():
            channel.close()

    def _channels_of(self, ward_id: str | None = None) -> list[Channel]:
        channels = list(self.channels.values())
        return [channel for channel in channels if ward_id in (None, channel.ward_id)]
