"""The ground of a plan: a ward as a planner is told of it, at one instant."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final
from zoneinfo import ZoneInfo

from server.domain.cover import Cover
from server.domain.picture import Case, Picture
from server.domain.plan.called import count_calls
from server.domain.plan.grid import next_on_grid
from server.domain.plan.plan import NOTHING_SUPPOSED, Plan, earlier_of
from server.domain.plan.problem import Problem, Terms
from server.domain.plan.suppose import Suppositions, suppose
from server.domain.plan.supposed_units import supposed_pictures
from server.domain.plan.terms import terms_of
from server.domain.plan.units import PlanUnits, plan_units
from server.domain.plan.wards import rules_of
from server.domain.plan.wishes import Wish, keep_wishes
from server.domain.policy import Policy
from server.domain.request import Patient, Request
from server.domain.workload.capacity import Capacity, OnDuty, WardLimits
from server.domain.workload.learnt import carried, lengths
from server.domain.workload.period import Period
from server.domain.workload.project import project_ward
from server.domain.workload.projection import LeftOut, Projection
from server.domain.workload.task import Task
from server.services.actor import Actor
from server.services.enter_ward import read_ward, read_ward_policy
from server.services.permissions import Act, require
from server.services.read_board import pictures_of_ward
from server.services.read_learnt import learnt_of
from server.store.covers import covers_between
from server.store.plans import plan_in_force
from server.store.sessions import ReadSession
from server.store.shifts import Shift, shifts_between
from server.store.staff import list_staff, staff_names
from server.store.training import (
    ShiftWork,
    Training,
    read_shift_work,
    read_training,
)
from server.store.ward_limits import limits_at
from server.store.wards import Ward

BEHIND: Final = timedelta(hours=12)
"""How far back a shift, a cover or a night can begin that still matters."""


@dataclass(frozen=True, slots=True)
class Ground:
    """A ward at `now`. `problem` is what a planner is asked, with wishes and suppositions in it.

    `pictures` are its units, `projection` the work of those under way, `left_out` what no plan
    can be made for. `in_force` is the accepted plan, `names` those of the staff by id.
    """

    now: datetime
    ward: Ward
    zone: ZoneInfo
    policy: Policy
    limits: WardLimits
    terms: Terms
    pictures: Mapping[str, Picture]
    covers: tuple[Cover, ...]
    projection: Projection
    left_out: tuple[LeftOut, ...]
    problem: Problem
    in_force: Plan | None
    names: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked of a plan: from when (None: now) for how long, by which wishes, what if."""

    from_at: datetime | None = None
    horizon: timedelta | None = None
    wishes: tuple[Wish, ...] = ()
    supposed: Suppositions = NOTHING_SUPPOSED


def read_ground(
    session: ReadSession,
    actor: Actor,
    ward_id: str,
    asked: Asked,
    *,
    now: datetime,
    at: datetime | None = None,
) -> Ground:
    """Answer the ground of a ward's plan, `at` another instant as it was then.

    Raises `NotFound`, `Forbidden`.
    """
    require(actor, Act.READ, ward_id)
    ward, instant = read_ward(session, actor, ward_id), at or now
    zone, policy = ZoneInfo(ward.timezone), read_ward_policy(session, ward_id, now=instant)
    limits = limits_at(session, ward_id, instant)
    terms = _terms(session, ward, policy, limits, now=now, at=at)
    horizon = _horizon(asked, policy, terms, instant)
    known = pictures_of_ward(session, ward_id, now=now, at=at, known_at=at)
    pictures = [*known, *_supposed(session, asked.supposed, known, policy, zone, instant)]
    covers = covers_between(session, [ward_id], instant, horizon.until_at)
    projection = project_ward(pictures, terms, Period(instant, horizon.until_at), covers)
    units = plan_units(pictures, terms)
    capacity = Capacity(
        ward_id,
        instant,
        people_on_duty(session, ward_id, horizon),
        rules_of(limits, policy, Period(horizon.from_at - BEHIND, horizon.until_at), zone),
    )
    in_force, names = plan_in_force(session, ward_id, instant), _names(session, ward_id, capacity)
    problem = Problem(
        ward_id=ward_id,
        from_at=horizon.from_at,
        until_at=horizon.until_at,
        terms=terms,
        units=units.units,
        tasks=_of_others(projection, units),
        capacity=capacity,
        accepted=earlier_of(in_force),
        zone=zone,
        names=names,
    )
    return Ground(
        now=instant,
        ward=ward,
        zone=zone,
        policy=policy,
        limits=limits,
        terms=terms,
        pictures={one.case.request.id: one for one in pictures},
        covers=covers,
        projection=projection,
        left_out=_left_out(projection, units),
        problem=_as_asked(problem, asked, in_force),
        in_force=in_force,
        names=names,
    )


