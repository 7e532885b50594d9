"""An invented patient and small cases: facts told by minutes from one base instant."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any, Final

import pytest

from server.domain.clock import Clock, state_at
from server.domain.clocks import schedule
from server.domain.events import Event
from server.domain.facts import Facts, HungSet
from server.domain.fold import fold
from server.domain.gate import gaps_before_start
from server.domain.payloads import (
    PAYLOADS,
    CheckedItem,
    IdentityChecked,
    Inspected,
    Issued,
    Observed,
    Payload,
    Started,
)
from server.domain.picture import Case, Picture, picture
from server.domain.policy import Policy
from server.domain.reaction import Elsewhere
from server.domain.request import Patient, Request
from server.domain.words import ClockName, ClockState, Component, Kind
from server.policies import load_policies

BASE: Final = datetime(2026, 3, 3, 10, 0, tzinfo=UTC)
POLICIES: Final = load_policies()
COMMON: Final = POLICIES["common"]
KIND_OF: Final = {payload: kind for kind, payload in PAYLOADS.items()}
FULL: Final = Observed(
    temperature_c=36.8,
    pulse_per_min=78,
    respirations_per_min=16,
    systolic_mmhg=124,
    diastolic_mmhg=76,
)
PARTIAL: Final = replace(FULL, temperature_c=None)
CHECKED: Final = IdentityChecked(
    first_by="nurse-1", second_by="nurse-2", items=(CheckedItem("name", matched=True),)
)
SOUND: Final = Inspected()
PATIENT: Final = Patient(
    id="patient-1",
    record_number="T000001",
    family_name="Alder",
    given_name="Ida",
    birth_date=date(1961, 5, 4),
    weight_kg=68,
)

Fact = tuple[int | datetime, Payload]


def at(minutes: float = 0, seconds: int = 0) -> datetime:
    """The instant so many minutes and seconds after the base."""
    return BASE + timedelta(minutes=minutes, seconds=seconds)


def around(boundary: datetime) -> tuple[datetime, datetime, datetime]:
    """The second before, the boundary itself and the second after."""
    second = timedelta(seconds=1)
    return boundary - second, boundary, boundary + second


def told(*facts: Fact | Event) -> tuple[Event, ...]:
    """Events of the facts, recorded the second they happened, with ids from `e1` on."""
    return tuple(
        fact if isinstance(fact, Event) else event(place, *fact)
        for place, fact in enumerate(facts, 1)
    )


def event(place: int, when: int | datetime, payload: Payload, **fields: Any) -> Event:
    """One event; `place` is its place in the log."""
    happened_at = when if isinstance(when, datetime) else at(when)
    given: dict[str, Any] = {
        "id": f"e{place}",
        "kind": KIND_OF[type(payload)],
        "happened_at": happened_at,
        "recorded_at": happened_at,
        "recorded_by": "nurse-1",
        "payload": payload,
        "position": place,
    }
    return Event(**(given | fields))


def request(**fields: Any) -> Request:
    """One unit of red cells, 280 mL, bed 4."""
    given: dict[str, Any] = {
        "id": "episode-1",
        "patient_id": "patient-1",
        "ward_id": "ward-1",
        "bed": "4",
        "component": Component.RED_CELLS,
        "recorded_at": at(-120),
        "recorded_by": "nurse-1",
        "volume_ml": 280.0,
    }
    return Request(**(given | fields))


def case(
    *facts: Fact | Event,
    policy: Policy = COMMON,
    patient: Patient = PATIENT,
    line: tuple[HungSet, ...] = (),
    elsewhere: tuple[Elsewhere, ...] = (),
    zone: Any = UTC,
    **fields: Any,
) -> Case:
    """The case of one unit; further fields are those of the request."""
    return Case(request(**fields), patient, policy, told(*facts), zone, line, elsewhere)


def running(*facts: Fact | Event, rate: float = 60, **fields: Any) -> Case:
    """Issued at the base, started at 10 min."""
    return case((0, Issued()), (10, Started(rate)), *facts, **fields)


def facts_from(given: Case) -> Facts:
    """What the schedule is worked out from."""
    return given.facts_of(fold(given.request, given.events))


def lacking(given: Case, now: datetime) -> tuple[str, ...]:
    """What still has to be done before the start, in words."""
    return tuple(gap.detail for gap in gaps_before_start(facts_from(given), now))


def clocks(given: Case, name: ClockName) -> list[Clock]:
    """The clocks of one name."""
    return [clock for clock in schedule(facts_from(given)) if clock.name is name]


def clock(given: Case, name: ClockName, n: int = 1) -> Clock:
    """The clock of one name and number."""
    (found,) = [clock for clock in clocks(given, name) if clock.n == n]
    return found


def states(given: Case, name: ClockName, *instants: datetime, n: int = 1) -> list[ClockState]:
    """How a clock stands at each of the instants, all facts known."""
    found = clock(given, name, n)
    return [state_at(found, now) for now in instants]


def states_as_lived(given: Case, name: ClockName, *instants: datetime) -> list[ClockState | None]:
    """How a clock stood at each instant with the facts until then; None: it was not there."""
    return [_state_then(given.known(at=now), name, now) for now in instants]


def _state_then(given: Case, name: ClockName, now: datetime) -> ClockState | None:
    found = clocks(given, name)
    return state_at(found[0], now) if found else None


def look(given: Case, now: datetime) -> Picture:
    """The picture with what had happened by the instant."""
    return picture(given.known(at=now), now)


def with_policy(**changes: Any) -> Policy:
    """The common policy with some values changed."""
    return replace(COMMON, **changes)


def kinds(events: tuple[Event, ...]) -> list[Kind]:
    """The kinds of the events, in the order they stand."""
    return [item.kind for item in events]


def near(value: float) -> Any:
    """The value within what floats lose."""
    return pytest.approx(value)
