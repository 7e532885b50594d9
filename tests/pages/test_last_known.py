"""The database is closed to the program: boards, walls and sheets stay, marked, and count on."""

import json
import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import timedelta
from pathlib import Path
from time import monotonic, sleep
from typing import Final

import pytest
from starlette.testclient import TestClient

from server.app import create_app
from server.live import Tick
from server.pages.boards.faces import STATION
from server.pages.boards.keeper import Keeper
from server.pages.boards.kept import kept_boards
from server.pages.boards.streams import BoardEncoder
from server.pages.visitors import COOKIE, form_token
from server.services.lock_session import lock
from server.settings import Settings
from server.store.store import Store
from tests.api.board_api import StoppedClock
from tests.databases import PostgresServer, closed, postgres
from tests.domain.builders import at
from tests.pages.hospital import Hospital, Visit, enter_hospital
from tests.pages.test_live_boards import rows_of, two_units, wall_of
from tests.services.people import CHARGE, MANAGER, NURSE, OUTSIDER

__all__ = ["postgres"]

BOARD: Final = "/wards/w1/board"
SHEET: Final = "/wards/w1/sheet"
AWAY: Final = re.compile(r"The database is away\. This is the board as it was known at ([\d:]+)\.")


@pytest.fixture
def hospital(postgres: PostgresServer, tmp_path: Path) -> Iterator[Hospital]:
    """The application over a PostgreSQL, with two units on the first ward; screens lock."""
    store, clock = Store(postgres.empty()), StoppedClock(at(0))
    enter_hospital(store)
    settings = Settings(database=store.address, key_file=tmp_path / "key")
    app = create_app(settings, store, run_jobs=False, clock=clock)
    with TestClient(app) as client:
        hospital = Hospital(client, store, clock, tmp_path)
        two_units(hospital)
        yield hospital
    store.close()


@contextmanager
def away(hospital: Hospital, postgres: PostgresServer) -> Iterator[None]:
    """The database is closed at 12 min, and was read until then; open again after the block."""
    feed = hospital.app.state.feed
    until(lambda: feed.reached_at == at(12))
    with closed(postgres, hospital.store.address):
        until(lambda: feed.away)
        yield
    until(lambda: not feed.away)


def until(true: Callable[[], bool]) -> None:
    """Wait for what another thread brings about."""
    begun = monotonic()
    while not true():
        assert monotonic() - begun < 90
        sleep(0.02)


def known_at(visit: Visit, path: str = BOARD) -> str | None:
    """The instant of which a page says that it shows it, None where it says nothing."""
    found = AWAY.search(visit.see(path).text)
    return None if found is None else found[1]


def levels(visit: Visit, path: str) -> list[str]:
    """The levels of the rows that a board would be refreshed with."""
    return [level for level, _key in rows_of(visit.get(path).text)]


def test_the_board_stays_while_the_database_is_away_and_returns_by_itself(
    hospital: Hospital, postgres: PostgresServer
) -> None:
    charge, nobody, wall = hospital.visit(CHARGE), hospital.visit(), wall_of(hospital)
    before = levels(charge, f"{BOARD}/rows"), levels(nobody, f"{wall}/rows")
    encoder = BoardEncoder(kept_boards(hospital.app), STATION, hospital.clock)

    def ticked() -> str:
        said = encoder.tick(Tick("w1", hospital.clock.now, None, 1)).decode()
        return str(json.loads(said.split("data: ")[1])["away"])

    there = ticked()
    with away(hospital, postgres):
        hospital.clock.now = at(12, 40)
        said = known_at(charge), known_at(nobody, wall), ticked()
        hospital.clock.now = at(20)
        charge.post("/act", _token(charge))
        hospital.clock.now = at(26)
        later = levels(charge, f"{BOARD}/rows"), levels(nobody, f"{wall}/rows")
        whole = levels(charge, BOARD)
        sheet, shown = charge.see(SHEET).text, nobody.see(wall).text
        part = charge.get("/mine/due", **{"sec-fetch-mode": "cors"}).status_code
        program = hospital.visit().get("/api/board?ward_id=w1", authorization="Bearer x")
    back = known_at(charge), known_at(nobody, wall), ticked()

    assert before == (["steady", "waiting"], ["steady", "waiting"])
    assert there == ""
    assert said[:2] == ("10:12:00", "10:12:00")
    assert said[2].startswith(
        "The database is away. This is the board as it was known at 10:12:00."
    )
    # By time alone: the slow start is over and the rate would not get the unit in by its limit.
    assert later == (["at_risk", "waiting"], ["at_risk", "waiting"])
    assert whole == ["at_risk", "waiting"]
    assert "As known at 10:12:00 GMT on 3 March 2026" in sheet
    assert "The database was away when this sheet was made" in sheet
    assert "Alder" in sheet
    assert "Alder" not in shown
    assert (program.status_code, part) == (503, 503)
    assert back == (None, None, "")


