"""Scenes for the simulated nurses: cases of the domain, looked at while nobody is on a break."""

from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

from seed_demo.actors.plan import plan
from seed_demo.actors.scene import Scene, scene_of
from seed_demo.rota import BEFORE, shift_at
from seed_demo.told import CONFIRMED
from server.domain.payloads import Assigned, Issued, Payload
from server.domain.picture import Case
from server.domain.request import Patient
from tests.domain.builders import BASE, PATIENT, Fact, case, look

HER = Assigned("brandao")
FREE = BASE + BEFORE - timedelta(minutes=2)
"""When the demonstration begins if a shift is two minutes old at the base: no breaks for long."""


def at(minutes: float) -> datetime:
    """So many minutes after the base."""
    return BASE + timedelta(minutes=minutes)


def scene(*cases: Case, now: float, began: datetime = FREE) -> Scene:
    """What is seen so many minutes after the base."""
    instant = at(now)
    pictures = tuple(look(one, instant) for one in cases)
    return scene_of(pictures, now=instant, seed=1, shift=shift_at(began, instant))


def deeds(*cases: Case, now: float, began: datetime = FREE) -> list[tuple[str, type[Payload]]]:
    """Who does what then."""
    return [(deed.by, type(deed.payload)) for deed in plan(scene(*cases, now=now, began=began))]


def hers(*facts: Fact, **fields: Any) -> Case:
    """A unit that was given to Mateus Brandão, who confirmed what comes first, and handed over."""
    confirmed = ((-2, one) for one in CONFIRMED)
    return case(*confirmed, (-1, HER), (0, Issued()), *facts, **fields)


def of_patient(given: Case, key: str) -> Case:
    """The same unit, for another patient."""
    request = replace(given.request, patient_id=key)
    patient: Patient = replace(PATIENT, id=key)
    return replace(given, request=request, patient=patient)
