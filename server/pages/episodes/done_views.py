"""What was done in each step of the pathway: the facts that count, with time and person."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from server.domain.events import Event
from server.domain.payloads import Confirmed, IdentityChecked
from server.domain.picture import Picture
from server.domain.words import ClockName, Kind
from server.pages.episodes.pathway import Act, Step
from server.pages.episodes.present import reviews_rate
from server.pages.episodes.sentences import Speech, checkers, sentence
from server.pages.event_forms import FORMS


@dataclass(frozen=True, slots=True)
class DoneView:
    """One thing that was done in a step; `by` are all who did it, `who` is who answers for it."""

    time: str
    word: str
    text: str
    who: str
    by: str


def done_views(
    step: Step, picture: Picture, live: tuple[Event, ...], speech: Speech
) -> tuple[DoneView, ...]:
    """Answer what was done in a step; `live` are the events that count, in bedside order."""
    return tuple(
        DoneView(
            time=speech.time(event.happened_at),
            word=FORMS[event.kind].word,
            text=sentence(event, speech),
            who=speech.name(event.staff_id or event.recorded_by),
            by=_by(event, speech),
        )
        for event in live
        if act_of_event(event) in step.acts and _is_of(step, event, picture)
    )


def act_of_event(event: Event) -> Act:
    """Answer which act of the pathway a fact is."""
    return event.payload.step if isinstance(event.payload, Confirmed) else event.kind


def _by(event: Event, speech: Speech) -> str:
    """Who did it: both who checked, otherwise whoever answers for it."""
    if isinstance(event.payload, IdentityChecked):
        return checkers(event.payload, speech)
    return speech.name(event.staff_id or event.recorded_by)


def _is_of(step: Step, event: Event, picture: Picture) -> bool:
    """Whether an event belongs to a step: sets of signs by when they were taken, rates too."""
    if event.kind is Kind.OBSERVED:
        return step.key in _places(event, picture)
    if step.key == "rate":
        return reviews_rate(event, picture)
    return True


def _places(event: Event, picture: Picture) -> Iterator[str]:
    episode, at, policy = picture.episode, event.happened_at, picture.case.policy
    start, end = episode.started_at, episode.ended_at
    if start is None or at <= start:
        begin = start or picture.standing.now
        if at >= begin - policy.baseline_limit:
            yield "baseline"
    elif end is not None and at >= end:
        yield "after"
    else:
        yield (
            "first" if at <= start + policy.first_limit or at == _first_met(picture) else "running"
        )


def _first_met(picture: Picture) -> datetime | None:
    """When the first check was met, late or in time."""
    return next(
        (clock.met_at for clock, _ in picture.clocks if clock.name is ClockName.FIRST_CHECK), None
    )
