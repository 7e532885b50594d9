"""What kept the nurse who answered for the unit: other beds, breaks, handovers, the shift's end.

Only what events, shifts and covers show, and only while the act was owed. Nobody is named.
"""

from collections.abc import Iterator
from datetime import datetime
from typing import Final

from server.domain.why.link import Fact, Link
from server.domain.why.surroundings import Other
from server.domain.why.telling import Telling
from server.domain.wording import span
from server.domain.words import ClockName
from server.domain.workload.capacity import OnDuty
from server.domain.workload.period import Period
from server.domain.workload.periods import common

_LONG: Final = frozenset({ClockName.FATE})
"""What is owed for hours: a nurse's quarter of an hour elsewhere in them says nothing."""


def nobody(telling: Telling) -> Iterator[Link]:
    """Nobody had the unit when its limit passed; a record of history says nothing of who had it."""
    if telling.episode.nurse_at(telling.limit_at) is not None or telling.episode.request.history:
        return
    since = next((one.at for one in telling.episode.assignments), None)
    until = "" if since is None else f"; somebody has had it since {telling.time(since)}"
    words = f"Nobody had the unit at {telling.time(telling.limit_at)}{until}."
    yield Link(Fact.NOBODY, telling.window.from_at, words, telling.limit_at)


def busy_elsewhere(telling: Telling) -> Iterator[Link]:
    """Its nurse was with the beginning of a unit in another bed."""
    begun = telling.window.from_at
    for other in _others_of_its_nurse(telling):
        beginning, start = other.beginning, other.episode.started_at
        if beginning is None or start is None or not beginning.overlaps(telling.window):
            continue
        if telling.asked.clock.name is ClockName.START and start > begun:
            yield _collision(telling, other, start, beginning)
        else:
            yield _busy(telling, other, beginning)


def _busy(telling: Telling, other: Other, beginning: Period) -> Link:
    until = telling.time(beginning.until_at)
    watched = span(round(other.policy.rate_first.total_seconds() / 60))
    early = beginning.from_at <= telling.window.from_at
    issued = telling.asked.clock.name is ClockName.START and early
    head = "Issued before its nurse was free: busy" if issued else "Its nurse was busy"
    words = (
        f"{head} with the start and the first {watched} in bed {other.request.bed} until {until}, "
        f"{telling.to_limit(beginning.until_at)}."
    )
    return _link(Fact.NURSE_BUSY, beginning, words, other)


def _collision(telling: Telling, other: Other, start: datetime, beginning: Period) -> Link:
    until = telling.time(beginning.until_at)
    words = (
        f"Two starts fell on one nurse: the unit in bed {other.request.bed} was started at "
        f"{telling.time(start)} and watched until {until}, {telling.to_limit(beginning.until_at)}."
    )
    return _link(Fact.STARTS_COLLIDED, beginning, words, other)


def _link(fact: Fact, period: Period, words: str, other: Other) -> Link:
    return Link(fact, period.from_at, words, period.until_at, episode_ids=(other.request.id,))


def other_sets(telling: Telling) -> Iterator[Link]:
    """Its nurse took sets in other beds between the time it was due and its limit."""
    if telling.asked.clock.name in _LONG:
        return
    due = telling.asked.clock.due_at or telling.window.from_at
    due = min(due, telling.window.from_at) if due >= telling.limit_at else due
    taken = [
        (at, other)
        for other in _others_of_its_nurse(telling)
        for at in other.sets
        if due <= at <= telling.limit_at
    ]
    taken.sort(key=lambda one: (one[0], one[1].request.id))
    if not taken:
        return
    beds = ", ".join(f"{telling.time(at)} bed {other.request.bed}" for at, other in taken)
    words = f"Its nurse took observations elsewhere while it was owed: {beds}."
    ids = tuple(dict.fromkeys(other.request.id for _, other in taken))
    yield Link(Fact.OTHER_SETS, taken[0][0], words, taken[-1][0], episode_ids=ids)


def other_reactions(telling: Telling) -> Iterator[Link]:
    """A reaction was suspected with another unit of its nurse."""
    for other in _others_of_its_nurse(telling):
        for suspicion in other.episode.reactions:
            closed = suspicion.closed_at
            if suspicion.since > telling.limit_at:
                continue
            if closed is not None and closed <= telling.window.from_at:
                continue
            words = (
                f"A reaction was suspected in bed {other.request.bed}, of the same nurse, "
                f"from {telling.time(suspicion.since)}"
            )
            words += "." if closed is None else f" until {telling.time(closed)}."
            period = Period(suspicion.since, closed or telling.limit_at)
            yield _link(Fact.OTHER_REACTION, period, words, other)


