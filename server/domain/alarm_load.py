"""Alarm load: how many reminders a ward raised in a period, and what came of them.

Counted by limit and stage, hour of the ward's day, live unit, and shift of one nurse; never by
person. A reminder that called nobody, being quiet, counts as raised and as nothing else.
"""

from collections import Counter, defaultdict
from collections.abc import Callable, Collection, Hashable, Iterable
from datetime import datetime, timedelta, tzinfo
from statistics import median
from typing import Final, NamedTuple, TypeVar

from server.domain.alarm_outcomes import Judged, Outcome, Told, judge
from server.domain.words import ClockName, Stage

HOURS: Final = range(24)
_ESCALATED: Final = frozenset({Stage.ESCALATE, Stage.SECOND_ESCALATE})

Key = TypeVar("Key", bound=Hashable)


class Duty(NamedTuple):
    """One shift of one nurse, from `starts_at` until just before `ends_at`."""

    staff_id: str
    starts_at: datetime
    ends_at: datetime


class Tally(NamedTuple):
    """Reminders counted: `raised` is the sum of the seven outcomes; the last two overlap them.

    `escalated` are those raised at a stage of escalation, quiet ones left out.
    """

    useful: int
    later: int
    ignored: int
    quiet: int
    met_before: int
    lapsed: int
    open: int
    acknowledged: int
    escalated: int

    @property
    def raised(self) -> int:
        """All that were raised."""
        return self.called + self.quiet

    @property
    def called(self) -> int:
        """Those that called somebody."""
        return self.useful + self.later + self.ignored + self.met_before + self.lapsed + self.open


class Group(NamedTuple):
    """The reminders of one limit at one stage; `repeats` apart from the first of the stage."""

    clock: ClockName
    stage: Stage
    repeats: bool
    tally: Tally


class Spread(NamedTuple):
    """How calls lie among several: how many those are, all calls, those of the middle one, most."""

    among: int
    total: int
    middle: float
    most: int


class ShiftLoad(NamedTuple):
    """Calls to a nurse in a shift, of all shifts that begin at one time of the ward's day."""

    begins: str
    spread: Spread


class AlarmLoad(NamedTuple):
    """The load of a period. `groups` are by limit and stage, `hours` has one for each of 24."""

    total: Tally
    groups: tuple[Group, ...]
    hours: tuple[Tally, ...]
    units: Spread
    shifts: tuple[ShiftLoad, ...]

    @property
    def by_clock(self) -> dict[ClockName, Tally]:
        """The groups of each limit together."""
        return _together((group.clock, group.tally) for group in self.groups)

    @property
    def by_stage(self) -> dict[tuple[Stage, bool], Tally]:
        """The groups of each stage together, repeats apart."""
        return _together(((group.stage, group.repeats), group.tally) for group in self.groups)


def alarm_load(
    told: Iterable[Told],
    from_at: datetime,
    until: datetime,
    *,
    useful_within: timedelta,
    zone: tzinfo,
    units: Collection[str],
    duties: Iterable[Duty],
) -> AlarmLoad:
    """Count the reminders raised in `from_at` <= raised < `until`.

    `told` are all reminders of the clocks concerned, whenever raised. `units` are the ids of
    those that were live, `duties` the shifts that lie wholly inside the period.
    """
    judged = [one for one in judge(told, useful_within) if from_at <= one.told.raised_at < until]
    called = [one.told for one in judged if one.outcome is not Outcome.QUIET]
    hours = _grouped(judged, lambda one: one.told.raised_at.astimezone(zone).hour)
    return AlarmLoad(
        total=_tally(judged),
        groups=_groups(judged),
        hours=tuple(_tally(hours.get(hour, ())) for hour in HOURS),
        units=_per_unit(called, units),
        shifts=_per_shift(called, duties, zone),
    )


def _groups(judged: Iterable[Judged]) -> tuple[Group, ...]:
    found = _grouped(judged, lambda one: (one.told.clock, one.told.stage, one.told.repeat > 0))
    clocks, stages = list(ClockName), list(Stage)
    ordered = sorted(found, key=lambda key: (clocks.index(key[0]), stages.index(key[1]), key[2]))
    return tuple(Group(*key, _tally(found[key])) for key in ordered)


def _tally(judged: Iterable[Judged]) -> Tally:
    listed = list(judged)
    outcomes = Counter(one.outcome for one in listed)
    escalated = [one for one in listed if one.told.stage in _ESCALATED]
    counts = {outcome.value: outcomes[outcome] for outcome in Outcome}
    return Tally(
        **counts,
        acknowledged=sum(one.acknowledged for one in listed),
        escalated=sum(one.outcome is not Outcome.QUIET for one in escalated),
    )


def _per_unit(called: Iterable[Told], units: Collection[str]) -> Spread:
    counts = Counter(one.episode_id for one in called)
    return _spread([counts[unit] for unit in set(units) | counts.keys()])


def _per_shift(
    called: Iterable[Told], duties: Iterable[Duty], zone: tzinfo
) -> tuple[ShiftLoad, ...]:
    calls: dict[str, list[datetime]] = defaultdict(list)
    for one in called:
        calls[one.to].append(one.raised_at)
    counts: dict[str, list[int]] = defaultdict(list)
    for duty in duties:
        theirs = [at for at in calls[duty.staff_id] if duty.starts_at <= at < duty.ends_at]
        counts[f"{duty.starts_at.astimezone(zone):%H:%M}"].append(len(theirs))
    return tuple(ShiftLoad(begins, _spread(counts[begins])) for begins in sorted(counts))


def _spread(counts: list[int]) -> Spread:
    if not counts:
        return Spread(0, 0, 0.0, 0)
    return Spread(len(counts), sum(counts), float(median(counts)), max(counts))


def _grouped(judged: Iterable[Judged], key: Callable[[Judged], Key]) -> dict[Key, list[Judged]]:
    found: dict[Key, list[Judged]] = defaultdict(list)
    for one in judged:
        found[key(one)].append(one)
    return found


def _together(tallies: Iterable[tuple[Key, Tally]]) -> dict[Key, Tally]:
    sums: dict[Key, Tally] = {}
    for key, tally in tallies:
        before = sums.get(key)
        sums[key] = tally if before is None else _added(before, tally)
    return sums


def _added(one: Tally, other: Tally) -> Tally:
    return Tally(*(a + b for a, b in zip(one, other, strict=True)))
