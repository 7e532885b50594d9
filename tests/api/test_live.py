"""What watchers are told, without a network: encoded once, caught up, never held up."""

import asyncio
from threading import Event
from time import monotonic, sleep

import pytest

from server.live import Feed, News, Streams, response, seen_revision, server_sent
from server.live.channel import KEPT, STALLED_SECONDS
from tests.api.stage import AT, Change, Ledger, Stage, play, until


def test_a_change_is_encoded_once_for_all_who_listen() -> None:
    async def act(stage: Stage) -> None:
        clients = [stage.client() for _ in range(20)]
        for client in clients:
            await client.has(b".")
        stage.change()
        for client in clients:
            await client.has(b"<6:e6>")
        assert len(stage.encoder.encoded) == 1

    play(act)


def test_what_is_heard_twice_or_late_is_told_once() -> None:
    async def act(stage: Stage) -> None:
        client = stage.client()
        await client.has(b".")
        stage.change()
        stage.feed.hear([Change("w1", 6), Change("w1", 3)])
        stage.change()
        await until(lambda: stage.feed.told("w1") == 7)
        await client.has(b"e7>")
        await asyncio.sleep(0.2)
        assert [news.episode_ids for news in stage.encoder.encoded] in (
            [("e6",), ("e7",)],
            [("e6", "e7")],
        )

    play(act)


def test_without_anybody_listening_nothing_is_encoded() -> None:
    async def act(stage: Stage) -> None:
        stage.change()
        await until(lambda: stage.feed.told("w1") == 6)
        assert stage.encoder.encoded == []

    play(act)


def test_a_client_that_falls_behind_is_told_at_once_what_it_missed() -> None:
    async def act(stage: Stage) -> None:
        client = stage.client()
        await client.has(b".")
        client.gate.clear()
        for _ in range(KEPT + 20):
            before = stage.feed.told("w1")
            stage.change()
            await until(lambda was=before: stage.feed.told("w1") > was)  # type: ignore[misc]
        last = stage.ledger.revision
        await asyncio.sleep(0.1)
        client.gate.set()
        await client.has(f":e{last}>".encode() if last == 6 else f",e{last}>".encode())
        assert stage.encoder.encoded[-1].revision == last
        assert len(stage.encoder.encoded[-1].episode_ids) > KEPT

    play(act)


def test_a_form_that_fails_silences_nobody_for_long() -> None:
    async def act(stage: Stage) -> None:
        client = stage.client()
        await client.has(b".")
        stage.encoder.broken = True
        stage.change()
        await until(lambda: stage.feed.told("w1") == 6)
        stage.encoder.broken = False
        again = stage.client(since=5)
        await again.has(b"<6:e6>")
        stage.change()
        await again.has(b"<7:e7>")

    play(act)


def test_a_source_that_fails_is_asked_again_and_ticks_go_on() -> None:
    async def act(stage: Stage) -> None:
        client = stage.client()
        await client.has(b".")
        stage.ledger.broken = True
        stage.change()
        await client.has(b"..")
        assert b"<" not in client.sent
        stage.ledger.broken = False
        await client.has(b"<6:e6>")

    play(act)


def test_a_source_that_hangs_is_away_and_ticks_go_on() -> None:
    async def act(stage: Stage) -> None:
        client, release, pulse = stage.client(), Event(), stage.ledger.pulse
        await client.has(b".")
        stage.ledger.pulse = lambda: (release.wait(30), pulse())[1]  # type: ignore[method-assign]
        await until(lambda: stage.feed.away)
        client.sent = b""
        await client.has(b".")
        stage.change()
        release.set()
        await until(lambda: not stage.feed.away)
        await client.has(b"<6:e6>")

    play(act)


def test_a_database_put_back_has_everything_read_anew() -> None:
    async def act(stage: Stage) -> None:
        client = stage.client()
        await client.has(b".")
        stage.ledger.revision = 2
        await until(lambda: any(news.whole for news in stage.encoder.encoded))
        assert stage.encoder.encoded[-1] == News("w1", 2, whole=True)

    play(act)


