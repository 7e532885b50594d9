"""The steps of the pathway that somebody confirms: one form each."""

from typing import Final

from server.domain.words import Confirmation, Kind
from server.pages.event_forms.form import EventForm
from server.pages.forms.fields import Field

LOCAL: Final = "Common practice; local policy decides."

_SITE: Final = Field("site", "Site of the cannula")
_GAUGE: Final = Field("gauge", "Gauge")

CONFIRMING: Final[dict[Confirmation, EventForm]] = {
    form.step: form
    for form in (
        EventForm(
            Kind.CONFIRMED,
            "Order and consent",
            "Order and consent confirmed",
            "Confirmed",
            note="The order is complete, and the patient has agreed to it.",
            step=Confirmation.ORDER_CONSENT,
        ),
        EventForm(
            Kind.CONFIRMED,
            "Group and sample",
            "Group and sample are valid",
            "Confirmed",
            note="How long a sample is valid, the laboratory and local policy say.",
            step=Confirmation.GROUP_SAMPLE,
        ),
        EventForm(
            Kind.CONFIRMED,
            "Line and access",
            "Line and access checked",
            "Confirmed",
            (_SITE, _GAUGE),
            note=f"Port cleaned for 15 s. Only 0.9 % saline shares the line. {LOCAL}",
            step=Confirmation.ACCESS,
        ),
        EventForm(
            Kind.CONFIRMED,
            "Collected, on its way",
            "It is collected",
            "Confirmed",
            step=Confirmation.COLLECTED,
        ),
        EventForm(
            Kind.CONFIRMED,
            "Rate reviewed",
            "Rate reviewed",
            "Confirmed",
            step=Confirmation.RATE_REVIEWED,
        ),
        EventForm(
            Kind.CONFIRMED,
            "Reassessed after the unit",
            "Reassessed, haemoglobin checked",
            "Confirmed",
            note="Before the next unit is asked for: how the patient is, and the haemoglobin.",
            step=Confirmation.REASSESSED,
        ),
    )
    if form.step is not None
}
