"""Tick a step of the reaction procedure; what the step does to the unit is recorded with it."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from server.domain.events import sorted_live
from server.domain.fold import fold
from server.domain.payloads import Paused, Payload, ReactionStep, Returned
from server.domain.picture import Case
from server.domain.reaction import RETURN_BAG, STOP
from server.domain.words import Kind, Phase
from server.services.actor import Actor
from server.services.cases import CaseRead, load_case
from server.services.record_event import Draft, Recorded, record_event
from server.store.sessions import WriteSession

REASON: Final = "suspected reaction"


@dataclass(frozen=True, slots=True)
class StepRecorded:
    """The step is in the log; `effect` is the fact recorded with it, None: none was."""

    step: Recorded
    effect: Recorded | None


@dataclass(frozen=True, slots=True)
class Effect:
    """What a step does to the unit, and whether it is still to be done at an instant."""

    kind: Kind
    payload: Payload
    is_due: Callable[[Case, datetime], bool]


def record_reaction_step(
    session: WriteSession,
    actor: Actor,
    episode_id: str,
    step: ReactionStep,
    *,
    happened_at: datetime,
    now: datetime,
    ahead: CaseRead | None = None,
) -> StepRecorded:
    """Tick a step at the bedside; `ahead` as `record_event` takes it. Raises what that raises.

    Clamping the line, or sending the bag back, is one act and two facts: the step is done, and
    the unit does not run any more, or has left the ward. The second is recorded where nothing
    else is known of it after that instant; whoever shows the answer says that it was recorded.
    """
    draft = Draft(Kind.REACTION_STEP, happened_at, step)
    recorded = record_event(session, actor, episode_id, draft, now=now, ahead=ahead)
    effect = EFFECTS.get(step.step)
    if effect is None or not effect.is_due(load_case(session, episode_id, now=now), happened_at):
        return StepRecorded(recorded, None)
    second = Draft(effect.kind, happened_at, effect.payload)
    return StepRecorded(recorded, record_event(session, actor, episode_id, second, now=now))


def _runs(case: Case, at: datetime) -> bool:
    """Whether the unit runs by all that is known, and has run unchanged since `at`."""
    episode = fold(case.request, case.events)
    return episode.phase is Phase.RUNNING and episode.flow[-1].at <= at


def _is_here(case: Case, at: datetime) -> bool:
    """Whether the unit had ended by `at`, and nothing is known of what became of its bag."""
    episode = fold(case.request, case.events)
    ended = episode.ended_at if episode.phase is Phase.ENDED else None
    moved = any(event.kind in _MOVED for event in sorted_live(case.events))
    return ended is not None and ended <= at and not moved


_MOVED: Final = frozenset({Kind.RETURNED, Kind.DISCARDED})
EFFECTS: Final = {
    STOP: Effect(Kind.PAUSED, Paused(REASON), _runs),
    RETURN_BAG: Effect(Kind.RETURNED, Returned(REASON), _is_here),
}
