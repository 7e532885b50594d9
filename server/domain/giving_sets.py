"""Which giving set hangs on the patient's line, and how many of its drops are a mL."""

from collections.abc import Sequence

from server.domain.episode import Episode
from server.domain.facts import HungSet
from server.domain.policy import Policy


def sets_of(policy: Policy) -> tuple[int, ...]:
    """Answer the drops a mL of the ward's sets, the usual one first whether it is listed or not."""
    usual = policy.rate_drops_per_ml
    return (usual, *(int(one) for one in policy.giving_set_drops if int(one) != usual))


def drops_per_ml_of(episode: Episode, line: Sequence[HungSet], policy: Policy) -> int:
    """Answer the drops a mL of the set that a unit runs through.

    A set of its own comes first, then the one that hung when it came. What nobody said of it is
    the policy's usual set: the pack says the figure, and the nurse who hangs it reads it there.
    """
    said = episode.drops_per_ml if episode.hung else _inherited(episode, line)
    return said or policy.rate_drops_per_ml


def _inherited(episode: Episode, line: Sequence[HungSet]) -> int | None:
    came = episode.started_at or episode.issued_at
    before = [one for one in line if came is not None and one.at <= came]
    return before[-1].drops_per_ml if before else None
