"""What open boards are sent, and when they are sent no more."""

import asyncio
import json
from typing import Any

import pytest

from server.domain.payloads import ReactionSuspected
from server.live import News, Tick
from server.pages.boards.faces import STATION, WALL
from server.pages.boards.kept import kept_boards
from server.pages.boards.streams import BoardEncoder, GuardedReceive
from tests.domain.builders import at
from tests.pages.hospital import Hospital
from tests.pages.test_live_boards import rows_of, two_units


def encoder(hospital: Hospital, face: Any = STATION) -> BoardEncoder:
    return BoardEncoder(kept_boards(hospital.app), face, hospital.clock)


def test_a_change_is_sent_as_the_rows_that_changed(hospital: Hospital) -> None:
    two_units(hospital)
    hospital.charting.record(12, ReactionSuspected(), "e1")

    said = encoder(hospital).news(News("w1", 7, ("e1",))).decode()

    assert rows_of(said) == [("reaction", "e1")]
    assert 'data-open="e1:nurse-1 e2:-"' in said
    assert said.endswith("\nid: 7\n\n")
    assert all(line.startswith(("data: ", "id: ")) for line in said.strip().split("\n"))


def test_when_too_much_changed_every_row_is_sent(hospital: Hospital) -> None:
    two_units(hospital)

    said = encoder(hospital).news(News("w1", 7, whole=True)).decode()

    assert [key for _level, key in rows_of(said)] == ["e1", "e2"]


def test_what_a_wall_is_sent_holds_no_name_either(hospital: Hospital) -> None:
    two_units(hospital)

    said = encoder(hospital, WALL).news(News("w1", 7, whole=True)).decode()

    assert len(rows_of(said)) == 2
    assert [name for name in ("Alder", "Nina", "nurse-1", "row-e1") if name in said] == []


def test_the_sign_of_life_says_when_clocks_were_checked(hospital: Hospital) -> None:
    said = encoder(hospital).tick(Tick("w1", at(1), None, 3)).decode().split("\n")

    assert said[0] == "event: tick"
    assert json.loads(said[1].removeprefix("data: ")) == {
        "at": "2026-03-03T10:01:00Z",
        "checked_at": None,
        "away": "",
    }


@pytest.mark.parametrize(("welcome", "said"), [("yes", "http.request"), ("no", "http.disconnect")])
def test_who_may_no_longer_listen_is_taken_for_gone(
    welcome: str, said: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("server.pages.boards.streams.RECHECK_SECONDS", 0.01)

    async def receive() -> dict[str, Any]:
        await asyncio.sleep(0.1 if welcome == "yes" else 3_600)
        return {"type": "http.request"}

    async def may_listen() -> bool:
        return welcome == "yes"

    message = asyncio.run(_next(GuardedReceive(receive, may_listen)))

    assert message["type"] == said


def test_a_check_that_fails_lets_nobody_go(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("server.pages.boards.streams.RECHECK_SECONDS", 0.01)

    async def receive() -> dict[str, Any]:
        await asyncio.sleep(0.1)
        return {"type": "http.request"}

    async def may_listen() -> bool:
        raise OSError

    assert asyncio.run(_next(GuardedReceive(receive, may_listen)))["type"] == "http.request"


async def _next(receive: GuardedReceive) -> Any:
    return await receive()
