"""How much work lies on whom: minutes in each slot, what is too much for a person, and fairness.

A task counts where it is expected to lie. Only the part of it inside the asked period counts.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import timedelta
from typing import Final

from server.domain.workload.capacity import OnDuty
from server.domain.workload.period import Period
from server.domain.workload.periods import at_work, shared
from server.domain.workload.task import Task

SLOT: Final = timedelta(minutes=15)
_NONE: Final = timedelta(0)
_HOUR_MINUTES: Final = 60


@dataclass(frozen=True, slots=True)
class SlotLoad:
    """The work of one person in one slot: time-locked, and what may be moved.

    `over` is what they cannot do in it: more than the slot holds, or while they are away.
    """

    locked: timedelta = _NONE
    movable: timedelta = _NONE
    over: timedelta = _NONE

    @property
    def work(self) -> timedelta:
        """All of it."""
        return self.locked + self.movable


@dataclass(frozen=True, slots=True)
class PersonLoad:
    """The work of one person, slot by slot; `there` is how long they are at work in the period."""

    staff_id: str
    there: timedelta
    slots: tuple[SlotLoad, ...]
    may_start: bool

    @property
    def work(self) -> timedelta:
        """All their work in the period."""
        return sum((slot.work for slot in self.slots), _NONE)

    @property
    def over(self) -> timedelta:
        """What of it they cannot do where it lies."""
        return sum((slot.over for slot in self.slots), _NONE)

    @property
    def minutes_per_hour(self) -> int | None:
        """Whole minutes of work in an hour at work, None for somebody who is not there."""
        return round(self.work / self.there * _HOUR_MINUTES) if self.there else None


@dataclass(frozen=True, slots=True)
class Share:
    """How many whole minutes of each hour at work somebody is busy."""

    staff_id: str
    minutes_per_hour: int


@dataclass(frozen=True, slots=True)
class Fairness:
    """The most and the least loaded of those who may start units."""

    most: Share
    least: Share

    @property
    def difference(self) -> int:
        """Minutes of each hour between the two."""
        return self.most.minutes_per_hour - self.least.minutes_per_hour


@dataclass(frozen=True, slots=True)
class Load:
    """The load of a ward over a period. `unnamed` are tasks that nobody is named for.

    `people` are all on duty and all who have tasks, in order of their ids; each has one entry for
    each of `slots`.
    """

    period: Period
    slots: tuple[Period, ...]
    people: tuple[PersonLoad, ...]
    unnamed: tuple[Task, ...]

    @property
    def fairness(self) -> Fairness | None:
        """How evenly it is spread, None where fewer than two are there who may start units."""
        rates = [(one.minutes_per_hour, one.staff_id) for one in self.people if one.may_start]
        shares = [Share(who, rate) for rate, who in rates if rate is not None]
        if len(shares) < 2:  # noqa: PLR2004 - one alone is compared with nobody
            return None
        ordered = sorted(shares, key=lambda one: (one.minutes_per_hour, one.staff_id))
        return Fairness(most=ordered[-1], least=ordered[0])


def load_of(
    tasks: Iterable[Task], on_duty: Iterable[OnDuty], period: Period, slot: timedelta = SLOT
) -> Load:
    """Answer the load over a period, cut into slots from its begin; the last may be shorter."""
    theirs: defaultdict[str | None, list[Task]] = defaultdict(list)
    for task in tasks:
        if task.period.overlaps(period):
            theirs[task.staff_id].append(task)
    shifts: defaultdict[str, list[OnDuty]] = defaultdict(list)
    for one in on_duty:
        if one.period.overlaps(period):
            shifts[one.staff_id].append(one)
    unnamed = tuple(theirs.pop(None, ()))
    slots = slots_of(period, slot)
    staff = sorted({*shifts, *(who for who in theirs if who is not None)})
    people = tuple(_person(who, theirs[who], shifts[who], period, slots) for who in staff)
    return Load(period, slots, people, unnamed)


def slots_of(period: Period, slot: timedelta = SLOT) -> tuple[Period, ...]:
    """Answer a period cut into slots from its begin."""
    count = -((period.from_at - period.until_at) // slot)
    begins = (period.from_at + place * slot for place in range(count))
    return tuple(Period(begin, min(begin + slot, period.until_at)) for begin in begins)


def _person(
    staff_id: str,
    tasks: Sequence[Task],
    shifts: Sequence[OnDuty],
    period: Period,
    slots: Sequence[Period],
) -> PersonLoad:
    free = at_work(shifts, period)
    return PersonLoad(
        staff_id=staff_id,
        there=sum((one.length for one in free), _NONE),
        slots=tuple(_slot(slot, tasks, free) for slot in slots),
        may_start=any(shift.may_start for shift in shifts),
    )


def _slot(slot: Period, tasks: Sequence[Task], free: Sequence[Period]) -> SlotLoad:
    here = [task for task in tasks if task.period.overlaps(slot)]
    if not here:
        return _EMPTY
    room = [cut for cut in free if cut.overlaps(slot)]
    locked = sum((shared(task.period, slot) for task in here if task.is_locked), _NONE)
    movable = sum((shared(task.period, slot) for task in here if not task.is_locked), _NONE)
    done = sum((_inside(task, slot, room) for task in here), _NONE)
    holds = sum((shared(one, slot) for one in room), _NONE)
    return SlotLoad(locked, movable, locked + movable - min(done, holds))


def _inside(task: Task, slot: Period, room: Sequence[Period]) -> timedelta:
    """How much of a task lies in a slot while its person is at work."""
    begin, end = max(task.at, slot.from_at), min(task.period.until_at, slot.until_at)
    return sum((shared(Period(begin, end), one) for one in room), _NONE)


_EMPTY: Final = SlotLoad()
