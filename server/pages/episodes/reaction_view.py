"""A suspected reaction on the page of a unit: always at hand, and in front once it is suspected."""

from dataclasses import dataclass

from server.domain.events import Event
from server.domain.payloads import ReactionStep
from server.domain.picture import Picture
from server.domain.words import Kind
from server.pages.episodes.desk import Desk, FormView
from server.pages.episodes.sentences import Speech, words_for
from server.pages.event_forms.words import REACTION_STEPS, SYMPTOMS


@dataclass(frozen=True, slots=True)
class ReactionStepView:
    """One step of the procedure: when and by whom it was done, or the button to record it."""

    words: str
    done: str
    form: FormView | None


@dataclass(frozen=True, slots=True)
class ReactionView:
    """`since` is empty while none is suspected; `at_once` says so in one touch, signs later."""

    since: str
    symptoms: str
    steps: tuple[ReactionStepView, ...]
    at_once: FormView | None
    suspect: FormView | None
    again: FormView | None
    other: FormView | None
    close: FormView | None

    @property
    def forms(self) -> list[FormView]:
        """Every form that is shown."""
        placed = [self.at_once, self.suspect, self.again, self.other, self.close]
        steps = [step.form for step in self.steps]
        return [form for form in (*placed, *steps) if form is not None]


def reaction_view(
    picture: Picture, live: tuple[Event, ...], desk: Desk, speech: Speech
) -> ReactionView:
    """Answer what is shown of a suspected reaction."""
    since, charts = picture.episode.reaction_at, desk.may(Kind.REACTION_SUSPECTED)
    symptoms = (words_for(SYMPTOMS, one) for one in (picture.episode.reaction.symptoms if picture.episode.reaction else ()))
    suspect = desk.form(Kind.REACTION_SUSPECTED, "reaction") if charts else None
    is_open = since is not None
    return ReactionView(
        since="" if since is None else speech.time(since),
        symptoms=", ".join(symptoms) if is_open else "",
        steps=_steps(picture, live, desk, speech) if is_open else (),
        at_once=_at_once(desk) if charts and not is_open else None,
        suspect=suspect if not is_open else None,
        again=suspect if is_open else None,
        other=desk.form(Kind.REACTION_STEP, "reaction") if charts else None,
        close=desk.form(Kind.REACTION_CLOSED, "reaction") if charts else None,
    )


def _at_once(desk: Desk) -> FormView:
    return desk.touch(Kind.REACTION_SUSPECTED, "at-once", "Record it now, signs later")


def _steps(
    picture: Picture, live: tuple[Event, ...], desk: Desk, speech: Speech
) -> tuple[ReactionStepView, ...]:
    since = picture.episode.reaction_at or picture.standing.now
    done = {
        event.payload.step: event
        for event in live
        if isinstance(event.payload, ReactionStep) and event.happened_at >= since
    }
    known = [value for value, _words in REACTION_STEPS]
    extra = [step for step in done if step not in known]
    return tuple(_step(step, done.get(step), desk, speech) for step in [*known, *extra])


def _step(step: str, event: Event | None, desk: Desk, speech: Speech) -> ReactionStepView:
    words = words_for(REACTION_STEPS, step)
    if event is not None:
        who = speech.name(event.staff_id or event.recorded_by)
        return ReactionStepView(words, f"{speech.time(event.happened_at)} {who}", None)
    if not desk.may(Kind.REACTION_STEP):
        return ReactionStepView(words, "", None)
    return ReactionStepView(
        words, "", desk.touch(Kind.REACTION_STEP, f"step-{step}", "Done now", step=step)
    )
