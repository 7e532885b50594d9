"""The sets of vital signs still ahead of a unit: the schedule, asked again after each set.

Nothing here counts minutes: the clocks are worked out anew with every expected set, so that what is
projected is what the schedule will ask for if each set is taken when it falls due.
"""

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime
from typing import Final, NamedTuple

from server.domain.clock import OWED, Clock, state_at
from server.domain.clocks_checks import end_check, first_and_running_checks
from server.domain.clocks_reaction import reaction_checks
from server.domain.facts import Facts

_CHECKS: Final[tuple[Callable[[Facts], tuple[Clock, ...]], ...]] = (
    reaction_checks,  # first: a set taken for a reaction serves the other checks
    first_and_running_checks,
    end_check,
)


class SetAhead(NamedTuple):
    """One set: the check that asks for it and when it is expected."""

    at: datetime
    clock: Clock


def sets_ahead(facts: Facts, now: datetime, until: datetime) -> tuple[SetAhead, ...]:
    """Answer the sets owed from `now` until just before `until`, in order.

    Each is expected when it falls due, at once where that has passed. One set meets every check
    that is open at its instant, as it does in life; the check that asks first gives it its name.
    """
    ahead: list[SetAhead] = []
    expected = facts
    while (owed := _next_owed(expected, now)) is not None and owed.at < until:
        ahead.append(owed)
        expected = replace(expected, sets=sorted([*expected.sets, owed.at]))
    return tuple(ahead)


def _next_owed(facts: Facts, now: datetime) -> SetAhead | None:
    unmet = (clock for checks in _CHECKS for clock in checks(facts) if clock.met_at is None)
    ahead = (SetAhead(max(now, clock.due_at), clock) for clock in unmet if clock.due_at)
    owed = (one for one in ahead if state_at(one.clock, one.at) in OWED)
    return min(owed, key=lambda one: one.at, default=None)
