"""Sets of vital signs: what makes one complete, and what is missing."""

from collections.abc import Iterable
from dataclasses import fields
from datetime import datetime
from functools import cache
from typing import Any, Final

from server.domain.events import Event
from server.domain.payloads import Observed

SIGNS: Final = tuple(field.name for field in fields(Observed) if field.name != "symptoms")
"""Every sign of a set, by its field."""

FIELDS_OF_SIGN: Final[dict[str, tuple[str, ...]]] = {
    "temperature": ("temperature_c",),
    "pulse": ("pulse_per_min",),
    "respirations": ("respirations_per_min",),
    "blood_pressure": ("systolic_mmhg", "diastolic_mmhg"),
    "spo2": ("spo2_percent",),
    "consciousness": ("consciousness",),
}


@cache
def _fields_of(required: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(field for sign in required for field in FIELDS_OF_SIGN[sign])


def missing_signs(observed: Observed, required: tuple[str, ...]) -> tuple[str, ...]:
    """Answer the required signs that the set lacks, by name."""
    return tuple(
        sign
        for sign in required
        if any(getattr(observed, field) is None for field in FIELDS_OF_SIGN[sign])
    )


def full_set_instants(observations: Iterable[Event], required: tuple[str, ...]) -> list[datetime]:
    """Answer when each full set was taken, in the order of `observations`.

    A partial set is kept and shown, and meets no check.
    """
    fields = _fields_of(required)
    return [event.happened_at for event in observations if _has_all(event.payload, fields)]


def _has_all(payload: Any, fields: tuple[str, ...]) -> bool:
    for field in fields:  # noqa: SIM110 - a plain loop: half the time of all() on the hot path
        if getattr(payload, field) is None:
            return False
    return True
