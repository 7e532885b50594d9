"""Sets of vital signs typed on the page of a running unit."""

from dataclasses import replace
from typing import Any, Final

from server.domain.words import Consciousness
from server.services.enter_ward import enter_ward
from tests.domain.builders import FULL, POLICIES, at
from tests.pages.hospital import Hospital, Visit
from tests.pages.reading import Page
from tests.services.people import ADMINISTRATOR, CHILD, NURSE, WARD_1, register

WHOLE: Final = replace(FULL, spo2_percent=97, on_oxygen=False, consciousness=Consciousness.ALERT)
TYPED: Final = {
    "temperature_c": "36.8",
    "pulse_per_min": "78",
    "respirations_per_min": "16",
    "systolic_mmhg": "124",
    "diastolic_mmhg": "76",
}


def sets(hospital: Hospital) -> list[Any]:
    """The sets that are stored."""
    read = hospital.charting.episode(hospital.clock.now)
    return [event.payload for event in read.observations]


def saved(nurse: Visit, **typed: str | list[str]) -> Page:
    """The page after a set was recorded on it."""
    return nurse.see(nurse.done("/episodes/e1", "first-observed", **typed))


def asked(hospital: Hospital, **typed: str) -> Page:
    """The page that asks about a set, or refuses it."""
    answer = hospital.visit(NURSE).send("/episodes/e1", "first-observed", **(TYPED | typed))
    assert answer.status_code == 422
    return Page(answer.text)


def in_fahrenheit(hospital: Hospital) -> None:
    """Let the ward measure in °F."""
    with hospital.store.write() as session:
        draft = replace(WARD_1, temperature_unit="F")
        enter_ward(session, ADMINISTRATOR, draft, POLICIES, now=at(-500))


def as_child(hospital: Hospital) -> None:
    """Let the patient be six years old."""
    with hospital.store.write() as session:
        register(session, replace(CHILD, id="p1", record_number="T000001"), minute=-5)
