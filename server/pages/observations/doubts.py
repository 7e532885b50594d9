"""Implausible signs are asked about once: "It is so" on the same form records them."""

from datetime import datetime
from typing import Final

from server.domain.payloads import Observed, Payload
from server.domain.plausibility import Doubt, doubts
from server.domain.wording import figure
from server.pages.event_forms.read import FAHRENHEIT
from server.pages.forms.entry import Entry, Wrong
from server.services.read_episode import EpisodeRead

FIELD: Final = "confirmed"
SIGN: Final = {
    "temperature_c": "temperature",
    "pulse_per_min": "pulse",
    "respirations_per_min": "respirations",
    "systolic_mmhg": "systolic",
    "diastolic_mmhg": "diastolic",
    "spo2_percent": "SpO₂",
}


def require_confirmed(payload: Payload, typed: Entry, read: EpisodeRead, at: datetime) -> None:
    """Raise `Wrong` with a question beside each implausible sign, unless all were confirmed.

    A confirmation names the values it is about, so that another value is asked about again.
    """
    if not isinstance(payload, Observed):
        return
    asked = _doubts(payload, read, at)
    wanted = [f"{doubt.field}={doubt.value:g}" for doubt in asked]
    if set(wanted) <= set(typed.raw(FIELD).split()):
        return
    unit = read.ward.temperature_unit
    raise Wrong({doubt.field: question(doubt, unit) for doubt in asked}, confirm=" ".join(wanted))


def _doubts(observed: Observed, read: EpisodeRead, at: datetime) -> tuple[Doubt, ...]:
    case = read.picture.case
    earlier = [
        event.payload
        for event in read.picture.episode.observations
        if event.happened_at < at and isinstance(event.payload, Observed)
    ]
    return doubts(observed, case.patient, at.astimezone(case.zone).date(), earlier)


def question(doubt: Doubt, unit: str) -> str:
    """Ask about one sign, in the unit of the ward, with its value before."""
    side = "low" if doubt.low else "high"
    before = "" if doubt.before is None else f", {_figure(doubt.field, doubt.before, unit)} before"
    said = f"{SIGN[doubt.field]} {_figure(doubt.field, doubt.value, unit)}"
    return f"{said} is unusually {side}{before}. Is it so?"


def _figure(field: str, value: float, unit: str) -> str:
    return figure(field, value, fahrenheit=unit == FAHRENHEIT)
