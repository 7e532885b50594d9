"""A suspected reaction on the page of a unit: always at hand, and in front once it is suspected."""

from dataclasses import dataclass, replace

from server.domain.episode import LinkedWarning
from server.domain.events import sorted_live
from server.domain.payloads.reaction import RECHECK_IDENTITY
from server.domain.picture import Picture
from server.domain.reaction import OBSERVATIONS, RETURN_BAG, STEP, STOP, Suspicion
from server.domain.wording import PHASE
from server.domain.words import ClockName, Kind, Phase, Recheck
from server.pages.episodes.clock_rows import ClockRow, owed_clocks
from server.pages.episodes.desk import Desk, FormView
from server.pages.episodes.sentences import Speech, words_for
from server.pages.event_forms.words import RECHECKS, SYMPTOMS
from server.pages.links import reaction_href


@dataclass(frozen=True, slots=True)
class TickView:
    """One step: when and by whom it was done, or the buttons that record it.

    state: `done`, `next` for the first that is not, or `open`. `alarm` is what was found amiss.
    `href` leads to the form that does the step, empty where a button does.
    """

    slug: str
    words: str
    source: str
    state: str
    done: str
    alarm: str
    note: str
    href: str
    buttons: tuple[FormView, ...]


@dataclass(frozen=True, slots=True)
class ReactionView:
    """What the page of a unit shows of a suspected reaction; `since` is empty while none is.

    `check` is the clock of the observations, None while none is owed. `warnings` are the open
    warnings that came from another bed, and `check_warning` the form that closes them.
    """

    href: str
    since: str
    symptoms: str
    flow: str
    runs: bool
    steps: tuple[TickView, ...]
    notes: tuple[str, ...]
    check: ClockRow | None
    at_once: FormView | None
    warnings: tuple[str, ...]
    check_warning: FormView | None

    @property
    def observe_href(self) -> str:
        """Where the observations are recorded."""
        return observe_href(self.href)

    @property
    def done_text(self) -> str:
        """How many of the steps are done."""
        done = sum(step.state == "done" for step in self.steps)
        return f"{done} of {len(self.steps)} steps done"

    @property
    def next_words(self) -> str:
        """The first step that is not done, empty when all are."""
        return next((step.words for step in self.steps if step.state == "next"), "")

    @property
    def forms(self) -> list[FormView]:
        """Every form that the unit's page shows."""
        shown = (self.at_once, self.check_warning)
        return [form for form in shown if form is not None]


def reaction_view(picture: Picture, desk: Desk, speech: Speech) -> ReactionView:
    """Answer what is shown of a suspected reaction; forms lead to the page of its own."""
    episode, href = picture.episode, reaction_href(picture.case.request.id)
    own, suspicion = replace(desk, href=href), episode.reaction
    charts = desk.may(Kind.REACTION_SUSPECTED) and episode.started_at is not None
    warned = [_warning(one, speech) for one in episode.open_warnings]
    checks = [row for row in owed_clocks(picture, speech) if row.name == ClockName.REACTION_CHECK]
    return ReactionView(
        href=href,
        since="" if suspicion is None else speech.time(suspicion.since),
        symptoms=symptoms_text(suspicion),
        flow=_flow(picture, speech),
        runs=episode.phase is Phase.RUNNING,
        steps=() if suspicion is None else _steps(suspicion, picture, own, speech),
        notes=_notes(suspicion, speech),
        check=checks[0] if checks else None,
        at_once=_at_once(own) if charts and suspicion is None else None,
        warnings=tuple(warned),
        check_warning=_check_warning(desk) if warned else None,
    )


def observe_href(href: str) -> str:
    """The address of the page with the form of the observations open."""
    return f"{href}?form={Kind.OBSERVED}#fold-reaction-{Kind.OBSERVED}"


def symptoms_text(suspicion: Suspicion | None) -> str:
    """What is seen or said, in words."""
    symptoms = () if suspicion is None else suspicion.symptoms
    return ", ".join(words_for(SYMPTOMS, one) for one in symptoms)


def _at_once(desk: Desk) -> FormView:
    return desk.touch(Kind.REACTION_SUSPECTED, "at-once", "Suspected reaction")


def _check_warning(desk: Desk) -> FormView | None:
    may = desk.may(Kind.WARNING_CHECKED)
    return desk.form(Kind.WARNING_CHECKED, "warning") if may else None


def _warning(warning: LinkedWarning, speech: Speech) -> str:
    unit = f", unit {warning.unit_number}" if warning.unit_number else ""
    return f"Identity error found {speech.time(warning.at)} in bed {warning.bed}{unit}."


