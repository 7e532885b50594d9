"""The unit between the blood bank and the ward."""

from typing import Final

from server.domain.words import BloodGroup, Fate, Kind
from server.pages.event_forms.form import EventForm
from server.pages.event_forms.words import ATTRIBUTES, BLOOD_GROUPS, FATES
from server.pages.forms.fields import Field, Shape

BEFORE: Final = (
    EventForm(Kind.AVAILABLE, "Ready at the blood bank", "It is ready", "Ready at the blood bank"),
    EventForm(
        Kind.ISSUED,
        "Issue",
        "Record the issue",
        "Issued",
        (
            Field(
                "removed_at",
                "Left controlled storage",
                Shape.INSTANT,
                hint="Only if earlier than the issue.",
            ),
            Field(
                "unit_number",
                "Unit number",
                hint="Scan it, or type it with the check character in the box.",
                scan="unit_number",
            ),
            Field("product_code", "Product code", scan="product"),
            Field("division", "Division", hint="00 if undivided.", scan="division"),
            Field(
                "blood_group",
                "Blood group of the unit",
                Shape.CHOICE,
                options=BLOOD_GROUPS,
                empty="as on the label",
                make=BloodGroup,
                scan="blood_group",
            ),
            Field(
                "expires_at", "Expires", Shape.INSTANT, hint="As on the label.", scan="expires_at"
            ),
            Field(
                "attributes",
                "What the label shows",
                Shape.ANY_OF,
                options=ATTRIBUTES,
                hint="Ticked by a scan of that label, or by hand.",
                scan="attributes",
            ),
            Field("volume_ml", "Volume of the unit", Shape.NUMBER, unit="mL", before="volume_ml"),
        ),
    ),
    EventForm(Kind.RECEIVED, "Receipt on the ward", "It is on the ward", "Received on the ward"),
    EventForm(
        Kind.CANCELLED,
        "Withdraw the request",
        "Withdraw the request",
        "Request withdrawn",
        (Field("reason", "Reason", required=True),),
        tone="grave",
    ),
)

AFTER: Final = (
    EventForm(
        Kind.FATE,
        "Fate of the bag",
        "Record the fate",
        "Fate recorded",
        (Field("fate", "The bag was", Shape.PICK, options=FATES, required=True, make=Fate),),
    ),
    EventForm(
        Kind.RETURNED,
        "Returned to the blood bank",
        "Record the return",
        "Returned",
        (Field("reason", "Reason"),),
        tone="quiet",
    ),
    EventForm(
        Kind.DISCARDED,
        "Discarded",
        "Record the discard",
        "Discarded",
        (Field("reason", "Reason", required=True),),
        tone="grave",
    ),
)
