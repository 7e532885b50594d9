"""The steps of the pathway as the page shows them: what was done, what is present, what follows."""

from dataclasses import dataclass
from typing import Final

from server.domain.events import Event
from server.domain.gate import Gap
from server.domain.picture import Picture
from server.domain.reaction_gate import KEPT
from server.domain.words import ClockName, ClockState, Kind, Phase
from server.pages.episodes.desk import Desk, FormView
from server.pages.episodes.done_views import DoneView, done_views
from server.pages.episodes.offers import is_bag_kept, offered_acts
from server.pages.episodes.pathway import STEP_OF_GAP, Step, asked_steps, title_of
from server.pages.episodes.present import is_begun_only, present_step
from server.pages.episodes.presses import presses_of
from server.pages.episodes.rate_view import RateRange, rate_range
from server.pages.episodes.sentences import Speech
from server.pages.links import episode_href, identity_href


@dataclass(frozen=True, slots=True)
class GapView:
    """Something that is missing before the start, and where it is done."""

    detail: str
    href: str


@dataclass(frozen=True, slots=True)
class StepView:
    """One step. state: `done`, `part`, `present`, `later`, or `none` for one passed over.

    `presses` record in one touch. `gaps` stand before the start; then `emergency` folds its form
    away. `link` leads to a page of its own. `rates` is the range that a rate may lie in.
    """

    key: str
    title: str
    state: str
    hint: str
    done: tuple[DoneView, ...]
    presses: tuple[FormView, ...]
    forms: tuple[FormView, ...]
    gaps: tuple[GapView, ...]
    emergency: bool
    link: str
    rates: RateRange | None
    open: bool


@dataclass(frozen=True, slots=True)
class Walk:
    """What all steps of one unit are drawn from; `wanted` is a step that was asked for."""

    picture: Picture
    live: tuple[Event, ...]
    gaps: tuple[Gap, ...]
    desk: Desk
    speech: Speech
    wanted: str = ""


_WITH_RATES: Final = frozenset({"rate", "running"})


def step_views(walk: Walk) -> tuple[StepView, ...]:
    """Answer the steps that the policy asks for, in order."""
    steps = asked_steps(walk.picture.case.policy)
    keys = [step.key for step in steps]
    present = present_step(walk.picture)
    reached = keys.index(present) if present else len(keys)
    opened = walk.wanted if walk.wanted in keys else present
    return tuple(_step(step, place - reached, opened, walk) for place, step in enumerate(steps))


def _step(step: Step, ahead: int, opened: str, walk: Walk) -> StepView:
    picture, desk = walk.picture, walk.desk
    done = done_views(step, picture, walk.live, walk.speech)
    acts = offered_acts(step, ahead, picture, walk.live, desk.sent)
    if step.key == "start" and _is_stopped(picture):
        acts = ()
    forms = tuple(desk.act_form(act, step.key) for act in acts if desk.may_act(act))
    presses = _presses(step, walk)
    refused = any(form.refused for form in (*forms, *presses))
    return StepView(
        key=step.key,
        title=title_of(step, picture.case.policy),
        state=_state(ahead, done=bool(done), part=is_begun_only(step.key, picture)),
        hint=_hint(step, walk),
        done=done,
        presses=presses,
        forms=forms,
        gaps=_gaps(walk) if step.key == "start" else (),
        emergency=step.key == "start" and bool(walk.gaps),
        link=_link(step, walk),
        rates=rate_range(picture) if _shows_rates(step, picture) else None,
        open=step.key == opened or refused,
    )


def _hint(step: Step, walk: Walk) -> str:
    """What to know at a step: its own hint, and what holds now."""
    if step.key == "bag" and is_bag_kept(walk.picture):
        return KEPT
    if step.key == "first":
        return _not_open_yet(walk)
    return step.hint


def _not_open_yet(walk: Walk) -> str:
    """Until a first check opens, a set is kept and does not meet it; the page says from when."""
    for clock, state in walk.picture.clocks:
        waits = clock.name is ClockName.FIRST_CHECK and state is ClockState.PENDING
        if waits and clock.opens_at is not None:
            opens = walk.speech.time(clock.opens_at)
            return f"Opens {opens}: a set before is kept, and does not meet it."
    return ""


def _is_stopped(picture: Picture) -> bool:
    """Whether the identity check found something that nobody can override."""
    identity = picture.episode.identity
    unstarted = picture.episode.phase is Phase.ISSUED
    return unstarted and identity is not None and not identity.passed


def _state(ahead: int, *, done: bool, part: bool) -> str:
    if ahead == 0:
        return "present"
    if done:
        return "part" if part else "done"
    return "none" if ahead < 0 else "later"


def _presses(step: Step, walk: Walk) -> tuple[FormView, ...]:
    if not walk.desk.may(Kind.NOTE):
        return ()
    return tuple(
        walk.desk.press(f"{step.key}-press-{one.name}", one.button, one.facts, one.note)
        for one in presses_of(step.key, walk.picture)
    )


def _gaps(walk: Walk) -> tuple[GapView, ...]:
    return tuple(GapView(gap.detail, _way_to(gap, walk)) for gap in walk.gaps)


def _way_to(gap: Gap, walk: Walk) -> str:
    """The step in which it is done; empty for what is not done with this unit."""
    key = STEP_OF_GAP.get(gap.step)
    here = episode_href(walk.picture.case.request.id)
    return "" if key is None else f"{here}?step={key}#step-{key}"


def _link(step: Step, walk: Walk) -> str:
    """The identity check has a page of its own, for two people at two devices."""
    charts = walk.desk.may(Kind.IDENTITY_CHECKED)
    is_here = step.key == "identity" and walk.picture.episode.phase is Phase.ISSUED
    return identity_href(walk.picture.case.request.id) if is_here and charts else ""


def _shows_rates(step: Step, picture: Picture) -> bool:
    running = picture.episode.phase in (Phase.RUNNING, Phase.PAUSED)
    return step.key in _WITH_RATES and running
