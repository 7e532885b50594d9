"""What has to be so before a suspicion is closed, and before the unit goes on after one."""

from datetime import datetime

from server.domain.episode import Episode
from server.domain.errors import Refused
from server.domain.payloads import ReactionClosed, Resumed, WarningChecked
from server.domain.policy import Policy
from server.domain.reaction import STEP, Suspicion


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


def require_reaction_sound(episode: Episode, policy: Policy, payload: object, at: datetime) -> None:
    """Raise `Refused` for a fact at `at`, folded in already, that may not come while it does."""
    if isinstance(payload, Resumed):
        require_resuming(episode, payload, at)
    if isinstance(payload, ReactionClosed):
        require_closing(episode, policy, at)
    if isinstance(payload, WarningChecked) and not any(
        warning.checked_at == at for warning in episode.warnings
    ):
        raise Refused("there is no open warning on this unit", phase=episode.phase)


def _open_at(episode: Episode, at: datetime) -> Suspicion | None:
    return next((one for one in episode.reactions if one.is_open_at(at)), None)
