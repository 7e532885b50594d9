"""The schedule: every clock an episode owes, from its facts and the policy it is judged by.

A new kind of clock is one function and one entry in `SCHEDULE`: the board, the reminders, the
review, the JSON interface and the exports take it from here.
"""

from collections.abc import Callable
from typing import Final

from server.domain.clock import Clock
from server.domain.clocks_checks import baseline_check, end_check, first_and_running_checks
from server.domain.clocks_reaction import reaction_checks
from server.domain.clocks_unit import (
    fate_record,
    finish_limit,
    late_watch,
    return_window,
    set_changes,
    start_target,
)
from server.domain.facts import Facts

SCHEDULE: Final[tuple[Callable[[Facts], tuple[Clock, ...]], ...]] = (
    start_target,
    return_window,
    finish_limit,
    baseline_check,
    first_and_running_checks,
    reaction_checks,
    end_check,
    set_changes,
    late_watch,
    fate_record,
)


def schedule(facts: Facts) -> tuple[Clock, ...]:
    """Answer all clocks of an episode, in the order of the pathway."""
    clocks: list[Clock] = []
    for clocks_of in SCHEDULE:
        clocks.extend(clocks_of(facts))
    return tuple(clocks)
