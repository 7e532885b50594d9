"""What a board that was looked at each second would have noted of a unit, worked out afterwards.

The unit is walked through as it was known then: time passes up to each fact, then the fact comes
in. What is found is what ticks and writes find one by one, so that a past which came in whole can
be told from one that was lived by nothing but its speed.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import datetime
from typing import Final, NamedTuple

from server.domain.clock import OWED, SECOND, Clock, state_at
from server.domain.clocks import schedule
from server.domain.crossings import Crossing, crossings
from server.domain.facts import Facts
from server.domain.fold import fold
from server.domain.picture import Case, stand
from server.domain.reminders import Reminder, reminders_owed
from server.domain.standing import Standing
from server.domain.words import ClockName, ClockState, Kind, Stage

SILENT: Final = frozenset(
    {
        Kind.AVAILABLE,
        Kind.INSPECTED,
        Kind.IDENTITY_CHECKED,
        Kind.CONFIRMED,
        Kind.FLUSHED,
        Kind.RATE_SET,
        Kind.VOLUME_READ,
        Kind.PAUSED,
        Kind.RESUMED,
        Kind.REACTION_STEP,
        Kind.WARNED,
        Kind.WARNING_CHECKED,
        Kind.NOTE,
        Kind.CAUSE_GIVEN,
    }
)
"""Kinds of facts that move no clock, and change nobody whom reminders go to."""

_ORIGIN: Final = {Kind.RECEIVED: "received", Kind.SPIKED: "spiked"}
"""Kinds that move a clock only where the finish limit is counted from them."""

Looked = tuple[Clock, ClockState]
Identity = tuple[ClockName, int, Stage, int, datetime]


class Noted(NamedTuple):
    """A crossing, and when it would have been noticed."""

    crossing: Crossing
    noticed_at: datetime


class Raised(NamedTuple):
    """A reminder, when it would have been raised, and how the unit stood then."""

    reminder: Reminder
    raised_at: datetime
    standing: Standing


@dataclass(slots=True)
class Noticed:
    """The crossings and reminders of one unit, in the order in which they were noticed."""

    noted: list[Noted] = field(default_factory=list)
    raised: list[Raised] = field(default_factory=list)


def noticed(case: Case, until: datetime) -> Noticed:
    """Answer what would have been noted of a unit by `until`, had somebody looked each second.

    A record of history reminds nobody. Raises `Refused` where the facts, as they were known at
    some instant, could not be.
    """
    walk = _Walk(case)
    for at in _instants(case, until):
        walk.pass_time(at - SECOND)
        walk.catch_up(at)
        walk.learn(at)
    walk.pass_time(until)
    walk.found.noted.sort(key=lambda one: one.noticed_at)
    walk.found.raised.sort(key=lambda one: one.raised_at)
    return walk.found


@dataclass(slots=True)
class _Walk:
    """How far the unit was walked through, what its clocks were seen as, what was raised."""

    case: Case
    found: Noticed = field(default_factory=Noticed)
    known: Case = field(init=False)
    facts: Facts | None = None
    clocks: tuple[Clock, ...] = ()
    now: datetime | None = None
    states: dict[tuple[ClockName, int], ClockState] = field(default_factory=dict)
    raised: set[Identity] = field(default_factory=set)

    def learn(self, at: datetime) -> None:
        """Look at `at`, with everything that was recorded by then."""
        self.known = self.case.known(known_at=at)
        self.facts = self.known.facts_of(fold(self.known.request, self.known.events))
        self.clocks = schedule(self.facts)
        self._look(at, since=at)

    def catch_up(self, at: datetime) -> None:
        """Note what changes by time in the very second of a fact, as the write of the fact does."""
        self._note([(clock, state_at(clock, at)) for clock in self.clocks], at, since=at)

    def pass_time(self, to: datetime) -> None:
        """Look on without new facts, also just before a clock comes to an end by itself."""
        since = self.now
        if since is None or to <= since or not self._may_change(to):
            return
        ends = {
            at - SECOND
            for clock in self.clocks
            for at in (clock.over_at, clock.lapsed_at)
            if at is not None
        }
        for at in sorted({at for at in ends if since < at < to} | {to}):
            self._look(at, since=since + SECOND)
            since = at

    def _may_change(self, to: datetime) -> bool:
        """Whether a clock is in another state by then, or near enough its time to be spoken of."""
        notice = self.case.policy.reminders_notice
        for clock in self.clocks:
            state = state_at(clock, to)
            if state is not self.states[clock.name, clock.n]:
                return True
            if state in OWED and clock.due_at is not None and clock.due_at - notice <= to:
                return True
        return False

    def _look(self, at: datetime, *, since: datetime) -> None:
        assert self.facts is not None  # noqa: S101 - the request is learnt first
        standing = stand(self.known, self.facts, self.clocks, at)
        self.now = at
        self._note(standing.clocks, at, since=since)
        if not self.case.request.history:
            self._remind(standing, since)

    def _note(self, clocks: Iterable[Looked], at: datetime, *, since: datetime) -> None:
        seen, self.states = self.states, {}
        for clock, state in clocks:
            key = (clock.name, clock.n)
            self.states[key] = state
            if seen.get(key) is not state:
                for crossing in crossings(clock, seen.get(key), at):
                    noticed_at = max(since, _visible_from(crossing))
                    self.found.noted.append(Noted(crossing, noticed_at))

    def _remind(self, standing: Standing, since: datetime) -> None:
        for reminder in reminders_owed(standing):
            identity = reminder[:5]
            if identity not in self.raised:
                self.raised.add(identity)
                raised_at = max(since, reminder.reached_at)
                self.found.raised.append(Raised(reminder, raised_at, standing))


def _visible_from(crossing: Crossing) -> datetime:
    """When it shows: a limit is passed the second after it."""
    return crossing.at + SECOND if crossing.to_state is ClockState.OVERDUE else crossing.at


def _instants(case: Case, until: datetime) -> list[datetime]:
    """When something was learnt that can move a clock, in order; the request comes first."""
    first = case.request.recorded_at
    learnt = {first, *_recorded(case)}
    return sorted(at for at in learnt if first <= at <= until)


def _recorded(case: Case) -> Iterator[datetime]:
    origins = case.policy.finish_from
    for event in case.events:
        if event.kind not in SILENT and _ORIGIN.get(event.kind, origins[0]) in origins:
            yield event.recorded_at
