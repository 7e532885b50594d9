"""The forms of all kinds of event: one table, from which forms are drawn and read."""

from typing import Final

from server.domain.words import Kind
from server.pages.event_forms.bedside import BEDSIDE
from server.pages.event_forms.charting import CHARTING
from server.pages.event_forms.form import EventForm
from server.pages.event_forms.infusing import ENDING, INFUSING
from server.pages.event_forms.reaction import REACTION
from server.pages.event_forms.storage import AFTER, BEFORE

FORMS: Final[dict[Kind, EventForm]] = {
    form.kind: form
    for form in (*BEFORE, *BEDSIDE, *INFUSING, *ENDING, *AFTER, *REACTION, *CHARTING)
}

__all__ = ["FORMS", "EventForm"]
