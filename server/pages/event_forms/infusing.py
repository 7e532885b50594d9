"""The line and the infusion, from the spike to the end."""

from typing import Final

from server.domain.words import Kind
from server.pages.event_forms.form import EventForm
from server.pages.event_forms.words import STOP_REASONS
from server.pages.forms.fields import Field, Shape

_GIVEN_ML: Final = Field(
    "given_ml",
    "Volume given",
    Shape.NUMBER,
    unit="mL",
    before="given_ml",
    hint="As the pump or the bag shows it.",
)

_SET: Final = Field(
    "drops_per_ml",
    "Giving set",
    Shape.CHOICE,
    given="giving_sets",
    empty="the usual one",
    hint="As its pack says.",
    make=int,
)

INFUSING: Final = (
    EventForm(Kind.SPIKED, "Bag spiked", "The bag is spiked", "Bag spiked"),
    EventForm(
        Kind.SET_HUNG, "Giving set hung", "The giving set is hung", "Giving set hung", (_SET,)
    ),
    EventForm(
        Kind.STARTED,
        "Start",
        "Record the start",
        "Started",
        (
            Field(
                "rate_ml_h",
                "Rate at the start",
                Shape.NUMBER,
                unit="mL/h",
                required=True,
                before="first_rate",
            ),
            Field("site", "Site of the cannula"),
            Field(
                "override_reason",
                "Reason for starting without it",
                Shape.LONG_TEXT,
                only_if="missing",
                bare=True,
                hint="Needed. It stays visible for ever, on this page, the board and in print.",
            ),
        ),
        guarded=True,
    ),
    EventForm(
        Kind.RATE_SET,
        "Another rate",
        "Record the rate",
        "Rate set",
        (
            Field(
                "rate_ml_h",
                "New rate",
                Shape.NUMBER,
                unit="mL/h",
                required=True,
                before="rate_ml_h",
            ),
        ),
        guarded=True,
    ),
    EventForm(
        Kind.VOLUME_READ,
        "Reading of the volume",
        "Record the reading",
        "Volume read",
        (
            Field(
                "given_ml",
                "Volume given so far",
                Shape.NUMBER,
                unit="mL",
                required=True,
                before="given_ml",
            ),
        ),
    ),
    EventForm(
        Kind.PAUSED,
        "Pause",
        "Record the pause",
        "Paused",
        (Field("reason", "Reason"),),
    ),
    EventForm(
        Kind.RESUMED,
        "End of the pause",
        "Record the end of the pause",
        "Resumed",
        (
            Field(
                "rate_ml_h",
                "Rate",
                Shape.NUMBER,
                unit="mL/h",
                before="rate_before_pause",
                hint="Left empty: the rate before the pause.",
            ),
            Field(
                "decided_by",
                "Clinician who decided it",
                only_if="reaction",
                hint="A reaction is suspected: resuming is the decision of a clinician.",
            ),
        ),
        guarded=True,
    ),
    EventForm(
        Kind.SET_CHANGED,
        "Giving set changed",
        "The giving set is changed",
        "Giving set changed",
        (_SET,),
    ),
)

ENDING: Final = (
    EventForm(Kind.COMPLETED, "Completed", "The unit is in", "Completed", (_GIVEN_ML,)),
    EventForm(
        Kind.STOPPED,
        "Stopped before the end",
        "Record the stop",
        "Stopped",
        (
            Field(
                "reason",
                "Reason",
                Shape.CHOICE,
                options=STOP_REASONS,
                required=True,
                empty="choose",
            ),
            _GIVEN_ML,
        ),
        tone="grave",
    ),
    EventForm(
        Kind.FLUSHED,
        "Flush",
        "Record the flush",
        "Flushed",
        (
            Field(
                "volume_ml",
                "Volume of 0.9 % saline",
                Shape.NUMBER,
                unit="mL",
                required=True,
            ),
        ),
    ),
)
