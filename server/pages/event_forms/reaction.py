"""A suspected reaction."""

from typing import Final

from server.domain.words import Kind
from server.pages.event_forms.form import EventForm
from server.pages.event_forms.words import REACTION_STEPS, SYMPTOMS
from server.pages.forms.fields import Field, Shape

REACTION: Final = (
    EventForm(
        Kind.REACTION_SUSPECTED,
        "Suspected reaction",
        "Record a suspected reaction",
        "Reaction suspected",
        (
            Field(
                "symptoms",
                "What is seen or said",
                Shape.ANY_OF,
                options=SYMPTOMS,
                bare=True,
                hint="Nothing has to be ticked.",
            ),
            Field("symptoms_other", "Something else", bare=True),
        ),
        tone="grave",
        note="Pause and assess. Local policy and the clinician decide what follows.",
    ),
    EventForm(
        Kind.REACTION_STEP,
        "Step of the reaction procedure",
        "Record the step",
        "Reaction step done",
        (
            Field(
                "step", "Step", Shape.CHOICE, options=REACTION_STEPS, required=True, empty="choose"
            ),
        ),
    ),
    EventForm(
        Kind.REACTION_CLOSED,
        "Close the suspected reaction",
        "Close it",
        "Reaction closed",
        (
            Field("outcome", "Outcome", Shape.LONG_TEXT, required=True),
            Field("classification", "Classification, as the reviewer gave it"),
        ),
        tone="quiet",
    ),
)
