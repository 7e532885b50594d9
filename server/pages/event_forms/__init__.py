"""The forms of all kinds of event: one table, from which forms are drawn and read."""

from typing import Final

from server.domain.words import Confirmation, Kind
from server.pages.event_forms.bedside import BEDSIDE
from server.pages.event_forms.charting import CHARTING
from server.pages.event_forms.confirming import CONFIRMING
from server.pages.event_forms.form import EventForm
from server.pages.event_forms.infusing import ENDING, INFUSING
from server.pages.event_forms.reaction import REACTION
from server.pages.event_forms.storage import AFTER, BEFORE

FORMS: Final[dict[Kind, EventForm]] = {
    form.kind: form
    for form in (*BEFORE, *BEDSIDE, *INFUSING, *ENDING, *AFTER, *REACTION, *CHARTING)
} | {Kind.CONFIRMED: CONFIRMING[Confirmation.ACCESS]}
"""The form of each kind; confirmations have one for each step, of which `form_of` answers any."""


def form_of(kind: Kind, step: Confirmation | None = None) -> EventForm:
    """Answer the form of a kind of event, and of a step where it is a confirmation."""
    return FORMS[kind] if step is None else CONFIRMING[step]


__all__ = ["FORMS", "EventForm", "form_of"]
