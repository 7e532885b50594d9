"""What an event says, in one line: its values with their units, in the ward's words."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final
from zoneinfo import ZoneInfo

from server.domain.events import Event
from server.domain.payloads import Assigned, IdentityChecked, Observed
from server.domain.wording import CLOCK, clock_text, dated_time, temperature
from server.domain.words import Kind
from server.pages.event_forms.read import FAHRENHEIT
from server.pages.event_forms.words import (
    CONFIRMATIONS,
    CONSCIOUSNESS,
    FATES,
    FINDINGS,
    ITEMS,
    REACTION_STEPS,
    RECHECKS,
    SYMPTOMS,
)


@dataclass(frozen=True, slots=True)
class Speech:
    """What sentences are made with: the ward's zone and unit, and the names of the staff."""

    zone: ZoneInfo
    temperature_unit: str
    names: Mapping[str, str]
    now: datetime

    def name(self, staff_id: str | None) -> str:
        """The name of somebody, or what stands for it in the log."""
        return "" if staff_id is None else self.names.get(staff_id, staff_id)

    def time(self, instant: datetime) -> str:
        """A ward time, with its date when it is not today."""
        return dated_time(instant, self.zone, self.now)


def sentence(event: Event, speech: Speech) -> str:
    """Answer what an event says beyond its name; empty when its name says all."""
    if isinstance(event.payload, Assigned):
        return _assigned(event.payload.nurse_id, event.staff_id, speech)
    speak = _SPEAKERS.get(event.kind)
    return "" if speak is None else speak(event.payload, speech)


def signs_text(observed: Observed, speech: Speech) -> str:
    """Answer a set of vital signs in one line."""
    return ", ".join(_signs(observed, speech))


def checkers(check: IdentityChecked, speech: Speech) -> str:
    """Answer who checked identity, one person or two."""
    both = (check.first_by, check.second_by)
    return " and ".join(speech.name(who) for who in both if who is not None)


def temperature_text(celsius: float, unit: str) -> str:
    """Answer a temperature in the ward's unit."""
    return temperature(celsius, fahrenheit=unit == FAHRENHEIT)


def words_for(options: tuple[tuple[str, str], ...], value: str) -> str:
    """Answer the words of a choice; a value from elsewhere speaks for itself."""
    return dict(options).get(value, value.replace("_", " "))


def _signs(observed: Observed, speech: Speech) -> Iterator[str]:
    if observed.temperature_c is not None:
        yield temperature_text(observed.temperature_c, speech.temperature_unit)
    if observed.pulse_per_min is not None:
        yield f"pulse {observed.pulse_per_min:g}"
    if observed.respirations_per_min is not None:
        yield f"respirations {observed.respirations_per_min:g}"
    yield from _pressure(observed)
    if observed.spo2_percent is not None:
        oxygen = " on oxygen" if observed.on_oxygen else ""
        yield f"SpO₂ {observed.spo2_percent:g} %{oxygen}"
    if observed.consciousness is not None:
        yield words_for(CONSCIOUSNESS, observed.consciousness)
    yield from (words_for(SYMPTOMS, symptom) for symptom in observed.symptoms)


def _pressure(observed: Observed) -> Iterator[str]:
    if observed.systolic_mmhg is not None or observed.diastolic_mmhg is not None:
        yield f"{_figure(observed.systolic_mmhg)}/{_figure(observed.diastolic_mmhg)} mmHg"


def _figure(value: float | None) -> str:
    return "?" if value is None else f"{value:g}"


def _assigned(nurse_id: str, by: str | None, speech: Speech) -> str:
    """Who has the unit from then on: by taking it over, or by being handed it."""
    nurse = speech.name(nurse_id)
    if by is None:
        return nurse
    return f"taken over by {nurse}" if by == nurse_id else f"handed over to {nurse}"


def _issued(payload: Any, speech: Speech) -> str:
    said = [
        f"unit {payload.unit_number}" if payload.unit_number else "",
        payload.product_code or "",
        payload.blood_group or "",
        f"{payload.volume_ml:g} mL" if payload.volume_ml is not None else "",
        f"left storage {speech.time(payload.removed_at)}" if payload.removed_at else "",
        f"expires {speech.time(payload.expires_at)}" if payload.expires_at else "",
    ]
    return ", ".join(part for part in said if part)


def _inspected(payload: Any, _: Speech) -> str:
    found = ", ".join(words_for(FINDINGS, finding) for finding in payload.findings)
    return found or "sound"


