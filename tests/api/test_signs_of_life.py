"""Signs of life go on beside news that takes its time, and say nothing that is not so."""

from threading import Event

import pytest

from server.live import News, Pulse, Tick, streams
from tests.api.stage import Plain, Stage, play, until


class Slow(Plain):
    """Takes its time over news, and names the revision of a sign of life."""

    def __init__(self) -> None:
        super().__init__()
        self.entered, self.release = Event(), Event()

    def news(self, news: News) -> bytes:
        """The episodes, once that is allowed."""
        self.entered.set()
        self.release.wait(30)
        return super().news(news)

    def tick(self, tick: Tick) -> bytes:
        """The revision."""
        return f"[{tick.revision}]".encode()


def test_no_sign_of_life_says_of_what_is_on_its_way_that_it_was_told(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Whoever resumed from there would never be told of it."""
    monkeypatch.setattr(streams, "BEAT_SECONDS", 0.0)

    async def act(stage: Stage) -> None:
        stage.encoder = slow = Slow()
        client = stage.client()
        await client.has(b"[5]")
        stage.change()
        await until(slow.entered.is_set)
        client.sent = b""
        await client.has(b"[5][5]")
        beside = client.sent
        slow.release.set()
        await client.has(b"<6:e6>")
        await client.has(b"[6]")
        assert set(beside.split(b"]")) == {b"[5", b""}

    play(act)


def test_a_follower_that_fails_silences_neither_others_nor_the_next_sign() -> None:
    async def act(stage: Stage) -> None:
        heard: list[Pulse] = []

        def fail(_: Pulse) -> None:
            raise OSError("nobody there")

        stage.feed.follow(lambda _: None, fail)
        stage.feed.follow(lambda _: None, heard.append)
        await until(lambda: len(heard) > 2)

    play(act)
