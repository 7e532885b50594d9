"""Each episode gets its own events and its patient's observations, and nobody else's."""

from dataclasses import replace

import pytest

from server.domain.events import Event
from server.domain.payloads import Issued, Note, Observed, Voided
from server.domain.request import Request
from server.store.episode_events import Window, events_of_episode, events_of_episodes
from server.store.patients import save_patient
from server.store.requests import add_requests
from server.store.store import Store
from server.store.wards import Ward
from tests.domain.builders import at
from tests.store.facts import a_patient, a_request, counted_queries, record

WARM = Observed(temperature_c=37.9)
E1, E2, E3 = a_request("e1", "p1"), a_request("e2", "p2"), a_request("e3", "p1")
NEAR = Window(at(0), at(60))


@pytest.fixture(autouse=True)
def _second_episode(store: Store, ward: Ward) -> None:
    with store.write() as session:
        add_requests(session, [replace(E3, ward_id=ward.id)])


def test_events_come_in_bedside_order_and_ties_as_recorded(store: Store) -> None:
    with store.write() as session:
        late = record(session, 9, Note("late"))
        first = record(session, 0, Issued())
        second = record(session, 0, Note("second"))

    assert _events(store, E1) == (first, second, late)


def test_an_observation_serves_every_episode_of_its_patient_and_no_other(store: Store) -> None:
    with store.write() as session:
        on_patient = record(session, 1, WARM, episode_id=None)
        on_first = record(session, 2, WARM)
        record(session, 3, Note("of the first unit alone"))
        of_other = record(session, 4, WARM, episode_id="e2", patient_id="p2")

    assert (_events(store, E3), _events(store, E2)) == ((on_patient, on_first), (of_other,))


@pytest.mark.parametrize(
    ("window", "minutes"),
    [
        (Window(), [-30, 0, 30, 60, 90]),
        (Window(at(0), at(60)), [0, 30, 60]),
        (Window(from_at=at(0)), [0, 30, 60, 90]),
        (Window(until=at(60)), [-30, 0, 30, 60]),
    ],
    ids=["always", "both", "from", "until"],
)
def test_only_observations_inside_the_window_come(
    store: Store, window: Window, minutes: list[int]
) -> None:
    with store.write() as session:
        for minute in (-30, 0, 30, 60, 90):
            record(session, minute, WARM, episode_id=None)

    with store.read() as session:
        found = events_of_episode(session, E1, window)

    assert [event.happened_at for event in found] == [at(minute) for minute in minutes]


def test_own_events_and_own_observations_come_from_outside_the_window_too(store: Store) -> None:
    with store.write() as session:
        issued = record(session, -90, Issued())
        observed = record(session, -80, WARM)
        void = record(session, 300, Voided(observed.id, "wrong patient"))

    with store.read() as session:
        found = events_of_episodes(session, [E1, E3], {"e1": NEAR, "e3": NEAR})

    assert found == {"e1": (issued, observed, void), "e3": ()}


def test_voids_follow_the_observation_they_void_wherever_they_were_recorded(store: Store) -> None:
    with store.write() as session:
        inside = record(session, 5, WARM)
        outside = record(session, 99, WARM, episode_id=None)
        void = record(session, 300, Voided(inside.id, "wrong patient"))
        record(session, 300, Voided(outside.id, "wrong patient"), episode_id=None)
        void_of_void = record(session, 301, Voided(void.id, "right after all"), episode_id=None)

    served = (inside, void, void_of_void)
    with store.read() as session:
        found = events_of_episodes(session, [E1, E3], {"e1": NEAR, "e3": NEAR})
    assert found == {"e1": served, "e3": served}


def test_an_episode_without_events_has_none(store: Store) -> None:
    assert _events(store, E1) == ()


@pytest.mark.parametrize("episodes", [1, 3])
def test_many_episodes_take_as_few_queries_as_one(store: Store, episodes: int) -> None:
    requests = [E1, E2, E3][:episodes]

    with store.read() as session, counted_queries(store) as sent:
        events_of_episodes(session, requests)

    assert len(sent) == 2


def test_more_episodes_than_a_statement_carries_are_read_in_pieces(store: Store) -> None:
    with store.write() as session:
        save_patient(session, a_patient("p9"), recorded_at=at(0), recorded_by="importer")
        many = [a_request(f"m{number}", "p9") for number in range(501)]
        add_requests(session, many)
        observed = record(session, 1, WARM, episode_id=None, patient_id="p9")

    with store.read() as session:
        found = events_of_episodes(session, many)

    assert found == {request.id: (observed,) for request in many}


def _events(store: Store, request: Request) -> tuple[Event, ...]:
    with store.read() as session:
        return events_of_episode(session, request)
