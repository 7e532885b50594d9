"""Events, as answered."""

from datetime import timedelta
from typing import Any

from pydantic import ConfigDict

from server.api.fields import Given
from server.api.instants import Moment
from server.domain.encoding import encode
from server.domain.events import Event
from server.domain.words import Kind


class EventAnswer(Given):
    """One fact, with the fields of its kind beside these. A voided one names what voided it."""

    model_config = ConfigDict(frozen=True, extra="allow")

    id: str
    kind: Kind
    happened_at: Moment
    recorded_at: Moment
    recorded_by: str
    staff_id: str | None
    late_entry: bool
    voided_by: str | None


def event_answer(event: Event, void: Event | None, late: timedelta) -> EventAnswer:
    """One fact; it is a late entry if it was recorded more than `late` after it happened."""
    facts: dict[str, Any] = encode(event.payload)
    return EventAnswer(
        **facts
        | {
            "id": event.id,
            "kind": event.kind,
            "happened_at": event.happened_at,
            "recorded_at": event.recorded_at,
            "recorded_by": event.recorded_by,
            "staff_id": event.staff_id or facts.get("staff_id"),
            "late_entry": event.is_late_entry(late),
            "voided_by": None if void is None else void.id,
        }
    )
