"""The steps of the pathway as the page shows them: what was done, what is present, what follows."""

from collections.abc import Iterator
from dataclasses import dataclass

from server.domain.events import Event
from server.domain.picture import Picture
from server.domain.words import Kind
from server.pages.episodes.desk import Desk, FormView
from server.pages.episodes.pathway import STEPS, Step, present_step
from server.pages.episodes.sentences import Speech, sentence
from server.pages.event_forms import FORMS


@dataclass(frozen=True, slots=True)
class DoneView:
    """One thing that was done in a step."""

    time: str
    word: str
    text: str
    who: str


@dataclass(frozen=True, slots=True)
class StepView:
    """One step. state: `done`, `present`, `later`, or `none` for one that was passed over."""

    key: str
    title: str
    state: str
    done: tuple[DoneView, ...]
    forms: tuple[FormView, ...]
    missing: tuple[str, ...]
    open: bool


def step_views(
    picture: Picture,
    live: tuple[Event, ...],
    missing: tuple[str, ...],
    desk: Desk,
    speech: Speech,
) -> tuple[StepView, ...]:
    """Answer all steps in order; `live` are the events that count, in bedside order."""
    present = present_step(picture)
    keys = [step.key for step in STEPS]
    reached = keys.index(present) if present else len(keys)
    return tuple(
        _step(step, place - reached, _done(step, picture, live, speech), missing, desk)
        for place, step in enumerate(STEPS)
    )


def _step(
    step: Step, ahead: int, done: tuple[DoneView, ...], missing: tuple[str, ...], desk: Desk
) -> StepView:
    forms = desk.forms(step.kinds, step.key)
    is_present = ahead == 0
    passed = "none" if ahead < 0 else "later"
    return StepView(
        key=step.key,
        title=step.title,
        state="present" if is_present else "done" if done else passed,
        done=done,
        forms=forms,
        missing=missing if step.key == "start" else (),
        open=is_present or any(form.refused for form in forms),
    )


def _done(
    step: Step, picture: Picture, live: tuple[Event, ...], speech: Speech
) -> tuple[DoneView, ...]:
    return tuple(
        DoneView(
            time=speech.time(event.happened_at),
            word=FORMS[event.kind].word,
            text=sentence(event, speech),
            who=speech.name(event.staff_id or event.recorded_by),
        )
        for event in live
        if event.kind in step.kinds and _is_of(step, event, picture)
    )


def _is_of(step: Step, event: Event, picture: Picture) -> bool:
    """Whether an event belongs to a step: sets of signs by when they were taken."""
    if event.kind is not Kind.OBSERVED:
        return True
    return step.key in _places(event, picture)


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
        yield "first" if at <= start + policy.first_limit else "running"
