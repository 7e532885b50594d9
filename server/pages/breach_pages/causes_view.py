"""The causes that were given for one breach: all of them, for none is ever overwritten."""

from collections.abc import Iterator
from dataclasses import dataclass

from server.domain.clock import Clock
from server.domain.episode import Cause
from server.domain.events import Event
from server.domain.payloads import CauseGiven
from server.domain.words import Kind
from server.pages.episodes.desk import Desk, FormView
from server.pages.episodes.history import history_rows
from server.pages.episodes.sentences import Speech
from server.pages.row_view import dom_key
from server.services.read_breach import BreachRead


@dataclass(frozen=True, slots=True)
class CauseView:
    """One cause with who gave it when. `counts`: the last that stands. `void` takes it back."""

    key: str
    cause: str
    text: str
    who: str
    time: str
    every: bool
    voided: str
    counts: bool
    void: FormView | None


def cause_views(breach: BreachRead, desk: Desk, speech: Speech) -> tuple[CauseView, ...]:
    """Answer the causes given for a limit, the last first."""
    given = sorted(_given(breach), key=lambda pair: pair[0].order, reverse=True)
    standing = next((event.id for event, _ in given if not _is_voided(event, breach)), "")
    return tuple(_view(*pair, breach, desk, speech, standing) for pair in given)


def _given(breach: BreachRead) -> Iterator[tuple[Event, CauseGiven]]:
    for event in breach.read.events:
        payload = event.payload
        if isinstance(payload, CauseGiven) and _explains(payload, event, breach.clock):
            yield event, payload


def _explains(payload: CauseGiven, event: Event, clock: Clock) -> bool:
    said = Cause(payload.clock, payload.n, payload.cause, payload.text, event.recorded_at)
    return clock.limit_at is not None and said.explains(clock.name, clock.n, clock.limit_at)


def _is_voided(event: Event, breach: BreachRead) -> bool:
    return event.id in breach.read.voided_by


def _view(
    event: Event,
    payload: CauseGiven,
    breach: BreachRead,
    desk: Desk,
    speech: Speech,
    standing: str,
) -> CauseView:
    late, voids = breach.read.picture.case.policy.charting_late, breach.read.voided_by
    row = history_rows((event,), voids, late, speech)[0]
    key = dom_key(event.id)
    may_void = row.voidable and desk.may(Kind.VOIDED, Kind.CAUSE_GIVEN)
    return CauseView(
        key=key,
        cause=payload.cause,
        text=payload.text or "",
        who=row.who,
        time=row.time,
        every=payload.n is None,
        voided=row.voided,
        counts=event.id == standing,
        void=desk.form(Kind.VOIDED, f"void-{key}", event_id=event.id) if may_void else None,
    )
