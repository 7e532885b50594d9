"""What a suspicion refuses: going on, closing without its steps, throwing the bag away."""

from datetime import datetime
from typing import Final

from server.domain.episode import Episode
from server.domain.errors import Refused
from server.domain.payloads import (
    Discarded,
    FateRecorded,
    ReactionClosed,
    Resumed,
    WarningChecked,
)
from server.domain.policy import Policy
from server.domain.reaction import RETURN_BAG, STEP, Suspicion
from server.domain.words import Fate

KEPT: Final = (
    "A reaction is suspected: bag and set go back to the laboratory, nothing is thrown away."
)


def require_resuming(episode: Episode, resumed: Resumed, at: datetime) -> None:
    """Raise `Refused` if a reaction is open at `at` and no clinician has decided to resume.

    Whether a unit goes on after a suspected reaction is the clinician's decision, by name.
    """
    if resumed.decided_by is None and _open_at(episode, at) is not None:
        raise Refused(
            "A reaction is suspected: close it with its outcome, or name the clinician who "
            "decided to resume.",
            phase=episode.phase,
            field="decided_by",
        )


def require_closing(episode: Episode, policy: Policy, at: datetime) -> None:
    """Raise `Refused` if steps are not ticked that the policy asks for before the closing."""
    closed = next((one for one in episode.reactions if one.closed_at == at), None)
    missing = () if closed is None else closed.lacks(policy.reaction_close_requires)
    if missing:
        words = "; ".join(STEP[slug].words for slug in missing)
        reason = f"Not closed: the policy asks for these steps first: {words}."
        raise Refused(reason, phase=episode.phase)


def holds_bag(suspicion: Suspicion | None, policy: Policy) -> bool:
    """Whether the bag waits for the laboratory: its return is a step here and not ticked yet.

    Source: BCSH 2012 (summary), stop and keep the bag; Lifeblood, monitoring page, return it
    with its set. What was thrown away nevertheless is recorded, late, once the suspicion is closed.
    """
    is_asked = RETURN_BAG in policy.reaction_steps
    return suspicion is not None and is_asked and suspicion.tick_of(RETURN_BAG) is None


def require_kept(episode: Episode, policy: Policy, at: datetime) -> None:
    """Raise `Refused` if the bag would be thrown away at `at` while the laboratory waits for it."""
    suspicion = episode.reaction
    if suspicion is not None and suspicion.since <= at and holds_bag(suspicion, policy):
        raise Refused(f"Not discarded. {KEPT}", phase=episode.phase)


def require_reaction_sound(episode: Episode, policy: Policy, payload: object, at: datetime) -> None:
    """Raise `Refused` for a fact at `at`, folded in already, that may not come while it does."""
    if isinstance(payload, Resumed):
        require_resuming(episode, payload, at)
    if isinstance(payload, ReactionClosed):
        require_closing(episode, policy, at)
    if isinstance(payload, Discarded) or payload == FateRecorded(Fate.DISCARDED):
        require_kept(episode, policy, at)
    if isinstance(payload, WarningChecked) and not any(
        warning.checked_at == at for warning in episode.warnings
    ):
        raise Refused("there is no open warning on this unit", phase=episode.phase)


def _open_at(episode: Episode, at: datetime) -> Suspicion | None:
    return next((one for one in episode.reactions if one.is_open_at(at)), None)
