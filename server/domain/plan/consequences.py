"""What a set of starts breaks, told at once and in words: for plans that are moved by hand.

Every rule that the planners keep is looked at anew here, from the starts themselves.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import chain

from server.domain.plan.alone import broken_alone, is_night_start
from server.domain.plan.crowding import crowded
from server.domain.plan.double_booking import double_booked
from server.domain.plan.finding import Finding
from server.domain.plan.people import is_trained
from server.domain.plan.problem import PlanUnit, Problem
from server.domain.plan.proposal import Rule, Start
from server.domain.plan.telling import WORK, person, stretch, time, unit_name
from server.domain.plan.telling_rules import alone_words
from server.domain.plan.way import FollowUp, check_period, follow_ups, nurse_period
from server.domain.workload.capacity import NightRule, OnDuty
from server.domain.workload.period import Period


def consequences(problem: Problem, starts: Sequence[Start]) -> tuple[Finding, ...]:
    """Answer everything that starts break, what no plan may break first, in order of time.

    Starts of units that are not in the problem are left aside.
    """
    units = {unit.episode_id: unit for unit in problem.units}
    pairs = [(units[one.episode_id], one) for one in starts if one.episode_id in units]
    found = chain(
        chain.from_iterable(_of_one(problem, unit, start) for unit, start in pairs),
        _sequence(problem, pairs),
        double_booked(problem, pairs),
        crowded(problem, pairs),
    )
    return tuple(sorted(found, key=lambda one: (not one.is_hard, one.period, one.episode_ids)))


@dataclass(frozen=True, slots=True)
class _Role:
    """One of the two people of a start: when they are needed and what for."""

    staff_id: str
    pinned: str | None
    period: Period
    able: tuple[OnDuty, ...]
    training: Rule
    what: str


def _of_one(problem: Problem, unit: PlanUnit, start: Start) -> Iterator[Finding]:
    check = check_period(problem.terms, start.check_at)
    for rule in broken_alone(problem, unit, start.check_at):
        words = alone_words(problem, unit, start.check_at, rule)
        yield Finding(rule, (unit.episode_id,), (), check, words)
    for role in _roles(problem, unit, start):
        yield from _of_person(problem, unit, role)
    yield from _second(problem, unit, start, check)
    yield from _soft(problem, unit, start, check)


def _roles(problem: Problem, unit: PlanUnit, start: Start) -> Iterator[_Role]:
    people = problem.capacity.on_duty
    yield _Role(
        start.nurse_id,
        unit.pin.nurse_id,
        nurse_period(problem, unit, start.check_at),
        tuple(one for one in people if is_trained(one, unit)),
        Rule.TRAINING,
        "start",
    )
    if start.second_id is not None:
        yield _Role(
            start.second_id,
            unit.pin.second_id,
            check_period(problem.terms, start.check_at),
            tuple(one for one in people if one.may_second),
            Rule.SECOND,
            "second check",
        )


def _of_person(problem: Problem, unit: PlanUnit, role: _Role) -> Iterator[Finding]:
    """Training, shift, breaks and duties, and whether somebody else was pinned."""
    name, bed = person(problem, role.staff_id), unit_name(problem, unit.episode_id)

    def found(rule: Rule, words: str) -> Finding:
        return Finding(rule, (unit.episode_id,), (role.staff_id,), role.period, words)

    if role.pinned not in {None, role.staff_id}:
        pinned = person(problem, role.pinned or "")
        yield found(Rule.PIN, f"{bed}: {pinned} was fixed for the {role.what}, not {name}")
    shifts = [one for one in problem.capacity.on_duty if one.staff_id == role.staff_id]
    inside = [one for one in shifts if _covers(one.period, role.period)]
    if not inside:
        when = stretch(problem, role.period)
        yield found(Rule.SHIFTS, f"{bed}: {name} is not on duty for the whole of {when}")
    elif not any(one in role.able for one in inside):
        yield found(role.training, f"{bed}: {name} is not trained for the {role.what}")
    for away, what in _away(inside, role.period):
        yield found(Rule.BREAKS, f"{bed}: {name} is on {what} {stretch(problem, away)}")


def _covers(shift: Period, period: Period) -> bool:
    return shift.from_at <= period.from_at and period.until_at <= shift.until_at


def _away(shifts: Sequence[OnDuty], period: Period) -> Iterator[tuple[Period, str]]:
    for one in shifts:
        yield from ((away, "a break") for away in one.breaks if away.overlaps(period))
        duties = (duty for duty in one.duties if duty.period.overlaps(period))
        yield from ((duty.period, f"another duty ({duty.name})") for duty in duties)


def _second(problem: Problem, unit: PlanUnit, start: Start, check: Period) -> Iterator[Finding]:
    bed = unit_name(problem, unit.episode_id)
    if start.second_id is None and problem.terms.checkers > 1:
        words = f"{bed}: nobody is named for the second check"
        yield Finding(Rule.SECOND, (unit.episode_id,), (), check, words)
    if start.second_id == start.nurse_id:
        words = f"{bed}: the second checker has to be somebody other than the first"
        yield Finding(Rule.SECOND, (unit.episode_id,), (start.nurse_id,), check, words)


def _soft(problem: Problem, unit: PlanUnit, start: Start, check: Period) -> Iterator[Finding]:
    """What a plan may do, and the charge nurse should know."""
    bed = unit_name(problem, unit.episode_id)
    avoided = problem.capacity.rules.night_rule is NightRule.AVOIDED
    if avoided and is_night_start(problem, unit, start.check_at):
        words = f"{bed}: routine, and would start at night, {time(problem, start.start_at)}"
        yield Finding(Rule.NIGHT, (unit.episode_id,), (), check, words, is_hard=False)
    laid = {(one.work, one.n) for one in start.checks}
    for owed in follow_ups(unit, problem.terms):
        if (owed.work, owed.n) not in laid:
            yield _unlaid(problem, unit, start, owed)


def _unlaid(problem: Problem, unit: PlanUnit, start: Start, owed: FollowUp) -> Finding:
    at = start.check_at + owed.offsets[0]
    period = Period(at, at + owed.length)
    name, bed = person(problem, start.nurse_id), unit_name(problem, unit.episode_id)
    words = f"{bed}: {name} has no time for the {WORK[owed.work]} at {time(problem, at)}"
    return Finding(Rule.NURSES, (unit.episode_id,), (start.nurse_id,), period, words, is_hard=False)


def _sequence(problem: Problem, pairs: Sequence[tuple[PlanUnit, Start]]) -> Iterator[Finding]:
    """The units of one patient, one after the other."""
    planned = {start.episode_id: start for _, start in pairs}
    units = {unit.episode_id for unit in problem.units}
    for unit, start in pairs:
        if unit.after not in units:
            continue
        before = planned.get(unit.after)
        bed = unit_name(problem, unit.episode_id)
        if before is None:
            words = f"{bed}: the unit before it has no start"
        elif start.check_at < before.projected_end_at + unit.gap:
            free = time(problem, before.projected_end_at + unit.gap)
            words = f"{bed}: the unit before it leaves room from {free} on"
        else:
            continue
        check = check_period(problem.terms, start.check_at)
        both = (unit.after, unit.episode_id)
        yield Finding(Rule.SEQUENCE, both, (), check, words)