def handovers(telling: Telling) -> Iterator[Link]:
    """The handover of the ward lay in the time in which it was owed."""
    if telling.asked.clock.name in _LONG:
        return
    for one in telling.around.handovers:
        if one.overlaps(telling.window):
            words = (
                f"The handover {telling.stretch(one)} fell into the time in which it was owed, "
                f"{telling.to_limit(one.until_at)}."
            )
            yield Link(Fact.HANDOVER, one.from_at, words, one.until_at)


def away(telling: Telling) -> Iterator[Link]:
    """Whoever answered for the unit was on a break or another duty, and nobody covered."""
    if telling.asked.clock.name in _LONG:
        return
    for shift in telling.around.on_duty:
        for one in shift.breaks:
            if _concerns(telling, shift, one):
                yield _away(telling, shift, one, Fact.BREAK, "a break that nobody covered")
        for duty in shift.duties:
            if _concerns(telling, shift, duty.period):
                yield _away(telling, shift, duty.period, Fact.DUTY, f"another duty ({duty.name})")


def in_the_way(telling: Telling, at: datetime) -> Iterator[str]:
    """Say what else whoever answered for the unit had at an instant: another bed, a break."""
    nurse = telling.around.answering(telling.episode, at)
    if nurse is None:
        return
    for other in telling.around.others:
        beginning, bed = other.beginning, other.request.bed
        theirs = telling.around.answering(other.episode, at) == nurse
        if (
            theirs
            and beginning is not None
            and beginning.contains(at)
            and bed != telling.episode.request.bed
        ):
            until = telling.time(beginning.until_at)
            yield f"Its nurse was then with the start in bed {bed}, until {until}."
    for shift in telling.around.shifts_of(nurse):
        for one in shift.away:
            if one.contains(at):
                yield f"Its nurse was then away, {telling.stretch(one)}."


def _concerns(telling: Telling, shift: OnDuty, period: Period) -> bool:
    """Whether it lies in the window and belongs to whoever answered for the unit then."""
    if not period.overlaps(telling.window):
        return False
    at = common(period, telling.window).from_at
    return telling.around.answering(telling.episode, at) == shift.staff_id


def _away(telling: Telling, shift: OnDuty, period: Period, fact: Fact, what: str) -> Link:
    words = (
        f"Its nurse was on {what} {telling.stretch(period)}, {telling.to_limit(period.until_at)}."
    )
    return Link(fact, period.from_at, words, period.until_at, shift_id=shift.shift_id)


def off_shift(telling: Telling) -> Iterator[Link]:
    """The limit lay outside the shifts of whoever answered for the unit; no shift says nothing."""
    nurse = telling.around.answering(telling.episode, telling.limit_at)
    shifts = [] if nurse is None else list(telling.around.shifts_of(nurse))
    if not shifts or any(_holds(shift, telling.limit_at) for shift in shifts):
        return
    over = [one for one in shifts if one.period.until_at < telling.limit_at]
    shift = over[-1] if over else shifts[0]
    edge = shift.period.until_at if over else shift.period.from_at
    when = f"ended {telling.time(edge)}" if over else f"began {telling.time(edge)}"
    tail = "after" if over else "before"
    words = (
        f"The shift of its nurse {when}; the limit {telling.time(telling.limit_at)} lay {tail} it."
    )
    yield Link(Fact.OFF_SHIFT, edge, words, shift_id=shift.shift_id)


def _holds(shift: OnDuty, at: datetime) -> bool:
    return shift.period.from_at <= at <= shift.period.until_at


def _others_of_its_nurse(telling: Telling) -> Iterator[Other]:
    """Units in other beds that whoever answered for this one answered for, while it was owed."""
    if telling.asked.clock.name in _LONG:
        return
    unit, around = telling.episode.request, telling.around
    for other in around.others:
        if other.request.id == unit.id or other.request.bed == unit.bed:
            continue
        instants = (telling.window.from_at, telling.limit_at)
        if any(_same_nurse(telling, other, at) for at in instants):
            yield other


def _same_nurse(telling: Telling, other: Other, at: datetime) -> bool:
    nurse = telling.around.answering(telling.episode, at)
    return nurse is not None and telling.around.answering(other.episode, at) == nurse