def _flow(picture: Picture, speech: Speech) -> str:
    """Whether the unit still runs, with the instant since when it does not."""
    episode = picture.episode
    if episode.ended_at is not None:
        return f"Transfusion ended {speech.time(episode.ended_at)}"
    if episode.phase is Phase.PAUSED:
        return f"Paused {speech.time(episode.flow[-1].at)}; not recorded as stopped"
    return f"{PHASE[episode.phase]}: not recorded as stopped"


def _notes(suspicion: Suspicion | None, speech: Speech) -> tuple[str, ...]:
    """What was done beside the steps, with its time and person."""
    notes = () if suspicion is None else suspicion.notes
    return tuple(f"{speech.time(one.at)} {speech.name(one.by)}: {one.step}" for one in notes)


def _steps(
    suspicion: Suspicion, picture: Picture, desk: Desk, speech: Speech
) -> tuple[TickView, ...]:
    asked = picture.case.policy.reaction_steps
    extra = dict.fromkeys(tick.step for tick in suspicion.ticked if tick.step in STEP)
    slugs = [*asked, *(slug for slug in extra if slug not in asked)]
    views = [_step(slug, suspicion, picture, desk, speech) for slug in slugs]
    following = next((view.slug for view in views if view.state == "open"), "")
    return tuple(replace(view, state="next") if view.slug == following else view for view in views)


def _step(
    slug: str, suspicion: Suspicion, picture: Picture, desk: Desk, speech: Speech
) -> TickView:
    step = STEP[slug]
    done = step_done(slug, suspicion, picture, speech)
    wrong = slug == RECHECK_IDENTITY and suspicion.identity_error is not None
    again, may = wrong or not done, not done and desk.may(Kind.REACTION_STEP)
    return TickView(
        slug=slug,
        words=step.words,
        source=step.source,
        state="done" if done else "open",
        done=done,
        alarm=words_for(RECHECKS, Recheck.WRONG) if wrong else "",
        note=_note(slug, picture, speech) if again else "",
        href=observe_href(desk.href) if may and slug == OBSERVATIONS else "",
        buttons=_buttons(slug, picture, desk) if may else (),
    )


def step_done(slug: str, suspicion: Suspicion, picture: Picture, speech: Speech) -> str:
    """Who did a step and when, empty if nobody did; observations are done with a full set since."""
    tick = suspicion.tick_of(slug)
    if tick is not None:
        return f"{speech.time(tick.at)} {speech.name(tick.by)}"
    if slug == OBSERVATIONS:
        met = [
            clock.met_at
            for clock, _ in picture.clocks
            if clock.name is ClockName.REACTION_CHECK
            and clock.met_at is not None
            and clock.met_at >= suspicion.since
        ]
        return f"{speech.time(met[0])} full set" if met else ""
    return ""


def _note(slug: str, picture: Picture, speech: Speech) -> str:
    if slug == STOP and picture.episode.phase is Phase.RUNNING:
        return "The pause of the infusion is recorded with it."
    if slug == RETURN_BAG:
        return _bag_note(picture, speech)
    if slug == RECHECK_IDENTITY:
        return "If anything does not agree, another patient may have the wrong unit."
    return ""


def _bag_note(picture: Picture, speech: Speech) -> str:
    """What ticking the return of the bag records with it, if anything."""
    events = sorted_live(picture.case.events)
    returns = [event for event in events if event.kind is Kind.RETURNED]
    if returns:
        return f"The return is recorded already, {speech.time(returns[-1].happened_at)}."
    if picture.episode.phase is Phase.ENDED:
        return "The return of the bag is recorded with it."
    if picture.episode.phase is Phase.CLOSED:
        return ""
    return "Record the end of the unit first: then the return of the bag is recorded with this."


def _buttons(slug: str, picture: Picture, desk: Desk) -> tuple[FormView, ...]:
    def button(place: str, words: str, **hidden: str) -> FormView:
        return desk.touch(Kind.REACTION_STEP, place, words, step=slug, **hidden)

    if slug == OBSERVATIONS:
        return ()
    if slug == RECHECK_IDENTITY:
        return (
            button("step-agrees", "Everything agrees", result=Recheck.AGREES.value),
            button("step-wrong", "Wrong unit or patient", result=Recheck.WRONG.value),
        )
    if slug == STOP and picture.episode.phase is Phase.RUNNING:
        return (button("step-stop", "Stopped now"),)
    return (button(f"step-{slug}", "Done now"),)
