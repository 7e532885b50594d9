"""The database is gone and comes back, or stands still: what is seen meanwhile, and afterwards.

The figures that were measured are printed. Six seconds behave like thirty: what waits, waits for
at most ten, and everything else is tried again each second for as long as it takes. For how long it
is gone can be said: `python -m tests.faults outage --seconds 30`.
"""

import json
import os
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
    Following,
    following,
    get,
    look_at_board,
    post_note,
    say,
    signed_in,
    until_normal,
    wait_for,
)
from tests.faults.outage import OUTAGE_SECONDS, gone, still
from tests.faults.programs import Served
from tests.faults.small_ward import WARD, SmallWard, make_small_ward
from tests.faults.whole import require_whole

AWAY_SECONDS: Final = float(os.environ.get(OUTAGE_SECONDS, "6"))
ASK_EVERY_SECONDS: Final = 3.0
STILL_SECONDS: Final = 19.0
REFUSED_WITHIN_SECONDS: Final = 14.0
BOUND_SECONDS: Final = 60.0
MARKED: Final = "The database is away. This is the board as it was known at"
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
            rounds = list(_ask_for(AWAY_SECONDS, served, ward, secret))
        until, back_at = monotonic(), utc_now()
        seconds = until_normal(served, ward)
        _, written = wait_for(lambda: post_note(served, ward, "after").status == 201)
        repeated = post_note(served, ward, "while-away")
        wait_for(lambda: stream.of("reminder", until))
        silence = stream.longest_silence(since, until)

    say(
        f"database gone for {until - since:.0f} s, asked {len(rounds)} times: {_told(rounds)}; the "
        f"stream said so after {_said_away(stream, since):.1f} s and was silent for at most "
        f"{silence:.1f} s; ready {seconds:.2f} s after it was back, written {written:.2f} s later"
    )
    assert not stream.ended
    assert silence < until - since
    for one in rounds:
        _require_away(one)
    assert ([one.status for one in kept], repeated.status) == ([201] * 3, 201)
    _require_caught_up_once(ward, gone_at, back_at)


def _ask_for(
    seconds: float, served: Served, ward: SmallWard, secret: str
) -> Iterator[dict[str, Answered]]:
    """Ask everything again and again for so long, and once more at the end."""
    end = monotonic() + seconds
    while True:
        yield _ask_all(served, ward, secret)
        if monotonic() >= end:
            return
        sleep(min(ASK_EVERY_SECONDS, max(0.0, end - monotonic())))


def _said_away(stream: Following, since: float) -> float:
    """After how many seconds the stream said that the database is away."""
    (first, *_) = (
        at for at, name, data in stream.said if at >= since and name == "tick" and data["away"]
    )
    return first - since


def _ask_all(served: Served, ward: SmallWard, secret: str) -> dict[str, Answered]:
    return {
        "fact": post_note(served, ward, "while-away"),
        "board as JSON": get(served, BOARD, ward),
        "board": look_at_board(served, secret),
        "readiness": get(served, "/readyz", ward),
        "life": get(served, "/healthz", ward),
    }


def _told(rounds: list[dict[str, Answered]]) -> str:
    return ", ".join(_slowest(name, [one[name] for one in rounds]) for name in rounds[0])


def _slowest(name: str, answers: list[Answered]) -> str:
    statuses = "/".join(f"{status}" for status in sorted({one.status for one in answers}))
    return f"{name} {statuses} within {max(one.seconds for one in answers):.2f} s"


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
            _, marked = wait_for(lambda: MARKED in look_at_board(served, secret).text)
            sleep(max(0.0, STILL_SECONDS - marked))
            until, done = monotonic(), [one.done() for one in asked]
        seconds = until_normal(served, ward)
        repeated = [post_note(served, ward, f"still-{n}", n) for n in range(4)]
        silence = stream.longest_silence(since, until)
    answers = [one.result() for one in asked]

    say(
        f"database stood still for {until - since:.0f} s: "
        f"{', '.join(f'{one.status} in {one.seconds:.1f} s' for one in answers)}; the board was "
        f"marked as last known after {marked:.1f} s, the stream said so after "
        f"{_said_away(stream, since):.1f} s and was silent for at most {silence:.1f} s; ready "
        f"{seconds:.2f} s after it went on"
    )
    # Both came while it stood still.
    assert silence < until - since
    assert max(marked, _said_away(stream, since)) < until - since
    assert alive.status == 200
    assert all(done)
    assert max(one.seconds for one in answers) < REFUSED_WITHIN_SECONDS
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
