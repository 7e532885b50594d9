from datetime import timedelta

import pytest

from server.store.checks import is_anything_due, note_check
from server.store.errors import Away
from server.store.heartbeat import Beat, last_beat
from server.store.patients import save_patient
from server.store.requests import add_requests
from server.store.states import save_states
from server.store.store import Store
from server.store.wards import Ward, add_ward, list_wards
from tests.domain.builders import at
from tests.store.facts import a_patient, a_request, a_state


@pytest.fixture(autouse=True)
def _two_wards(store: Store) -> None:
    with store.write() as session:
        for ward_id in ("w1", "w2"):
            add_ward(session, Ward(ward_id, f"Ward {ward_id}", "Europe/London", at(-60)))


def test_nothing_is_due_on_an_empty_board(store: Store) -> None:
    with store.read() as session:
        assert is_anything_due(session, at(0)) is False


def test_a_change_is_due_at_its_instant_and_not_a_second_before(store: Store) -> None:
    with store.write() as session:
        save_patient(session, a_patient(), recorded_at=at(-60), recorded_by="n1")
        add_requests(session, [a_request("e1"), a_request("e2")])
        states = [a_state("e1", next_change_at=at(5)), a_state("e2", next_change_at=None)]
        save_states(session, states)
    with store.read() as session:
        second = timedelta(seconds=1)
        instants = (at(5) - second, at(5), at(5) + second)
        assert [is_anything_due(session, now) for now in instants] == [False, True, True]


def test_a_check_is_noted_on_every_ward_and_as_the_beat_of_its_job(store: Store) -> None:
    for minute in (0, 1):
        with store.write() as session:
            note_check(session, "tick", at(minute))
    with store.read() as session:
        assert [ward.checked_at for ward in list_wards(session)] == [at(1), at(1)]
        assert last_beat(session, "tick") == Beat("tick", at(1))
        assert [ward.revision for ward in list_wards(session)] == [0, 0]


def test_a_check_on_a_database_that_is_lost_says_so(store: Store) -> None:
    with store.write() as session, pytest.raises(Away):
        session.plain("SELECT missing FROM ward")
