"""The bare parts of a tick: plain SQL on the driver, with and without the work of the domain."""

import json
import sqlite3
from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any, Final

from server.domain.crossings import Crossing, crossings
from server.domain.encoding import decode
from server.domain.events import Event
from server.domain.picture import Case
from server.domain.policy import Policy
from server.domain.reminders import Reminder
from server.domain.request import Patient, Request
from server.domain.words import Component, Kind
from server.services.derived import Derived, derive

DUE: Final = (
    "SELECT episode_id, ward_id, revision, next_change_at FROM episode_state "
    "WHERE next_change_at <= ? ORDER BY next_change_at, episode_id LIMIT 5000"
)
CHECKED: Final = "UPDATE ward SET checked_at = ?"
BEAT: Final = (
    "INSERT INTO heartbeat (name, at) VALUES ('tick', ?) "
    "ON CONFLICT (name) DO UPDATE SET at = excluded.at"
)
EVENTS: Final = (
    "SELECT id, kind, happened_at, recorded_at, payload, recorded_by, position, staff_id, "
    "episode_id FROM event WHERE episode_id IN ({}) ORDER BY position"
)
REQUESTS: Final = (
    "SELECT e.id, e.patient_id, e.ward_id, e.bed, e.component, e.recorded_at, e.recorded_by, "
    "e.volume_ml, p.record_number, p.family_name, p.given_name, p.birth_date, p.weight_kg "
    "FROM episode e JOIN patient p ON p.id = e.patient_id WHERE e.id IN ({})"
)

WorkedOut = tuple[Derived, list[Crossing], tuple[Reminder, ...]]

Rows = dict[str, list[tuple[Any, ...]]]
"""Whole rows by table; a table without any is absent."""


def connect(file: Path) -> sqlite3.Connection:
    """A connection as safe as the product's own."""
    connection = sqlite3.connect(file, isolation_level=None)
    connection.execute("PRAGMA journal_mode = WAL")
    connection.execute("PRAGMA synchronous = FULL")
    connection.execute("PRAGMA foreign_keys = ON")
    return connection


def rfc3339(at: datetime) -> str:
    """An instant as it is stored."""
    return f"{at.replace(tzinfo=None).isoformat()}Z"


def tick(connection: sqlite3.Connection, now: datetime, rows: Rows) -> int:
    """Ask what is due, write these rows, note the check; how many were due."""
    connection.execute("BEGIN IMMEDIATE")
    due = connection.execute(DUE, (rfc3339(now),)).fetchall()
    _write(connection, now, rows)
    connection.execute("COMMIT")
    return len(due)


def tick_and_work_out(
    connection: sqlite3.Connection, now: datetime, rows: Rows, policy: Policy
) -> list[WorkedOut]:
    """The same, but read the facts of what is due and have the domain work them out."""
    connection.execute("BEGIN IMMEDIATE")
    due = connection.execute(DUE, (rfc3339(now),)).fetchall()
    cases = _cases(connection, [row[0] for row in due], policy)
    derived = [_work_out(case, now) for case in cases]
    _write(connection, now, rows)
    connection.execute("COMMIT")
    return derived


def _work_out(case: Case, now: datetime) -> WorkedOut:
    """All that the domain has to say of a unit: how it stands, what it crossed, what it owes."""
    derived = derive(case, now)
    crossed = [one for clock, _ in derived.picture.clocks for one in crossings(clock, None, now)]
    return derived, crossed, derived.picture.reminders


def _write(connection: sqlite3.Connection, now: datetime, rows: Rows) -> None:
    for table, listed in rows.items():
        places = ", ".join("?" * len(listed[0]))
        connection.executemany(f"REPLACE INTO {table} VALUES ({places})", listed)  # noqa: S608 - our names
    connection.execute(CHECKED, (rfc3339(now),))
    connection.execute(BEAT, (rfc3339(now),))


def _cases(connection: sqlite3.Connection, ids: Sequence[str], policy: Policy) -> list[Case]:
    wanted = ", ".join("?" * len(ids))
    events: dict[str, list[Event]] = defaultdict(list)
    for row in connection.execute(EVENTS.format(wanted), ids):
        events[row[-1]].append(_event(row))
    requests = connection.execute(REQUESTS.format(wanted), ids)
    return [_case(row, events[row[0]], policy) for row in requests]


def _event(row: tuple[Any, ...]) -> Event:
    event_id, word, happened_at, recorded_at, payload, *rest = row
    kind = Kind(word)
    return Event(
        event_id,
        kind,
        datetime.fromisoformat(happened_at),
        datetime.fromisoformat(recorded_at),
        decode(kind, json.loads(payload)),
        *rest,
    )


def _case(row: tuple[Any, ...], events: Iterable[Event], policy: Policy) -> Case:
    episode_id, patient_id, ward_id, bed, component, recorded_at, recorded_by, volume_ml = row[:8]
    request = Request(
        id=episode_id,
        patient_id=patient_id,
        ward_id=ward_id,
        bed=bed,
        component=Component(component),
        recorded_at=datetime.fromisoformat(recorded_at),
        recorded_by=recorded_by,
        volume_ml=volume_ml,
    )
    record_number, family_name, given_name, birth_date, weight_kg = row[8:]
    patient = Patient(
        id=patient_id,
        record_number=record_number,
        family_name=family_name,
        given_name=given_name,
        birth_date=date.fromisoformat(birth_date),
        weight_kg=weight_kg,
    )
    return Case(request, patient, policy, tuple(events), UTC)
