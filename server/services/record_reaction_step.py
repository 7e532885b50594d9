"""Tick a step of the reaction procedure; "stop" records the pause of a running unit with it."""

from dataclasses import dataclass
from datetime import datetime
from typing import Final

from server.domain.fold import fold
from server.domain.payloads import Paused, ReactionStep
from server.domain.reaction import STOP
from server.domain.words import Kind, Phase
from server.services.actor import Actor
from server.services.cases import load_case
from server.services.record_event import Draft, Recorded, record_event
from server.store.sessions import WriteSession

REASON: Final = "suspected reaction"


@dataclass(frozen=True, slots=True)
class StepRecorded:
    """The step is in the log; `pause` is the pause that was recorded with it, None: none was."""

    step: Recorded
    pause: Recorded | None


def record_reaction_step(
    session: WriteSession,
    actor: Actor,
    episode_id: str,
    step: ReactionStep,
    *,
    happened_at: datetime,
    now: datetime,
) -> StepRecorded:
    """Tick a step at the bedside. Raises what `record_event` raises.

    Clamping the line is one act and two facts: the step is done, and the unit does not run any
    more. The second is recorded where the unit was running, and nothing is known of its flow
    after that instant; whoever shows the answer says that it was recorded.
    """
    draft = Draft(Kind.REACTION_STEP, happened_at, step)
    recorded = record_event(session, actor, episode_id, draft, now=now)
    if step.step != STOP or not _runs(session, episode_id, happened_at, now):
        return StepRecorded(recorded, None)
    pause = Draft(Kind.PAUSED, happened_at, Paused(REASON))
    return StepRecorded(recorded, record_event(session, actor, episode_id, pause, now=now))


def _runs(session: WriteSession, episode_id: str, at: datetime, now: datetime) -> bool:
    """Whether the unit runs by all that is known, and has run unchanged since `at`."""
    case = load_case(session, episode_id, now=now)
    episode = fold(case.request, case.events)
    return episode.phase is Phase.RUNNING and episode.flow[-1].at <= at
