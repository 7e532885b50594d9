"""The history of a unit: every event, the newest first, with who, when and what became of it."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import timedelta

from server.domain.events import Event
from server.domain.payloads import Voided
from server.domain.wording import span, whole_minutes
from server.domain.words import Kind
from server.pages.episodes.sentences import Speech, sentence
from server.pages.event_forms import FORMS
from server.pages.page_head import iso
from server.pages.row_view import dom_key


@dataclass(frozen=True, slots=True)
class HistoryRow:
    """One event. `late` says how late it was recorded, `voided` when, by whom and why it was."""

    key: str
    event_id: str
    at_iso: str
    time: str
    word: str
    text: str
    who: str
    late: str
    voided: str
    voidable: bool


def history_rows(
    events: tuple[Event, ...], voided_by: Mapping[str, Event], allowed: timedelta, speech: Speech
) -> tuple[HistoryRow, ...]:
    """Answer all events, the newest first; `allowed` is how late an entry may be."""
    newest_first = sorted(events, key=lambda event: event.order, reverse=True)
    words = {event.id: _name(event, speech) for event in events}
    return tuple(
        _row(event, voided_by.get(event.id), allowed, speech, words) for event in newest_first
    )


def _row(
    event: Event,
    void: Event | None,
    allowed: timedelta,
    speech: Speech,
    words: Mapping[str, str],
) -> HistoryRow:
    return HistoryRow(
        key=dom_key(event.id),
        event_id=event.id,
        at_iso=iso(event.happened_at),
        time=speech.time(event.happened_at),
        word=FORMS[event.kind].word,
        text=_text(event, speech, words),
        who=_who(event, speech),
        late=_late(event, speech) if event.is_late_entry(allowed) else "",
        voided=_voided(void, speech),
        voidable=void is None and event.kind is not Kind.VOIDED,
    )


def _name(event: Event, speech: Speech) -> str:
    return f"{FORMS[event.kind].word} {speech.time(event.happened_at)}"


def _text(event: Event, speech: Speech, words: Mapping[str, str]) -> str:
    if isinstance(event.payload, Voided):
        target = words.get(event.payload.event_id, event.payload.event_id)
        return f"{target}: {event.payload.reason}"
    return sentence(event, speech)


def _who(event: Event, speech: Speech) -> str:
    recorded = speech.name(event.recorded_by)
    acted = speech.name(event.staff_id)
    return recorded if acted in ("", recorded) else f"{acted}, recorded by {recorded}"


def _late(event: Event, speech: Speech) -> str:
    after = span(whole_minutes(event.happened_at, event.recorded_at))
    return f"late entry: recorded {speech.time(event.recorded_at)}, {after} after"


def _voided(void: Event | None, speech: Speech) -> str:
    if void is None or not isinstance(void.payload, Voided):
        return ""
    when = speech.time(void.happened_at)
    return f"voided {when} by {speech.name(void.recorded_by)}: {void.payload.reason}"
