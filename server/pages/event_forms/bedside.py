"""Checks at the bedside."""

from typing import Final

from server.domain import limits
from server.domain.words import Consciousness, Kind
from server.pages.event_forms.form import EventForm
from server.pages.event_forms.words import CONSCIOUSNESS, FINDINGS, GAS, SYMPTOMS
from server.pages.forms.fields import Field, Shape

BEDSIDE: Final = (
    EventForm(
        Kind.INSPECTED,
        "Inspection of the bag",
        "Record the inspection",
        "Bag inspected",
        (
            Field(
                "findings",
                "What is wrong with the bag",
                Shape.ANY_OF,
                options=FINDINGS,
                bare=True,
                hint="Tick nothing if the bag is sound. Anything ticked refuses the start.",
            ),
        ),
    ),
    EventForm(
        Kind.IDENTITY_CHECKED,
        "Identity check at the bedside",
        "Record the identity check",
        "Identity checked",
    ),
    EventForm(
        Kind.OBSERVED,
        "Observations",
        "Record the observations",
        "Observations",
        (
            Field(
                "temperature_c",
                "Temperature",
                Shape.NUMBER,
                unit="°C",
                before="temperature_c",
                most=limits.TEMPERATURE_C[1],
            ),
            Field(
                "pulse_per_min",
                "Pulse",
                Shape.NUMBER,
                unit="per min",
                before="pulse_per_min",
                most=limits.PULSE_PER_MIN[1],
            ),
            Field(
                "respirations_per_min",
                "Respirations",
                Shape.NUMBER,
                unit="per min",
                before="respirations_per_min",
                most=limits.RESPIRATIONS_PER_MIN[1],
            ),
            Field(
                "systolic_mmhg",
                "Systolic",
                Shape.NUMBER,
                unit="mmHg",
                before="systolic_mmhg",
                most=limits.SYSTOLIC_MMHG[1],
            ),
            Field(
                "diastolic_mmhg",
                "Diastolic",
                Shape.NUMBER,
                unit="mmHg",
                before="diastolic_mmhg",
                most=limits.DIASTOLIC_MMHG[1],
            ),
            Field(
                "spo2_percent",
                "SpO₂",
                Shape.NUMBER,
                unit="%",
                before="spo2_percent",
                most=limits.SPO2_PERCENT[1],
            ),
            Field(
                "on_oxygen",
                "Air or oxygen",
                Shape.YES_NO,
                options=GAS,
                empty="not noted",
                before="on_oxygen",
            ),
            Field(
                "consciousness",
                "Consciousness",
                Shape.PICK,
                options=CONSCIOUSNESS,
                empty="not assessed",
                before="consciousness",
                make=Consciousness,
            ),
            Field("symptoms", "New symptoms", Shape.ANY_OF, options=SYMPTOMS, bare=True),
            Field("symptoms_other", "Another symptom", bare=True),
        ),
    ),
)