def test_a_client_that_has_stopped_reading_is_dropped() -> None:
    async def act(stage: Stage) -> None:
        stalled, other = stage.client(), stage.client()
        await stalled.has(b".")
        await other.has(b".")
        stalled.gate.clear()
        stage.change()
        await other.has(b"<6:e6>")
        (channel,) = stage.streams.channels.values()
        behind = [one for one in channel.listeners if one.sending_since is not None]
        for listener in behind:
            assert listener.sending_since is not None
            listener.sending_since -= STALLED_SECONDS + 1
        channel.drop_stalled()
        await until(lambda: len(channel.listeners) == 1)
        assert (len(behind), stalled.task.done(), other.task.done()) == (1, True, False)

    play(act)


def test_streams_end_when_they_are_closed_and_new_ones_at_once() -> None:
    async def act(stage: Stage) -> None:
        client = stage.client()
        await client.has(b".")
        stage.streams.close()
        await until(lambda: client.over)
        late = stage.client()
        await until(lambda: late.over)
        assert (client.status, late.status, late.sent) == (200, 200, b".")
        assert stage.streams.channels == {}

    play(act)


def test_a_client_that_leaves_takes_its_channel_along() -> None:
    async def act(stage: Stage) -> None:
        client = stage.client()
        await client.has(b".")
        client.left.set()
        await until(client.task.done)
        assert stage.streams.channels == {}

    play(act)


def test_a_client_that_may_no_longer_listen_is_sent_away(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(response, "RECHECK_SECONDS", 0.05)
    allowed = [True]

    def unclear() -> bool:
        raise OSError("no such file")

    async def act(stage: Stage) -> None:
        barred = stage.client(may_listen=lambda: allowed[0])
        unchecked = stage.client(may_listen=unclear)
        await barred.has(b".")
        await unchecked.has(b".")
        allowed[0] = False
        await until(lambda: barred.over)
        stage.change()
        await unchecked.has(b"<6:e6>")
        assert b"<" not in barred.sent

    play(act)


def test_a_slow_source_holds_up_no_commit() -> None:
    ledger, entered, release = Ledger(), Event(), Event()

    def slow(ward_id: str, _: int) -> News:
        entered.set()
        release.wait(30)
        return News(ward_id, 6)

    ledger.news = slow  # type: ignore[method-assign,assignment]  # slow for this test
    feed = Feed(ledger, now=lambda: AT)
    feed.start()
    begun = monotonic()
    feed.hear([Change("w1", 6)])
    heard = monotonic() - begun
    assert entered.wait(30)
    release.set()
    feed.stop()

    assert heard < 20
    assert feed.told("w1") == 6


def test_stopping_before_starting_does_nothing() -> None:
    feed = Feed(Ledger(), now=lambda: AT)
    streams = Streams(feed, now=lambda: AT)

    streams.close()
    feed.stop()
    sleep(0)

    assert feed.told("w1") == 0


@pytest.mark.parametrize(
    ("said", "seen"),
    [
        (("7", "3"), 7),
        ((None, "3"), 3),
        (("x", "3"), 3),
        (("", None), None),
        (("٣", "-1"), None),
        (("9" * 19,), None),
        (("9" * 18,), int("9" * 18)),
    ],
)
def test_the_first_revision_that_is_one_counts(
    said: tuple[str | None, ...], seen: int | None
) -> None:
    assert seen_revision(*said) == seen


def test_lines_stay_lines_and_other_separators_stay_text() -> None:
    assert server_sent("a", "1\r\n2\r3\u20284", revision=9) == (
        "event: a\ndata: 1\ndata: 2\ndata: 3\u20284\nid: 9\n\n".encode()
    )
    assert server_sent("a", "") == b"event: a\ndata: \n\n"
