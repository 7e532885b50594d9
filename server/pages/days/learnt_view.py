"""What a ward learnt of its own minutes, beside those of its policy, in words."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import timedelta
from typing import Final

from server.domain.policy import Policy
from server.domain.workload.learnt import USED_FOR, Learnt, Timed, carried, lengths

_MINUTE: Final = timedelta(minutes=1)
WORDS: Final = {
    Timed.CARRIED: "On the way, from storage until it is on the ward",
    Timed.SECOND_CHECK: "From its arrival until two people have checked",
    Timed.CHECK_AND_START: "From its arrival until the blood runs",
    Timed.END_SET: "From the end until the end observations",
}
_KEY: Final = {
    Timed.CARRIED: "work.carried_minutes",
    Timed.SECOND_CHECK: "work.second_check_minutes",
    Timed.CHECK_AND_START: "work.check_and_start_minutes",
    Timed.END_SET: "work.end_set_minutes",
}
_NEVER: Final = "the policy’s, always: between the two lies mostly waiting"


@dataclass(frozen=True, slots=True)
class LearntRow:
    """One stretch: the policy's minutes and their source, the ward's own, and which are used."""

    words: str
    policy: str
    source: str
    median: str
    quartiles: str
    recorded: str
    used: str


def learnt_rows(
    found: Mapping[Timed, Learnt], policy: Policy, *, use_learnt: bool
) -> tuple[LearntRow, ...]:
    """Answer every stretch, also one that was never recorded."""
    return tuple(_row(timed, found, policy, use_learnt=use_learnt) for timed in Timed)


def _row(
    timed: Timed, found: Mapping[Timed, Learnt], policy: Policy, *, use_learnt: bool
) -> LearntRow:
    own, stated = found.get(timed), policy.values[_KEY[timed]]
    return LearntRow(
        words=WORDS[timed],
        policy=f"{stated.value} min",
        source=stated.source,
        median=_minutes(own.median) if own else "",
        quartiles=f"{_minutes(own.lower)} to {_minutes(own.upper)}" if own else "",
        recorded=recorded_words(own, policy),
        used=_used(timed, found, policy, use_learnt=use_learnt),
    )


def recorded_words(own: Learnt | None, policy: Policy) -> str:
    """Answer how often it was recorded, and how often is needed where that is too seldom."""
    if own is not None and own.is_enough:
        return f"{own.count}"
    count = "fewer than 2" if own is None else f"{own.count}"
    return f"{count} recorded, {policy.work_enough_recorded} needed"


def _used(timed: Timed, found: Mapping[Timed, Learnt], policy: Policy, *, use_learnt: bool) -> str:
    """What a plan counts with."""
    if timed is Timed.END_SET:
        return _NEVER
    own = found.get(timed)
    if not (use_learnt and own is not None and own.is_enough):
        return "the policy’s"
    if timed is Timed.CARRIED:
        return f"the ward’s own, {_minutes(carried(policy, found, use_learnt=True))}"
    used = lengths(policy, found, use_learnt=True)[USED_FOR[timed]]
    return f"the ward’s own, {_minutes(used)}"


def _minutes(length: timedelta) -> str:
    return f"{length / _MINUTE:.1f}".removesuffix(".0") + " min"
