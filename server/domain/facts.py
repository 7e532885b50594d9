"""What the schedule is worked out from: one folded episode, its policy and the patient's line."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from server.domain.episode import Episode
from server.domain.observations import full_set_instants
from server.domain.policy import Policy
from server.domain.reaction import Elsewhere
from server.domain.unit_check import Around
from server.domain.words import Component


@dataclass(frozen=True, slots=True)
class HungSet:
    """A giving set that was hung or changed for another unit of the same patient."""

    at: datetime
    component: Component
    drops_per_ml: int | None = None


@dataclass(slots=True)
class Facts:
    """One episode as folded, with what judges it.

    `sets` are the instants of its full observation sets, in order; `line` the giving sets hung
    for the patient's other units, in order; `elsewhere` the reactions suspected with them.
    """

    episode: Episode
    policy: Policy
    sets: list[datetime]
    line: Sequence[HungSet]
    elsewhere: Sequence[Elsewhere]
    around: Around


def facts_of(
    episode: Episode,
    policy: Policy,
    line: Sequence[HungSet],
    elsewhere: Sequence[Elsewhere],
    around: Around,
) -> Facts:
    """Put together what `schedule` needs."""
    sets = full_set_instants(episode.observations, policy.observations_required)
    return Facts(episode, policy, sets, line, elsewhere, around)
