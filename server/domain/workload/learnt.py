"""How long work takes on this ward, from the instants that its own units recorded.

Between two records lie waiting and other work as well, so these are upper figures of the work
itself. They are shown beside the policy's, and plan only where a ward has switched that on.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum
from statistics import quantiles
from typing import Final

from server.domain.picture import Picture
from server.domain.policy import Policy
from server.domain.words import ClockName
from server.domain.workload.capacity import Collector
from server.domain.workload.lengths import policy_lengths
from server.domain.workload.task import Work

_MINUTE: Final = timedelta(minutes=1)
_LEAST: Final = 2  # what quartiles need


class Timed(StrEnum):
    """A stretch between two records of one unit."""

    CARRIED = "carried"
    SECOND_CHECK = "second_check"
    CHECK_AND_START = "check_and_start"
    END_SET = "end_set"


@dataclass(frozen=True, slots=True)
class Recorded:
    """The instants of one unit that a stretch is measured between; None: not recorded."""

    removed_at: datetime | None = None
    received_at: datetime | None = None
    identity_at: datetime | None = None
    started_at: datetime | None = None
    ended_at: datetime | None = None
    end_set_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class Learnt:
    """What was recorded of one stretch: how often, the median, and the quartiles around it.

    `is_enough`: as many as the policy asks for before a ward may plan with the median.
    """

    timed: Timed
    count: int
    lower: timedelta
    median: timedelta
    upper: timedelta
    is_enough: bool


# From the end to the end set is mostly the wait until the set is due: shown, never planned with.
USED_FOR: Final = {
    Timed.SECOND_CHECK: Work.SECOND_CHECK,
    Timed.CHECK_AND_START: Work.CHECK_AND_START,
}


def recorded_of(picture: Picture) -> Recorded:
    """Answer the instants of a unit, whatever became of it."""
    episode = picture.episode
    end_sets = (clock.met_at for clock, _ in picture.clocks if clock.name is ClockName.END_CHECK)
    return Recorded(
        removed_at=episode.removed_at,
        received_at=episode.received_at,
        identity_at=episode.identity_at,
        started_at=episode.started_at,
        ended_at=episode.ended_at,
        end_set_at=next(end_sets, None),
    )


def learn(recorded: Iterable[Recorded], policy: Policy) -> dict[Timed, Learnt]:
    """Answer what a ward's units say of each stretch; one recorded less than twice is left out.

    Two records at the same instant, or the wrong way round, say nothing of what lies between.
    """
    listed = tuple(recorded)
    lengths = {timed: sorted(_lengths(timed, listed)) for timed in Timed}
    return {
        timed: _learnt(timed, found, policy)
        for timed, found in lengths.items()
        if len(found) >= _LEAST
    }


def lengths(
    policy: Policy,
    learnt: Mapping[Timed, Learnt],
    *,
    use_learnt: bool,
    collected_by: Collector = Collector.PORTER,
) -> dict[Work, timedelta]:
    """Answer the length of each kind of work; with `use_learnt` the ward's own where it has enough.

    The second person is never needed for longer than the check and the start take.
    """
    stated = policy_lengths(policy, collected_by)
    if not use_learnt:
        return stated
    own = {
        USED_FOR[timed]: _whole_minutes(found.median)
        for timed, found in learnt.items()
        if found.is_enough and timed in USED_FOR
    }
    used = stated | own
    second = min(used[Work.SECOND_CHECK], used[Work.CHECK_AND_START])
    return used | {Work.SECOND_CHECK: second}


def carried(policy: Policy, learnt: Mapping[Timed, Learnt], *, use_learnt: bool) -> timedelta:
    """Answer how long a unit is out of storage on its way, by the same rule."""
    found = learnt.get(Timed.CARRIED)
    if found is None or not (use_learnt and found.is_enough):
        return policy.work_carried
    return _whole_minutes(found.median)


def _lengths(timed: Timed, recorded: Iterable[Recorded]) -> list[timedelta]:
    ends = (_ends(timed, one) for one in recorded)
    return [end - begin for begin, end in ends if begin and end and begin < end]


def _ends(timed: Timed, one: Recorded) -> tuple[datetime | None, datetime | None]:
    stretches = {
        Timed.CARRIED: (one.removed_at, one.received_at),
        Timed.SECOND_CHECK: (one.received_at, one.identity_at),
        Timed.CHECK_AND_START: (one.received_at, one.started_at),
        Timed.END_SET: (one.ended_at, one.end_set_at),
    }
    return stretches[timed]


def _learnt(timed: Timed, found: list[timedelta], policy: Policy) -> Learnt:
    seconds = [length.total_seconds() for length in found]
    lower, median, upper = quantiles(seconds, n=4, method="inclusive")
    return Learnt(
        timed=timed,
        count=len(found),
        lower=timedelta(seconds=lower),
        median=timedelta(seconds=median),
        upper=timedelta(seconds=upper),
        is_enough=len(found) >= policy.work_enough_recorded,
    )


def _whole_minutes(length: timedelta) -> timedelta:
    """Rounded up: a plan that allows too little breaks, one that allows a little more holds."""
    return -(-length // _MINUTE) * _MINUTE
