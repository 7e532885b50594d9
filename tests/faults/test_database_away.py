"""The database is gone and comes back, or stands still: what is seen meanwhile, and afterwards.

The figures that were measured are printed. Six seconds behave like thirty: what waits, waits for
at most ten, and everything else is tried again each second for as long as it takes.
"""

import json
from collections import Counter
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from datetime import datetime
from time import monotonic, sleep
from typing import Final

import pytest
from sqlalchemy import text

from server.clock import utc_now
from server.store.store import Store
from server.store.transitions import transitions_of
from tests.databases import PostgresServer
from tests.faults.asking import (
    Answered,
    following,
    get,
    look_at_board,
    post_note,
    say,
    signed_in,
    until_normal,
    wait_for,
)
from tests.faults.outage import gone, still
from tests.faults.programs import Served
from tests.faults.small_ward import WARD, SmallWard, make_small_ward
from tests.faults.whole import require_whole

AWAY_SECONDS: Final = 6.0
STILL_SECONDS: Final = 19.0
BOUND_SECONDS: Final = 30.0
BOARD: Final = f"/api/board?ward_id={WARD}"


@pytest.fixture(scope="module")
def ward(postgres: PostgresServer) -> SmallWard:
    """Units whose clocks pass their limits one after the other from now on."""
    return make_small_ward(postgres.empty(), utc_now(), units=40)


@pytest.fixture(scope="module")
def secret(ward: SmallWard) -> str:
    """The cookie of a nurse of the ward."""
    return signed_in(ward)


@pytest.fixture(scope="module")
def served(ward: SmallWard, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """One process that does everything."""
    folder = tmp_path_factory.mktemp("away")
    running = Served(ward.database, folder / "log", key_file=f"{folder / 'key'}")
    try:
        running.wait_until_ready()
        yield running
    finally:
        running.kill()


def test_while_the_database_is_gone_it_says_so_and_afterwards_it_catches_up_once(
    postgres: PostgresServer, ward: SmallWard, secret: str, served: Served
) -> None:
    until_normal(served, ward)
    kept = [post_note(served, ward, f"before-{number}", number) for number in range(3)]
    assert look_at_board(served, secret).status == 200
    with following(served, ward) as stream:
        with gone(postgres):
            since, gone_at = monotonic(), utc_now()
            meanwhile = _ask_all(served, ward, secret)
            sleep(AWAY_SECONDS)
            later = _ask_all(served, ward, secret)
        until, back_at = monotonic(), utc_now()
        seconds = until_normal(served, ward)
        _, written = wait_for(lambda: post_note(served, ward, "after").status == 201)
        repeated = post_note(served, ward, "while-away")
        wait_for(lambda: stream.of("reminder", until))
        silence = stream.longest_silence(since, until)

    say(
        f"database gone for {until - since:.0f} s: {_told(meanwhile)}; later {_told(later)}; the "
        f"stream was silent for at most {silence:.1f} s; ready {seconds:.2f} s after it was back, "
        f"written {written:.2f} s later"
    )
    assert not stream.ended
    assert silence < 5
    _require_away(meanwhile)
    _require_away(later)
    assert ([one.status for one in kept], repeated.status) == ([201] * 3, 201)
    _require_caught_up_once(ward, gone_at, back_at)


def _ask_all(served: Served, ward: SmallWard, secret: str) -> dict[str, Answered]:
    return {
        "fact": post_note(served, ward, "while-away"),
        "board as JSON": get(served, BOARD, ward),
        "board": look_at_board(served, secret),
        "readiness": get(served, "/readyz", ward),
        "life": get(served, "/healthz", ward),
    }


def _told(answers: dict[str, Answered]) -> str:
    return ", ".join(f"{name} {one.status} in {one.seconds:.2f} s" for name, one in answers.items())


def _require_away(answers: dict[str, Answered]) -> None:
    """Who writes is told to try again, who looks sees the last that was known or is told too."""
    board = answers["board"]
    assert (answers["fact"].status, answers["fact"].problem) == (503, "database-away")
    assert answers["board as JSON"].problem == "database-away"
    assert (board.status, board.kind) in {(200, "text/html"), (503, "text/html")}
    assert (answers["readiness"].status, answers["life"].status) == (503, 200)
    assert max(one.seconds for one in answers.values()) < BOUND_SECONDS


def _require_caught_up_once(ward: SmallWard, gone_at: datetime, back_at: datetime) -> None:
    """What passed meanwhile is stamped with its own second, and was noticed afterwards."""
    store = Store(str(ward.database))
    with store.read() as session:
        crossed = [one for i in ward.episode_ids for one in transitions_of(session, i)]
    store.close()
    late = [one for one in crossed if gone_at < one.at < back_at]
    assert late
    assert all(one.noticed_at >= back_at for one in late)
    require_whole(ward.database)


def test_a_server_that_stands_still_keeps_nobody_waiting_for_long(
    postgres: PostgresServer, ward: SmallWard, secret: str, served: Served
) -> None:
    until_normal(served, ward)
    assert look_at_board(served, secret).status == 200
    with following(served, ward) as stream, ThreadPoolExecutor(8) as clients:
        with still(postgres):
            since = monotonic()
            asked = [
                *(clients.submit(post_note, served, ward, f"still-{n}", n) for n in range(4)),
                clients.submit(get, served, BOARD, ward),
                clients.submit(look_at_board, served, secret),
                clients.submit(get, served, "/readyz", ward),
            ]
            alive = get(served, "/healthz", ward)
            sleep(STILL_SECONDS)
            until, done = monotonic(), [one.done() for one in asked]
        seconds = until_normal(served, ward)
        repeated = [post_note(served, ward, f"still-{n}", n) for n in range(4)]
        silence = stream.longest_silence(since, until)
    answers = [one.result() for one in asked]

    say(
        f"database stood still for {until - since:.0f} s: "
        f"{', '.join(f'{one.status} in {one.seconds:.1f} s' for one in answers)}; the stream was "
        f"silent for at most {silence:.1f} s; ready {seconds:.2f} s after it went on"
    )
    assert alive.status == 200
    assert all(done)
    assert [one.problem for one in answers[:5]] == ["database-away"] * 5
    assert [one.status for one in repeated] == [201] * 4
    notes = _notes_in(ward)
    assert [notes[f"note still-{n}"] for n in range(4)] == [1] * 4


def _notes_in(ward: SmallWard) -> Counter[str]:
    """The notes that were recorded, by their text."""
    store = Store(str(ward.database))
    with store.read() as session:
        rows = session.rows(text("SELECT payload FROM event WHERE kind = 'note'"))
    store.close()
    return Counter(
        str((json.loads(one) if isinstance(one, str) else one)["text"]) for (one,) in rows
    )
