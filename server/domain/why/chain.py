"""The chain of facts that led to a breach, earliest first."""

from collections.abc import Callable, Iterator
from typing import Final, TypeAlias

from server.domain.why.link import FRAME, Link
from server.domain.why.looks_flow import (
    hung_empty,
    paused,
    rate_lowered,
    rate_too_low,
    slow_for_long,
    started_late,
)
from server.domain.why.looks_frame import counted, outcome
from server.domain.why.looks_people import (
    away,
    busy_elsewhere,
    handovers,
    nobody,
    off_shift,
    other_reactions,
    other_sets,
)
from server.domain.why.looks_sets import early_sets, partial_sets
from server.domain.why.looks_unit import (
    entered_late,
    held_by_reaction,
    identity_again,
    own_reaction,
    plan_of_start,
    received_late,
)
from server.domain.why.telling import Telling
from server.domain.words import ClockName

Look: TypeAlias = Callable[[Telling], Iterator[Link]]

_FRAME: Final[tuple[Look, ...]] = (counted, outcome, entered_late)
_PEOPLE: Final[tuple[Look, ...]] = (
    nobody,
    busy_elsewhere,
    other_sets,
    other_reactions,
    handovers,
    away,
    off_shift,
)
_CHECK: Final[tuple[Look, ...]] = (*_FRAME, *_PEOPLE, own_reaction, partial_sets, early_sets)
_BEFORE_START: Final[tuple[Look, ...]] = (
    *_FRAME,
    *_PEOPLE,
    received_late,
    identity_again,
    held_by_reaction,
    plan_of_start,
)
_FLOW: Final[tuple[Look, ...]] = (
    started_late,
    slow_for_long,
    rate_too_low,
    rate_lowered,
    paused,
    hung_empty,
)

LOOKS: Final[dict[ClockName, tuple[Look, ...]]] = {
    ClockName.START: _BEFORE_START,
    ClockName.RETURN: _BEFORE_START,
    ClockName.FINISH: (
        *_FRAME,
        *_FLOW,
        *_PEOPLE,
        received_late,
        plan_of_start,
        own_reaction,
    ),
    ClockName.BASELINE_CHECK: (*_CHECK, held_by_reaction),
    ClockName.FIRST_CHECK: _CHECK,
    ClockName.RUNNING_CHECK: _CHECK,
    ClockName.REACTION_CHECK: _CHECK,
    ClockName.END_CHECK: _CHECK,
    ClockName.SET_CHANGE: (*_FRAME, *_PEOPLE, own_reaction),
    ClockName.FATE: (*_FRAME, *_PEOPLE),
}
"""What is looked for behind each clock. A watch is never passed."""


def chain_of(telling: Telling) -> tuple[Link, ...]:
    """Answer the facts behind a clock that was not kept, earliest first, its frame included."""
    links = [link for look in LOOKS[telling.asked.clock.name] for link in look(telling)]
    return tuple(sorted(links, key=lambda link: link.from_at))


def says_why(chain: tuple[Link, ...]) -> bool:
    """Whether a chain holds anything beside what was owed and how it came out."""
    return any(link.fact not in FRAME for link in chain)
