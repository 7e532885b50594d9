"""The words for what does not work out, and for what is not projected.

Times are shown in the ward's zone, people by their names, units by their beds.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import tzinfo
from typing import Final

from server.domain.plan.telling import WORK
from server.domain.urgency import natural
from server.domain.wording import wall_time
from server.domain.workload.finding import Snag, WorkFinding
from server.domain.workload.period import Period
from server.domain.workload.projection import LeftOut, NotKnown, in_order
from server.domain.workload.task import Task, Work

_AGAIN: Final = 3

NOT_KNOWN: Final[dict[NotKnown, str]] = {
    NotKnown.REACTION: "a reaction is suspected, and how it goes on is decided at the bedside",
    NotKnown.WARNED: "a warning from another bed has to be checked first",
    NotKnown.PAST_LIMIT: "it is past its finish limit and goes back",
    NotKnown.PAUSED: "it is paused, and nobody can say when it will be in",
    NotKnown.NO_VOLUME: "its volume is not recorded",
    NotKnown.NO_RATE: "its rate leads to no end",
}


@dataclass(frozen=True, slots=True)
class _Told:
    """A finding with what its words need: the names of people by id, and the ward's zone."""

    finding: WorkFinding
    names: Mapping[str, str]
    zone: tzinfo

    @property
    def who(self) -> str:
        """The first of its people by name, the id where no name is known."""
        return self.name(self.finding.staff_ids[0])

    @property
    def when(self) -> str:
        """`14:50–15:00`."""
        return stretch(self.finding.period, self.zone)

    @property
    def tasks(self) -> str:
        """`first check bed 4 and second check beds 7 and 9`, by who is first."""
        alike: defaultdict[Work, list[Task]] = defaultdict(list)
        for task in self.finding.tasks:
            alike[task.work].append(task)
        return " and ".join(f"{WORK[work]} {_beds(tasks)}" for work, tasks in alike.items())

    def name(self, staff_id: str) -> str:
        return self.names.get(staff_id, staff_id)


def finding_words(finding: WorkFinding, names: Mapping[str, str], zone: tzinfo) -> str:
    """Answer a finding in one line, such as `Nia Cole: first check bed 4 and … collide …`."""
    return _SAY[finding.snag](_Told(finding, names, zone))


def findings_words(
    findings: Iterable[WorkFinding], names: Mapping[str, str], zone: tzinfo
) -> tuple[str, ...]:
    """Answer findings in lines; what comes again with the same people and work is told once.

    So is what collides over the very same stretch: eight units at once are one line, not the
    twenty-eight of every two of them.
    """
    alike: defaultdict[object, list[WorkFinding]] = defaultdict(list)
    for one in _at_once(findings):
        works = tuple((task.work, task.bed) for task in one.tasks)
        alike[one.snag, one.staff_ids, works].append(one)
    return tuple(
        finding_words(first, names, zone) + _again(others, zone)
        for first, *others in alike.values()
    )


def _at_once(findings: Iterable[WorkFinding]) -> Iterable[WorkFinding]:
    """The same, with the collisions of one person over one stretch as one of all that is there."""
    joined: dict[object, WorkFinding] = {}
    for one in findings:
        key = (one.staff_ids, one.period) if one.snag is Snag.COLLISION else one
        tasks = joined[key].tasks if key in joined else ()
        joined[key] = replace(one, tasks=in_order({*tasks, *one.tasks}))
    return joined.values()


def _again(others: Sequence[WorkFinding], zone: tzinfo) -> str:
    """`; again 16:12, 16:27 and 3 times more, until 17:30`."""
    if not others:
        return ""
    shown, rest = others[:_AGAIN], others[_AGAIN:]
    times = ", ".join(wall_time(one.period.from_at, zone) for one in shown)
    if not rest:
        return f"; again {times}"
    last = max(one.period.until_at for one in rest)
    often = "once" if len(rest) == 1 else f"{len(rest)} times"
    return f"; again {times} and {often} more, until {wall_time(last, zone)}"


def left_out_words(left_out: LeftOut) -> str:
    """Answer what is not projected of a unit, and why."""
    works = ", ".join(WORK[work] for work in left_out.works)
    return f"Bed {left_out.bed}: {NOT_KNOWN[left_out.why]}. Left out: {works}."


def stretch(period: Period, zone: tzinfo) -> str:
    """Answer a period by the clock on the wall, `14:50–15:00`."""
    return f"{wall_time(period.from_at, zone)}–{wall_time(period.until_at, zone)}"


def _collision(told: _Told) -> str:
    return f"{told.who}: {told.tasks} collide {told.when}"


def _too_many(told: _Told) -> str:
    beds = _beds(told.finding.tasks)
    return f"More than {told.finding.allowed} starts at once {told.when}: {beds}"


def _handover(told: _Told) -> str:
    bed = told.finding.tasks[0].bed
    return f"Bed {bed}: the start falls into the handover {told.when}"


def _away(what: str) -> Callable[[_Told], str]:
    return lambda told: f"{told.who}: {told.tasks} falls into {what} {told.when}"


def _off_shift(told: _Told) -> str:
    tasks = told.finding.tasks
    works = ", ".join(f"{WORK[one.work]} {wall_time(one.at, told.zone)}" for one in tasks)
    return f"{told.who} is not on duty for bed {tasks[0].bed}: {works}"


def _no_cover(told: _Told) -> str:
    if len(told.finding.staff_ids) == 1:
        return f"{told.who} is on a break {told.when} and nobody covers"
    covering = told.name(told.finding.staff_ids[1])
    return f"{covering}, who covers for {told.who}, is on a break {told.when}"


def _no_second(told: _Told) -> str:
    return f"Nobody trained is free for the {told.tasks} {told.when}"


def _nobody(told: _Told) -> str:
    return f"Nobody who may start a unit is free {told.when}"


def _beds(tasks: Iterable[Task]) -> str:
    """`bed 4`, `beds 4, 7 and 12`."""
    *others, last = sorted({task.bed for task in tasks}, key=natural)
    return f"beds {', '.join(others)} and {last}" if others else f"bed {last}"


_SAY: Final[dict[Snag, Callable[[_Told], str]]] = {
    Snag.COLLISION: _collision,
    Snag.TOO_MANY_STARTS: _too_many,
    Snag.HANDOVER: _handover,
    Snag.BREAK: _away("a break"),
    Snag.DUTY: _away("another duty"),
    Snag.OFF_SHIFT: _off_shift,
    Snag.NO_COVER: _no_cover,
    Snag.NO_SECOND: _no_second,
    Snag.NOBODY_TO_START: _nobody,
}
