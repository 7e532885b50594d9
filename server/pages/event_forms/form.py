"""What the form of one kind of event is."""

from dataclasses import dataclass

from server.domain.words import Confirmation, Kind
from server.pages.forms.fields import Field


@dataclass(frozen=True, slots=True)
class EventForm:
    """One form. `title` names the act, `button` records it, `word` is what the history says.

    `timed` forms ask when it happened; the others are about the record and happen now. `guarded`
    forms let blood flow: they are refused on a page that somebody has overtaken meanwhile. `step`
    is what a confirmation confirms.
    """

    kind: Kind
    title: str
    button: str
    word: str
    fields: tuple[Field, ...] = ()
    tone: str = ""
    timed: bool = True
    guarded: bool = False
    note: str = ""
    step: Confirmation | None = None
