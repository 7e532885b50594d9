"""What a colleague recorded while somebody typed: said before anything more is stored."""

from collections.abc import Iterable
from typing import Final

from server.domain.events import Event
from server.pages.episodes.sentences import Speech, sentence

KEPT: Final = (
    "Nothing of yours was stored; what you typed is kept. If it is another one, record it again."
)


def recorded_meanwhile(events: Iterable[Event], speech: Speech) -> str:
    """Answer who recorded what, when it was done, and what became of the form that was sent."""
    return f"{' '.join(_said(event, speech) for event in events)} {KEPT}"


def _said(event: Event, speech: Speech) -> str:
    who = speech.name(event.staff_id or event.recorded_by)
    said = f"{who} recorded the same for {speech.time(event.happened_at)}"
    what = sentence(event, speech)
    return f"{said}: {what}." if what else f"{said}."
