"""Databases for benchmarks: facts put in by the store's own functions, then worked out once."""

import sqlite3
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from itertools import count
from pathlib import Path
from typing import Final

from server.domain.request import Patient, Request
from server.domain.words import Component, Role
from server.policies import load_policies
from server.services.actor import Actor
from server.services.enter_ward import WardDraft, enter_ward
from server.store.log import append_events
from server.store.migrate import migrate
from server.store.patients import save_patient
from server.store.requests import add_requests
from server.store.sessions import WriteSession
from server.store.store import Store
from server.store.tables import CATALOGUE
from tests.benchmarks.stories import Story, told

ADMINISTRATOR: Final = Actor("administrator", "Administrator", Role.ADMINISTRATOR, None)
RENAMED: Final[dict[str, tuple[str, ...]]] = {
    "patient": ("id", "record_number"),
    "episode": ("id", "patient_id"),
    "event": ("id", "episode_id", "patient_id"),
    "episode_state": ("episode_id", "patient_id"),
    "clock_state": ("episode_id",),
}


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit of a patient of its own, whose story began at `begun` and is told up to `until`."""

    id: str
    ward_id: str
    bed: str
    story: Story
    begun: datetime
    until: datetime | None = None
    nurse_id: str | None = None


def new_store(file: Path, ward_ids: Iterable[str], now: datetime) -> Store:
    """A store on a new, migrated file with these wards, all under the common policy."""
    store = Store(f"sqlite:///{file}")
    migrate(store)
    policies = load_policies()
    with store.write() as session:
        for ward_id in ward_ids:
            draft = WardDraft(ward_id, f"Ward {ward_id}", "common", "Europe/London")
            enter_ward(session, ADMINISTRATOR, draft, policies, now=now - timedelta(days=400))
    return store


def add_units(store: Store, units: Sequence[Unit], *, after: int = 0) -> int:
    """Record patients, requests and events of units; the last place taken in the log."""
    places = count(after)
    place = next(places)
    with store.write() as session:
        for unit in units:
            save_patient(session, _patient(unit), recorded_at=unit.begun, recorded_by="n1")
        add_requests(session, [_request(unit) for unit in units])
        for unit in units:
            place = _add_events(session, unit, place)
    return place


def _add_events(session: WriteSession, unit: Unit, after: int) -> int:
    events = told(unit.story, unit.begun, unit.id, after=after, until=unit.until)
    append_events(session, events, patient_id=f"p-{unit.id}", ward_id=unit.ward_id)
    return after + len(events)


def _patient(unit: Unit) -> Patient:
    return Patient(
        id=f"p-{unit.id}",
        record_number=f"T-{unit.id}",
        family_name=f"Alder-{unit.id}",
        given_name="Ida",
        birth_date=date(1961, 5, 4),
        weight_kg=68,
    )


def _request(unit: Unit) -> Request:
    return Request(
        id=unit.id,
        patient_id=f"p-{unit.id}",
        ward_id=unit.ward_id,
        bed=unit.bed,
        component=Component.RED_CELLS,
        recorded_at=unit.begun - timedelta(hours=1),
        recorded_by="n1",
        volume_ml=280.0,
        requested_at=unit.begun - timedelta(hours=1),
        nurse_id=unit.nurse_id,
    )


def multiply(file: Path, beginning: str, copies: int, *, first: int = 1) -> None:
    """Copy every unit whose id begins so, with all its rows, as often as asked."""
    connection = sqlite3.connect(file)
    last = connection.execute("SELECT max(position) FROM event").fetchone()[0]
    for table in RENAMED:
        statement = _multiplication(table, last)
        connection.execute(statement, {"like": f"{beginning}%", "from": first, "copies": copies})
    connection.commit()
    connection.execute("ANALYZE")
    connection.close()


def _multiplication(table: str, last: int) -> str:
    columns = [column.name for column in CATALOGUE.tables[table].columns]
    copied = [_copied(table, column, last) for column in columns]
    key = {"patient": "substr(id, 3)", "episode": "id"}.get(table, "episode_id")
    return (
        "WITH RECURSIVE copy(k) AS "  # noqa: S608 - our own names
        "(SELECT :from UNION ALL SELECT k + 1 FROM copy WHERE k < :from + :copies - 1) "
        f"INSERT INTO {table} ({', '.join(map(_quoted, columns))}) "
        f"SELECT {', '.join(copied)} FROM {table}, copy WHERE {key} LIKE :like"
    )


def _copied(table: str, column: str, last: int) -> str:
    if column in RENAMED[table]:
        return f"{_quoted(column)} || '.' || k"
    return f"position + k * {last}" if column == "position" else _quoted(column)


def _quoted(column: str) -> str:
    return f'"{column}"'
