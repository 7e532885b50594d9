"""Invented facts, and a count of the queries that a piece of code sends."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import datetime
from typing import Any

from sqlalchemy import event, text

from server.domain.events import Event
from server.domain.payloads import Payload
from server.domain.request import Patient, Request
from server.domain.words import Level, Phase
from server.store.log import append_events, next_position
from server.store.sessions import WriteSession
from server.store.states import EpisodeState
from server.store.store import Store
from tests.domain import builders


def a_patient(patient_id: str = "p1", **fields: Any) -> Patient:
    """A patient of that id."""
    return replace(builders.PATIENT, id=patient_id, record_number=f"T-{patient_id}", **fields)


def a_request(episode_id: str = "e1", patient_id: str = "p1", **fields: Any) -> Request:
    """One unit on ward `w1`."""
    given = {"id": episode_id, "patient_id": patient_id, "ward_id": "w1"}
    return builders.request(**(given | fields))


def a_state(episode_id: str = "e1", **fields: Any) -> EpisodeState:
    """The state of an episode that was issued and changes no more by time alone."""
    given: dict[str, Any] = {
        "episode_id": episode_id,
        "ward_id": "w1",
        "patient_id": episode_id.replace("e", "p"),
        "bed": "4",
        "phase": Phase.ISSUED,
        "level": Level.STEADY,
        "revision": 1,
        "recorded_at": builders.at(-120),
        "last_recorded_at": builders.at(0),
        "first_at": builders.at(0),
    }
    return EpisodeState(**(given | fields))


def record(
    session: WriteSession,
    when: int | datetime,
    payload: Payload,
    *,
    episode_id: str | None = "e1",
    patient_id: str = "p1",
    **fields: Any,
) -> Event:
    """Append one event to the log and answer it."""
    place = next_position(session)
    recorded = builders.event(place, when, payload, episode_id=episode_id, **fields)
    append_events(session, [recorded], patient_id=patient_id, ward_id="w1")
    return recorded


@contextmanager
def counted_queries(store: Store) -> Iterator[list[tuple[str, Any]]]:
    """The statements sent to the database meanwhile, each with its parameters."""
    sent: list[tuple[str, Any]] = []

    def note(_connection: Any, _cursor: Any, statement: str, parameters: Any, *_: Any) -> None:
        sent.append((statement, parameters))

    for engine in (store.engines.reading, store.engines.writing):
        event.listen(engine, "before_cursor_execute", note)
    yield sent
    for engine in (store.engines.reading, store.engines.writing):
        event.remove(engine, "before_cursor_execute", note)


def analyze(store: Store) -> None:
    """Have the engine count what it holds, as a server does by itself from time to time."""
    with store.engines.writing.connect() as connection:
        connection.execution_options(isolation_level="AUTOCOMMIT").execute(text("ANALYZE"))


def plans_of(store: Store, act: Callable[[], object]) -> str:
    """How the engine goes about the queries that `act` sends."""
    with counted_queries(store) as sent:
        act()
    explain = "EXPLAIN QUERY PLAN " if store.address.startswith("sqlite") else "EXPLAIN "
    with store.engines.reading.connect() as connection:
        told = [connection.exec_driver_sql(explain + query, values).all() for query, values in sent]
    return "\n".join(str(row[-1]) for rows in told for row in rows)
