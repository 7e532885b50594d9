"""Events and observations, as answered."""

from datetime import timedelta
from typing import Any

from pydantic import ConfigDict

from server.api.answers.numbers import rounded
from server.api.fields import Given
from server.api.instants import Moment
from server.domain.encoding import encode
from server.domain.events import Event
from server.domain.observations import missing_signs
from server.domain.payloads import Observed
from server.domain.words import Consciousness, Kind


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


class ObservationAnswer(Given):
    """One set of vital signs; `missing` names the required signs that it lacks."""

    event_id: str
    happened_at: Moment
    recorded_at: Moment
    recorded_by: str
    staff_id: str | None
    temperature_c: float | None
    pulse_per_min: float | None
    respirations_per_min: float | None
    systolic_mmhg: float | None
    diastolic_mmhg: float | None
    spo2_percent: float | None
    on_oxygen: bool | None
    consciousness: Consciousness | None
    symptoms: list[str]
    complete: bool
    missing: list[str]


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


def observation_answer(event: Event, required: tuple[str, ...]) -> ObservationAnswer:
    """One set of vital signs, judged by the `required` signs of the policy."""
    observed = event.payload
    if not isinstance(observed, Observed):
        raise TypeError(f"{event.kind} is no observation")
    missing = missing_signs(observed, required)
    return ObservationAnswer(
        event_id=event.id,
        happened_at=event.happened_at,
        recorded_at=event.recorded_at,
        recorded_by=event.recorded_by,
        staff_id=event.staff_id,
        temperature_c=rounded(observed.temperature_c),
        pulse_per_min=rounded(observed.pulse_per_min),
        respirations_per_min=rounded(observed.respirations_per_min),
        systolic_mmhg=rounded(observed.systolic_mmhg),
        diastolic_mmhg=rounded(observed.diastolic_mmhg),
        spo2_percent=rounded(observed.spo2_percent),
        on_oxygen=observed.on_oxygen,
        consciousness=observed.consciousness,
        symptoms=list(observed.symptoms),
        complete=not missing,
        missing=list(missing),
    )
