"""About the record itself."""

from typing import Final

from server.domain.words import Kind
from server.pages.event_forms.form import EventForm
from server.pages.forms.fields import Field, Shape

CHARTING: Final = (
    EventForm(
        Kind.ASSIGNED,
        "Nurse",
        "Assign",
        "Assigned",
        (Field("nurse_id", "Nurse", Shape.CHOICE, given="staff", required=True, empty="choose"),),
        tone="quiet",
        timed=False,
    ),
    EventForm(
        Kind.ACKNOWLEDGED,
        "“I have it”",
        "Record it",
        "“I have it”",
        (
            Field("clock", "Clock", Shape.CHOICE, given="clocks", required=True, empty="choose"),
            Field("staff_id", "Who has it", Shape.CHOICE, given="staff", required=True),
        ),
        tone="quiet",
        timed=False,
        note="Says that somebody has it in hand. It never meets the clock.",
    ),
    EventForm(
        Kind.NOTE,
        "Note",
        "Record the note",
        "Note",
        (Field("text", "Note", Shape.LONG_TEXT, required=True),),
        tone="quiet",
    ),
    EventForm(
        Kind.CAUSE_GIVEN,
        "Cause of a breach",
        "Record the cause",
        "Cause given",
        (
            Field("clock", "Limits that this explains", Shape.ANY_OF, given="breaches", bare=True),
            Field("cause", "Cause", Shape.CHOICE, given="causes", required=True, empty="choose"),
            Field("text", "In your words", Shape.LONG_TEXT, hint="Needed with “other”."),
        ),
        tone="quiet",
        timed=False,
    ),
    EventForm(
        Kind.VOIDED,
        "Void an entry",
        "Void this entry",
        "Voided an entry",
        (Field("reason", "What was the mistake", required=True),),
        tone="grave",
        timed=False,
        guarded=True,
    ),
)
