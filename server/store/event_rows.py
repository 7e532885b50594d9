"""Between rows of the log and the domain's events."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from typing import Any, Final

from sqlalchemy import Column, ColumnElement, Select, select

from server.domain.encoding import decode, encode
from server.domain.events import Event
from server.domain.words import Kind
from server.store.sessions import ReadSession
from server.store.tables import EVENT

EVENT_COLUMNS: Final[Sequence[Column[Any]]] = (
    EVENT.c.id,
    EVENT.c.kind,
    EVENT.c.happened_at,
    EVENT.c.recorded_at,
    EVENT.c.payload,
    EVENT.c.recorded_by,
    EVENT.c.position,
    EVENT.c.staff_id,
    EVENT.c.episode_id,
)


def event_of(row: Sequence[Any]) -> Event:
    """The event of a row that begins with EVENT_COLUMNS."""
    identity, word, happened_at, recorded_at, payload, *rest = row[: len(EVENT_COLUMNS)]
    kind = Kind(word)
    return Event(identity, kind, happened_at, recorded_at, decode(kind, payload), *rest)


def parameters_of(event: Event, patient_id: str, ward_id: str | None) -> dict[str, Any]:
    """What to insert for an event."""
    return {
        "position": event.position,
        "id": event.id,
        "kind": event.kind.value,
        "happened_at": event.happened_at,
        "recorded_at": event.recorded_at,
        "recorded_by": event.recorded_by,
        "staff_id": event.staff_id,
        "episode_id": event.episode_id,
        "patient_id": patient_id,
        "ward_id": ward_id,
        "payload": encode(event.payload),
    }


def grouped_by(column: Column[Any], wanted: ColumnElement[bool]) -> Select[Any]:
    """A statement for the events that a condition holds for, to be grouped by a column."""
    return select(*EVENT_COLUMNS, column.label("group")).where(wanted)


def events_grouped(
    session: ReadSession, statement: Select[Any], parameters: Mapping[str, Any]
) -> dict[str, list[Event]]:
    """The events of a statement made by `grouped_by`, by the value of its column."""
    grouped: dict[str, list[Event]] = defaultdict(list)
    for row in session.rows(statement, parameters):
        grouped[row[-1]].append(event_of(row))
    return grouped