def _as_asked(problem: Problem, asked: Asked, in_force: Plan | None) -> Problem:
    """The problem with what is being called for, with what is supposed, and with the wishes."""
    starts = () if in_force is None else in_force.proposal.starts
    called = count_calls(problem, starts)
    return keep_wishes(suppose(called, asked.supposed), asked.wishes)


def people_on_duty(session: ReadSession, ward_id: str, period: Period) -> tuple[OnDuty, ...]:
    """Answer the shifts on a ward that touch a period, with what each person may do in them."""
    shifts = shifts_between(session, ward_id, period.from_at, period.until_at)
    works = read_shift_work(session, [shift.id for shift in shifts])
    trained = read_training(session, {shift.staff_id for shift in shifts})
    return tuple(
        _on_duty(one, works.get(one.id, ShiftWork()), trained.get(one.staff_id, Training()))
        for one in shifts
    )


def _on_duty(shift: Shift, work: ShiftWork, training: Training) -> OnDuty:
    return OnDuty(
        shift_id=shift.id,
        staff_id=shift.staff_id,
        period=Period(shift.starts_at, shift.ends_at),
        breaks=tuple(Period(one.starts_at, one.ends_at) for one in shift.breaks),
        duties=work.duties,
        may_start=training.may_start,
        may_second=training.may_second,
        skills=training.skills,
        beds=work.beds,
    )


def _terms(
    session: ReadSession,
    ward: Ward,
    policy: Policy,
    limits: WardLimits,
    *,
    now: datetime,
    at: datetime | None,
) -> Terms:
    """The terms of a ward; its own records are asked only where they are used."""
    use = limits.use_learnt
    found = learnt_of(session, ward, policy, now=now, at=at) if use else {}
    lasts = lengths(policy, found, use_learnt=use, collected_by=limits.collected_by)
    return terms_of(policy, lasts, carried(policy, found, use_learnt=use))


def _left_out(projection: Projection, units: PlanUnits) -> tuple[LeftOut, ...]:
    """What is left out of each unit, once: of one that waits a plan leaves out the more."""
    every = (*projection.left_out, *units.left_out)
    return tuple({one.episode_id: one for one in every}.values())


def _horizon(asked: Asked, policy: Policy, terms: Terms, now: datetime) -> Period:
    """From the next place on the grid on; nothing is planned into the past."""
    begin = next_on_grid(max(asked.from_at or now, now), terms.grid)
    return Period(begin, begin + (asked.horizon or policy.plan_horizon))


def _supposed(
    session: ReadSession,
    supposed: Suppositions,
    known: Iterable[Picture],
    policy: Policy,
    zone: ZoneInfo,
    now: datetime,
) -> tuple[Picture, ...]:
    def case_of(request: Request, patient: Patient) -> Case:
        return Case(request, patient, policy, (), zone, site=session.site)

    return supposed_pictures(supposed.more, known, case_of, now)


def _of_others(projection: Projection, units: PlanUnits) -> tuple[Task, ...]:
    """The work of units that are not planned here: what is planned brings its own."""
    planned = {unit.episode_id for unit in units.units}
    return tuple(task for task in projection.tasks if task.episode_id not in planned)


def _names(session: ReadSession, ward_id: str, capacity: Capacity) -> dict[str, str]:
    names = {one.id: one.name for one in list_staff(session, [ward_id])}
    others = {one.staff_id for one in capacity.on_duty} - names.keys()
    return names | staff_names(session, others)
