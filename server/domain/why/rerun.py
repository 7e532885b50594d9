"""The engine run again on facts that were moved: which limits would then not have been kept."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import TypeAlias

from server.domain.breaches import Breach, breaches_at
from server.domain.clock import Clock
from server.domain.clocks import schedule
from server.domain.errors import Refused
from server.domain.events import Event, sorted_live
from server.domain.facts import Facts
from server.domain.fold import fold
from server.domain.picture import Case, stand
from server.domain.standing import Standing
from server.domain.words import ClockName, ClockState

Key: TypeAlias = tuple[ClockName, int]
"""Which clock of a unit: its name, and its number among those of the name."""


@dataclass(frozen=True, slots=True)
class Rerun:
    """One run of the engine. `breaches` are by the clock that was not kept."""

    case: Case
    facts: Facts
    standing: Standing
    breaches: Mapping[Key, Breach]

    def clock(self, key: Key) -> tuple[Clock, ClockState] | None:
        """One clock with its state, None where the unit owes none of that name and number."""
        clocks = self.standing.clocks
        return next((one for one in clocks if (one[0].name, one[0].n) == key), None)


def rerun(case: Case, now: datetime) -> Rerun | None:
    """Answer how the unit stands at `now`, None where the pathway does not allow the facts."""
    try:
        facts = case.facts_of(fold(case.request, case.events))
    except Refused:
        return None
    standing = stand(case, facts, schedule(facts), now)
    return Rerun(case, facts, standing, {(one.clock, one.n): one for one in breaches_at(standing)})


def live_events(case: Case) -> tuple[Event, ...]:
    """Answer the facts of a case that count, in bedside order."""
    return tuple(sorted_live(case.events))


def retold(case: Case, events: Sequence[Event]) -> Case:
    """Answer the case with these facts instead.

    Of facts of one second the one that stands first comes first: when each was charted plays no
    part in what would have been.
    """
    told = (
        replace(event, recorded_at=event.happened_at, position=place)
        for place, event in enumerate(events, 1)
    )
    return replace(case, events=tuple(told))
