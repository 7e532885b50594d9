"""The stream: what changed, reminders, signs of life; resumed, stalled and ended."""

import socket
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path
from time import monotonic

import pytest

from server.live import response
from server.services.tick import tick
from server.store.store import Store
from server.store.tokens import list_tokens, revoke_token
from tests.api.board_api import NOON
from tests.api.served import Served, next_of, served, wait_until
from tests.services.trail import said


@pytest.fixture
def board(sqlite_template: Path, tmp_path: Path) -> Iterator[Served]:
    """A served board with ward `w1` and episode `e1`."""
    with served(sqlite_template, tmp_path) as opened:
        opened.api.ward()
        opened.api.episode()
        yield opened


def revision(board: Served) -> int:
    """The present revision of ward `w1`."""
    found: int = board.api.get("/api/board", ward_id="w1").json()["revision"]
    return found


def test_it_begins_with_a_sign_of_life_at_the_present_revision(board: Served) -> None:
    present = revision(board)
    wait_until(lambda: board.app.state.feed.told("w1") == present)

    with board.stream() as stream:
        first = next(stream)

    said = {"at": "2026-03-03T12:00:00Z", "checked_at": None, "away": False}
    assert first == ("tick", said, str(present))


def test_it_is_a_look_at_the_board_as_soon_as_it_opens(board: Served) -> None:
    look = ("viewed", "a interface", "board", "w1")

    with board.stream() as stream:
        next(stream)
        wait_until(lambda: _last_look(board) == look)

    assert _last_look(board) == look


def _last_look(board: Served) -> tuple[object, ...]:
    return said(board.api.store, "act", "actor_name", "subject_kind", "ward_id")[-1]


def test_a_change_is_told_with_its_revision_and_episodes(board: Served) -> None:
    with board.stream() as stream:
        next(stream)
        recorded = board.api.record("e1", "note", NOON, text="a")
        told = next_of(stream, "changed")

    present = revision(board)
    assert recorded["episode"]["id"] == "e1"
    assert told == (
        "changed",
        {"revision": present, "episode_ids": ["e1"], "whole": False},
        str(present),
    )


def test_a_reminder_is_told_before_the_change_that_raised_it(board: Served) -> None:
    board.api.record("e1", "issued", NOON)
    with board.stream() as stream:
        next(stream)
        tick(board.api.store, now=NOON + timedelta(minutes=25))
        events = [next(stream) for _ in range(3)]

    reminders = board.api.get("/api/reminders", ward_id="w1").json()
    told = [one for one in events if one.event != "tick"]
    assert [one.event for one in told[:2]] == ["reminder", "reminder"]
    assert [one.id for one in told[:2]] == [None, None]
    assert [one.data for one in told[:2]] == reminders[:2]
    assert {(one["clock"], one["stage"]) for one in reminders} == {
        ("start", "notice"),
        ("return", "notice"),
    }


@pytest.mark.parametrize("by_header", [True, False])
def test_a_client_that_comes_back_is_told_what_it_missed(board: Served, *, by_header: bool) -> None:
    board.api.episode("2")
    seen = revision(board)
    board.api.record("e2", "note", NOON, text="a")
    board.api.record("e1", "note", NOON, text="b")
    last = {"headers": {"Last-Event-ID": str(seen)}} if by_header else {"since": seen}

    with board.stream(**last) as stream:
        told = next(stream)

    assert told.event == "changed"
    assert told.data == {"revision": seen + 2, "episode_ids": ["e2", "e1"], "whole": False}


def test_the_header_is_newer_than_the_address(board: Served) -> None:
    seen = revision(board)
    board.api.record("e1", "note", NOON, text="a")

    with board.stream(since=0, headers={"Last-Event-ID": str(seen + 1)}) as stream:
        assert next(stream).event == "tick"


@pytest.mark.parametrize("last", ["", "abc", "-1", "1e9", "9" * 40, "1; DROP TABLE ward"])
def test_any_last_event_id_is_borne(board: Served, last: str) -> None:
    with board.stream(headers={"Last-Event-ID": last}) as stream:
        assert next(stream).event == "tick"


@pytest.mark.parametrize("since", [10**9, 2**53 - 1])
def test_a_revision_never_reached_has_the_board_read_anew(board: Served, since: int) -> None:
    with board.stream(since=since) as stream:
        told = next(stream)

    assert told.data == {"revision": revision(board), "episode_ids": [], "whole": True}


def test_what_another_process_writes_is_told_too(board: Served) -> None:
    other = Store(board.app.state.store.address)
    with board.stream() as stream:
        next(stream)
        with other.write() as session:
            session.touch("w1", ["e1"])
        told = next_of(stream, "changed")
    other.close()

    assert told.data["episode_ids"] == ["e1"]


def test_only_the_ward_asked_for_is_told(board: Served) -> None:
    board.api.ward("w2")
    board.api.episode("2", "w2")
    with board.stream("w2") as stream:
        next(stream)
        board.api.record("e1", "note", NOON, text="a")
        board.api.record("e2", "note", NOON, text="a")
        told = next_of(stream, "changed")

    assert told.data["episode_ids"] == ["e2"]


def test_signs_of_life_keep_coming(board: Served) -> None:
    with board.stream() as stream:
        events = [next(stream).event for _ in range(3)]

    assert events == ["tick"] * 3


def test_a_client_that_does_not_read_holds_up_nobody(board: Served) -> None:
    host, port = board.address.removeprefix("http://").split(":")
    stalled = socket.create_connection((host, int(port)))
    token = board.api.token("interface")
    asked = (
        f"GET /api/stream?ward_id=w1 HTTP/1.1\r\nHost: a\r\nAuthorization: Bearer {token}\r\n\r\n"
    )
    stalled.sendall(asked.encode())
    wait_until(lambda: len(board.app.state.streams.channels) == 1)
    with board.stream() as stream:
        next(stream)
        for number in range(20):
            board.api.record("e1", "note", NOON, text=f"{number}")
        last = revision(board)
        seen = 0
        while seen < last:
            seen = next_of(stream, "changed").data["revision"]
    stalled.close()

    assert seen == last


def test_a_client_that_leaves_is_forgotten(board: Served) -> None:
    with board.stream() as stream:
        next(stream)
        assert len(board.app.state.streams.channels) == 1

    wait_until(lambda: len(board.app.state.streams.channels) == 0)


def test_a_token_that_is_revoked_ends_its_stream(
    board: Served, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(response, "RECHECK_SECONDS", 0.1)
    with board.stream() as stream:
        next(stream)
        with board.api.store.write() as session:
            for token in list_tokens(session):
                revoke_token(session, token.id, NOON)
        rest = [event.event for event in stream]

    assert set(rest) <= {"tick"}


def test_open_streams_end_when_the_server_is_told_to_stop(board: Served) -> None:
    with board.stream() as one, board.stream() as other:
        next(one)
        next(other)
        begun = monotonic()
        board.server.handle_exit(15, None)
        rest = [event.event for stream in (one, other) for event in stream]
        seconds = monotonic() - begun

    assert set(rest) <= {"tick"}
    assert seconds < 60