def _identity(payload: Any, speech: Speech) -> str:
    wrong = ", ".join(words_for(ITEMS, item) for item in payload.mismatches)
    outcome = f"no match: {wrong}" if wrong else f"{len(payload.items)} items match"
    return f"{outcome}; {checkers(payload, speech)}{'; interrupted' if payload.interrupted else ''}"


def _set(payload: Any, _: Speech) -> str:
    return "" if payload.drops_per_ml is None else f"{payload.drops_per_ml} drops/mL"


def _confirmed(payload: Any, _: Speech) -> str:
    said = (words_for(CONFIRMATIONS, payload.step), payload.site, payload.gauge)
    return ", ".join(part for part in said if part)


def _started(payload: Any, _: Speech) -> str:
    said = [f"{payload.rate_ml_h:g} mL/h", payload.site or ""]
    if payload.override_reason:
        said.append(f"against a refusal: {payload.override_reason}")
    return ", ".join(part for part in said if part)


def _stopped(payload: Any, _: Speech) -> str:
    given = "" if payload.given_ml is None else f", {payload.given_ml:g} mL given"
    return f"{payload.reason}{given}"


def _symptoms(payload: Any, _: Speech) -> str:
    return ", ".join(words_for(SYMPTOMS, symptom) for symptom in payload.symptoms)


def _reaction_step(payload: Any, _: Speech) -> str:
    found = "" if payload.result is None else f": {words_for(RECHECKS, payload.result)}"
    return f"{words_for(REACTION_STEPS, payload.step)}{found}"


def _warned(payload: Any, _: Speech) -> str:
    unit = f", unit {payload.unit_number}" if payload.unit_number else ""
    return f"found in bed {payload.bed}{unit}"


def _resumed(payload: Any, speech: Speech) -> str:
    decided = f"decided by {payload.decided_by}" if payload.decided_by else ""
    return ", ".join(part for part in (_rate(payload, speech), decided) if part)


def _closed(payload: Any, _: Speech) -> str:
    named = f" ({payload.classification})" if payload.classification else ""
    return f"{payload.outcome}{named}"


def _cause(payload: Any, _: Speech) -> str:
    text = f": {payload.text}" if payload.text else ""
    return f"{clock_text(payload.clock, payload.n or 1)}, {payload.cause}{text}"


def _rate(payload: Any, _: Speech) -> str:
    return "" if payload.rate_ml_h is None else f"{payload.rate_ml_h:g} mL/h"


def _given(payload: Any, _: Speech) -> str:
    return "" if payload.given_ml is None else f"{payload.given_ml:g} mL given"


def _reason(payload: Any, _: Speech) -> str:
    return payload.reason or ""


_SPEAKERS: Final[Mapping[Kind, Callable[[Any, Speech], str]]] = {
    Kind.ISSUED: _issued,
    Kind.INSPECTED: _inspected,
    Kind.IDENTITY_CHECKED: _identity,
    Kind.OBSERVED: signs_text,
    Kind.SET_HUNG: _set,
    Kind.SET_CHANGED: _set,
    Kind.FLUSHED: lambda payload, _: f"{payload.volume_ml:g} mL of 0.9 % saline",
    Kind.CONFIRMED: _confirmed,
    Kind.STARTED: _started,
    Kind.RATE_SET: _rate,
    Kind.VOLUME_READ: _given,
    Kind.PAUSED: _reason,
    Kind.RESUMED: _resumed,
    Kind.REACTION_SUSPECTED: _symptoms,
    Kind.REACTION_STEP: _reaction_step,
    Kind.REACTION_CLOSED: _closed,
    Kind.WARNED: _warned,
    Kind.WARNING_CHECKED: lambda payload, _: payload.text,
    Kind.STOPPED: _stopped,
    Kind.COMPLETED: _given,
    Kind.RETURNED: _reason,
    Kind.DISCARDED: _reason,
    Kind.CANCELLED: _reason,
    Kind.FATE: lambda payload, _: words_for(FATES, payload.fate),
    Kind.ACKNOWLEDGED: lambda payload, speech: (
        f"{CLOCK[payload.clock]}: {speech.name(payload.staff_id)} has it"
    ),
    Kind.NOTE: lambda payload, _: payload.text,
    Kind.CAUSE_GIVEN: _cause,
    Kind.VOIDED: _reason,
}
