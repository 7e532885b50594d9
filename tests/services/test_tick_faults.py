"""A unit that cannot be worked out is set aside, and the others go on."""

from datetime import timedelta

import pytest
from sqlalchemy import text

from server.services.cases import reading
from server.services.live_board import LiveBoards
from server.services.set_aside import RETRY_AFTER
from server.services.sound_cases import or_none
from server.services.tick import Ticked
from server.store.due import faulty_episodes
from server.store.errors import Away
from server.store.requests import read_request
from tests.domain.builders import at
from tests.services.charting import Charting, ids_of
from tests.services.poison import POISON, SOUND, tamper


@pytest.fixture
def units(charting: Charting) -> Charting:
    """Units `e1` and `e2` of two patients, issued at the base."""
    for number in (1, 2):
        charting.open(f"e{number}", f"p{number}")
        charting.issue(f"e{number}")
    return charting


def _faults(charting: Charting) -> list[str]:
    with charting.store.read() as session:
        return [episode_id for episode_id, _ in faulty_episodes(session)]


@pytest.mark.parametrize("setting", POISON.values(), ids=POISON)
def test_a_bad_row_does_not_stop_the_others(units: Charting, setting: str) -> None:
    tamper(units.store, setting)

    ticked = units.tick(20)

    assert ticked == Ticked(1, 2, 1)
    assert {one.episode_id for one in units.reminders()} == {"e2"}
    assert (_faults(units), units.state("e1").next_change_at) == (["e1"], at(20) + RETRY_AFTER)


@pytest.mark.parametrize("setting", POISON.values(), ids=POISON)
def test_a_board_shows_all_others_and_names_it(units: Charting, setting: str) -> None:
    boards = LiveBoards(units.store)
    units.store.on_commit(boards.hear)
    before = ids_of(boards.board("w1", at(19)))
    tamper(units.store, setting)
    units.tick(20)

    kept, fresh = boards.board("w1", at(20)), LiveBoards(units.store).board("w1", at(20))
    read = units.board(20)

    assert before == ["e1", "e2"]
    for board in (kept, fresh, read):
        assert (ids_of(board), [one.id for one in board.spoilt]) == (["e2"], ["e1"])
    tamper(units.store, f"{SOUND}, happened_at = recorded_at")
    units.tick(at(20) + RETRY_AFTER)
    assert sorted(ids_of(boards.board("w1", at(21)))) == ["e1", "e2"]
    assert boards.board("w1", at(21)).spoilt == ()


def test_a_database_that_is_away_spoils_no_unit() -> None:
    def read() -> None:
        raise Away("gone")

    with pytest.raises(Away, match="gone"):
        or_none(read)


def test_nor_is_it_said_to_be_unreadable(units: Charting) -> None:
    with units.store.read() as session:
        unit = read_request(session, "e1")
    assert unit is not None

    with pytest.raises(Away, match="gone"), reading(unit):
        raise Away("gone")


def test_it_says_why(units: Charting, caplog: pytest.LogCaptureFixture) -> None:
    tamper(units.store, POISON["an unknown kind"])

    units.tick(20)

    assert _where(units) == "ValueError in event_of, server/store/event_rows.py:"
    assert caplog.messages == ["episode e1 could not be worked out"]


@pytest.mark.parametrize(
    "setting",
    [
        """payload = '{"volume_ml":"Alder"}'""",
        """payload = '{"Alder": 1}'""",
        "kind = 'Alder'",
        "happened_at = 'Alder'",
        "payload = 'Alder'",
    ],
)
def test_why_quotes_nothing_that_was_recorded(units: Charting, setting: str) -> None:
    with units.store.write() as session:
        session.run(text("DROP TRIGGER event_no_update"))
        session.run(text(f"UPDATE event SET {setting} WHERE episode_id = 'e1'"))  # noqa: S608 - a test's own

    units.tick(20)

    fault = units.state("e1").fault or ""
    assert ("Alder" in fault, " in " in fault, ".py:" in fault) == (False, True, True)


def _where(units: Charting) -> str:
    """The fault of `e1` without the number of the line."""
    return (units.state("e1").fault or "").rstrip("0123456789")


def test_it_is_tried_again_and_healed_when_it_is_mended(units: Charting) -> None:
    tamper(units.store, POISON["no JSON"])
    units.tick(20)
    soon, later = at(20) + timedelta(seconds=29), at(20) + RETRY_AFTER

    too_early, in_vain = units.tick(soon), units.tick(later)
    tamper(units.store, "payload = '{}'")
    healed = units.tick(later + RETRY_AFTER)

    assert (too_early, in_vain, healed) == (Ticked(0, 0, 0), Ticked(0, 0, 1), Ticked(1, 2, 0))
    assert (_faults(units), units.state("e1").fault) == ([], None)
    assert units.rebuild(22).differed == ()