def test_what_is_known_is_shown_to_nobody_who_was_not_let_in(
    hospital: Hospital, postgres: PostgresServer
) -> None:
    """Each has a session that opened the board, or would have, before the database went away."""
    charge, nurse, manager = map(hospital.visit, (CHARGE, NURSE, MANAGER))
    outsider, late = hospital.visit(OUTSIDER), hospital.visit(CHARGE)
    for visit in (charge, nurse, manager):
        assert visit.get(BOARD).status_code == 200
    assert outsider.get(BOARD).status_code == 403
    assert nurse.post("/lock", _token(nurse)).status_code in (204, 303)
    assert manager.post("/sign-out", _token(manager)).status_code == 303

    with away(hospital, postgres):
        refused = {
            "never looked up here": late.get(BOARD),
            "locked": nurse.get(BOARD),
            "another ward": outsider.get(BOARD),
            "another ward's sheet": outsider.get(SHEET),
            "a wall that was never seen": hospital.visit().get("/wall/guessed"),
            "a ward that nobody opened": charge.get("/wards/w2/board"),
        }
        signed_out = manager.get(BOARD), hospital.visit().get(BOARD), hospital.visit().get(SHEET)
        shown = charge.get(BOARD).status_code, charge.get(SHEET).status_code
        charge.post("/lock", _token(charge))
        refused["locked while it was away"] = charge.get(BOARD)
        refused["its sheet"] = charge.get(SHEET)
    unlocked = charge.get(BOARD), hospital.visit(CHARGE).get(BOARD)

    assert {why: answer.status_code for why, answer in refused.items()} == {
        "never looked up here": 503,
        "locked": 503,
        "another ward": 403,
        "another ward's sheet": 403,
        "a wall that was never seen": 503,
        "a ward that nobody opened": 403,
        "locked while it was away": 503,
        "its sheet": 503,
    }
    # What could not be written of the lock is written now.
    assert unlocked[0].headers["location"].startswith("/locked")
    assert unlocked[1].status_code == 200
    assert [answer.status_code for answer in signed_out] == [503, 303, 303]
    assert shown == (200, 200)
    assert not [why for why, answer in refused.items() if "Alder" in answer.text]


def test_a_screen_locks_as_ever_and_stays_open_for_who_is_at_it(
    hospital: Hospital, postgres: PostgresServer
) -> None:
    left, busy = hospital.visit(CHARGE), hospital.visit(NURSE)
    for visit in (left, busy):
        visit.see(BOARD)

    with away(hospital, postgres):
        hospital.clock.now = at(20)
        acted = busy.post("/act", _token(busy)).status_code
        hospital.clock.now = at(24)
        seen = left.get(BOARD).status_code, busy.get(BOARD).status_code
        hospital.clock.now = at(31)
        both = left.get(BOARD).status_code, busy.get(BOARD).status_code

    assert acted == 204
    assert seen == (503, 200)
    assert both == (503, 503)


def test_wards_and_people_are_known_though_nobody_opens_a_board(
    hospital: Hospital, postgres: PostgresServer
) -> None:
    """What the thread beside does all the time, done by hand; a lock elsewhere is noticed."""
    keeper, charge, nurse = Keeper(hospital.app), hospital.visit(CHARGE), hospital.visit(NURSE)
    charge.see("/mine")
    nurse.see("/mine")
    hospital.clock.now = at(12)
    with hospital.store.write() as session:
        lock(session, nurse.client.cookies[COOKIE], now=at(12))
    for _ in range(2):  # one ward each time
        hospital.clock.now += timedelta(seconds=11)
        keeper.keep()
    hospital.clock.now = at(12)

    with away(hospital, postgres):
        keeper.keep()
        shown = known_at(charge), nurse.get(BOARD).status_code
        empty = hospital.visit().get("/wards/w2/board").status_code
    keeper.stop()

    assert shown == ("10:12:11", 503)
    assert empty == 303


def test_a_ward_of_which_nothing_is_known_says_so(
    hospital: Hospital, postgres: PostgresServer
) -> None:
    charge = hospital.visit(CHARGE)
    charge.see("/mine")

    with away(hospital, postgres):
        answers = [charge.get(path) for path in (BOARD, SHEET, f"{BOARD}/rows")]

    assert [answer.status_code for answer in answers] == [503, 503, 503]
    assert "Nothing is known here of this ward" in answers[0].text


def _token(visit: Visit) -> dict[str, str]:
    return {"csrf_token": form_token(visit.client.cookies[COOKIE])}
