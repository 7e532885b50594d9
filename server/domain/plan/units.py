"""From the units of a ward that are not started to what a plan is asked of each.

Everything is counted by the policy that the unit is judged by. A unit of which something is not
known that a plan needs is left out, and it is said why.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Final, TypeAlias

from server.domain.clock import SECOND
from server.domain.clocks_unit import finish_limit_at
from server.domain.expected_run import end_of_run, started_at
from server.domain.picture import Picture
from server.domain.plan.problem import PlanCheck, PlanUnit, Terms
from server.domain.plan.proposal import Rule
from server.domain.policy import Policy
from server.domain.sample import sample_valid_until
from server.domain.words import ClockName, Component, Phase, Priority
from server.domain.workload.course import (
    course_of,
    course_of_started,
    why_no_end,
    why_not_started,
)
from server.domain.workload.project import FROM_THE_CHECK, WORK_OF
from server.domain.workload.projection import LeftOut, NotKnown
from server.domain.workload.sets import sets_ahead

_WAITING: Final = frozenset({Phase.REQUESTED, Phase.AVAILABLE, Phase.ISSUED})
_RANK: Final = {priority: place for place, priority in enumerate(Priority)}
Free: TypeAlias = datetime | NotKnown | None


@dataclass(frozen=True, slots=True)
class PlanUnits:
    """The units that can be planned, and those that cannot and why."""

    units: tuple[PlanUnit, ...] = ()
    left_out: tuple[LeftOut, ...] = ()


def plan_units(pictures: Iterable[Picture], terms: Terms) -> PlanUnits:
    """Answer the units that wait, patient by patient in the order in which they are to be given.

    `pictures` are all units of the ward that are not closed, looked at from the same instant:
    those that run say when their patient is free.
    """
    patients: defaultdict[str, list[Picture]] = defaultdict(list)
    for one in pictures:
        patients[one.case.request.patient_id].append(one)
    made = [found for theirs in patients.values() for found in _of_patient(theirs, terms)]
    return PlanUnits(
        tuple(one for one in made if isinstance(one, PlanUnit)),
        tuple(one for one in made if isinstance(one, LeftOut)),
    )


def _of_patient(theirs: Sequence[Picture], terms: Terms) -> list[PlanUnit | LeftOut]:
    """The units of one patient, each after the one before it."""
    waiting = sorted((one for one in theirs if one.episode.phase in _WAITING), key=_place)
    started = [one for one in theirs if one.episode.started_at is not None]
    free = _free_at(started)
    made: list[PlanUnit | LeftOut] = []
    last: str | None = None
    for one in waiting:
        made.append(_made(one, terms, free if last is None else None, last))
        last = one.case.request.id
    return made


def _place(one: Picture) -> tuple[object, ...]:
    """What is out of storage first, then by urgency, then as asked for."""
    request = one.case.request
    asked = request.requested_at or request.recorded_at
    begins = request.not_before or asked
    in_storage = one.episode.phase is not Phase.ISSUED
    return (in_storage, _RANK[request.priority], begins, asked, request.n, request.id)


def _free_at(started: Iterable[Picture]) -> Free:
    """When everything that was started in a patient is over, or why nobody can say."""
    ends = [_over_at(one) for one in started]
    unknown = next((one for one in ends if isinstance(one, NotKnown)), None)
    return unknown or max((one for one in ends if isinstance(one, datetime)), default=None)


def _over_at(one: Picture) -> Free:
    """The end, recorded or expected; otherwise the limit by which it has to be down."""
    course = course_of_started(one)
    if course.facts.episode.ended_at is not None:
        return course.facts.episode.ended_at
    limit = finish_limit_at(course.facts)
    return why_no_end(course) if limit is None else max(course.now, limit)


def _made(one: Picture, terms: Terms, free: Free, after: str | None) -> PlanUnit | LeftOut:
    request, now = one.case.request, one.standing.now
    end = end_of_run(one.standing, now)
    why = _why_left_out(one, free)
    if why is not None or end is None:
        return LeftOut(request.id, request.bed, why or NotKnown.NO_VOLUME, FROM_THE_CHECK)
    runs = end - now
    ready_at, check_by = _window(one, terms, runs)
    done_by, done_by_rule = _done_by(one)
    return PlanUnit(
        episode_id=request.id,
        patient_id=request.patient_id,
        bed=request.bed,
        component=request.component,
        priority=request.priority,
        ready_at=ready_at,
        runs=runs,
        finish_within=_finish_within(one.case.policy, request.component, terms),
        checks=_checks(one, end),
        wanted_by=request.wanted_by,
        is_issued=one.episode.phase is Phase.ISSUED,
        check_by=check_by,
        done_by=done_by,
        done_by_rule=done_by_rule,
        after=after,
        gap=_gap(one),
        free_at=free if isinstance(free, datetime) else None,
        at_once=request.component.value in one.case.policy.plan_at_once,
        nurse_id=one.episode.nurse_id,
    )


def _why_left_out(one: Picture, free: Free) -> NotKnown | None:
    """What holds the unit, or keeps anybody from saying when its patient is free."""
    if one.standing.held_by is not None:
        return NotKnown.REACTION
    if one.episode.open_warnings:
        return NotKnown.WARNED
    return why_not_started(one) or (free if isinstance(free, NotKnown) else None)


def _gap(one: Picture) -> timedelta:
    """What has to lie between two units of one patient; nothing before an emergency."""
    urgent = one.case.request.priority is Priority.EMERGENCY
    return timedelta(0) if urgent else one.case.policy.plan_reassess


def _window(one: Picture, terms: Terms, runs: timedelta) -> tuple[datetime, datetime | None]:
    """From when on it may be called for, or is there; and by when the check of one that is must be.

    The blood runs no earlier than was ordered. Of a unit out of storage the limit of the start
    counts while it can be kept, and what the finish limit leaves in any case.
    """
    not_before = one.case.request.not_before or one.standing.now
    course = course_of(one, terms)
    if course is None or course.check_at is None:
        return max(one.standing.now, not_before - terms.collect - terms.check), None
    limits = [clock.limit_at for clock, _ in one.clocks if clock.name is ClockName.START]
    last = [at - terms.check for at in limits if at is not None]
    kept = [at for at in last if at >= course.check_at]
    finish = finish_limit_at(course.facts)
    if finish is not None:
        kept.append(finish - runs - terms.check)
    return max(course.check_at, not_before - terms.check), min(kept, default=None)


def _finish_within(policy: Policy, component: Component, terms: Terms) -> timedelta:
    """How long after leaving storage it has to be in, by the earliest origin of the policy."""
    within, origins = policy.finish_within[component], set(policy.finish_from)
    if origins & {"removed", "issued"}:
        return within
    arrived = within + terms.carried
    return arrived if origins & {"received", "spiked"} else arrived + terms.check


def _checks(one: Picture, end: datetime) -> tuple[PlanCheck, ...]:
    """The checks that the schedule would ask for, had it been started now and run to its end."""
    start = one.standing.now
    given = replace(started_at(one.standing, start), ended_at=end)
    facts = replace(one.case.facts_of(given), sets=[])
    until = end + one.case.policy.end_limit + SECOND
    return tuple(
        PlanCheck(
            WORK_OF[clock.name],
            clock.n,
            (clock.opens_at or at) - start,
            at - start,
            (clock.limit_at or at) - start,
        )
        for at, clock in sets_ahead(facts, start, until)
    )


def _done_by(one: Picture) -> tuple[datetime, str] | tuple[None, None]:
    """The last instant at which the sample or a known expiry lets it run, and which of them."""
    case = one.case
    sample = sample_valid_until(case.request, case.policy, case.zone)
    expires = one.episode.expires_at if case.policy.finish_respect_expiry else None
    ends = ((sample, Rule.SAMPLE), (expires, Rule.EXPIRY))
    return min(((at, rule.value) for at, rule in ends if at is not None), default=(None, None))
