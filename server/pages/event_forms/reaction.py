"""A suspected reaction, and a warning that came from the next bed."""

from typing import Final

from server.domain.words import Kind, Recheck
from server.pages.event_forms.form import EventForm
from server.pages.event_forms.words import REACTION_STEPS, RECHECKS, SYMPTOMS
from server.pages.forms.fields import Field, Shape

REACTION: Final = (
    EventForm(
        Kind.REACTION_SUSPECTED,
        "Suspected reaction",
        "Record what is seen",
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
            Field(
                "result",
                "Identity again",
                Shape.CHOICE,
                options=RECHECKS,
                empty="another step",
                hint="Only with the step that checks identity again.",
                make=Recheck,
            ),
        ),
    ),
    EventForm(
        Kind.REACTION_CLOSED,
        "Close the suspected reaction",
        "Close it",
        "Reaction closed",
        (
            Field("outcome", "Outcome", Shape.PICK, given="outcomes", required=True),
            Field("outcome_text", "In words", Shape.LONG_TEXT),
            Field("classification", "Classification, as the reviewer gave it"),
        ),
        tone="quiet",
        note="Whether the unit goes on is for the clinician to decide, and is recorded apart.",
    ),
    EventForm(
        Kind.WARNED,
        "Warning of an identity error",
        "Record the warning",
        "Warned of an identity error",
        (
            Field("episode_id", "Unit it was found with", required=True),
            Field("bed", "Bed it was found in", required=True),
            Field("unit_number", "Unit number"),
        ),
        tone="grave",
    ),
    EventForm(
        Kind.WARNING_CHECKED,
        "The warning is checked",
        "This unit and this patient are checked",
        "Warning checked",
        (Field("text", "What was found", Shape.LONG_TEXT, required=True),),
    ),
)
