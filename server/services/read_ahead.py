"""What lies ahead of a ward, in short: everybody's load, the next calls, whether the plan holds."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final
from zoneinfo import ZoneInfo

from server.domain.plan.plan import Plan
from server.domain.plan.proposal import Start
from server.domain.words import Component
from server.domain.workload.load import PersonLoad
from server.domain.workload.period import Period
from server.services.actor import Actor
from server.services.planning_ground import Asked, Ground, read_ground
from server.services.read_workload import workload_of
from server.store.plans import read_watches
from server.store.sessions import ReadSession

AHEAD: Final = timedelta(hours=2)


@dataclass(frozen=True, slots=True)
class Call:
    """A unit that is to be called for at an instant."""

    at: datetime
    bed: str
    component: Component


@dataclass(frozen=True, slots=True)
class Ahead:
    """The two hours from `at` on. `calls` are by time; those that have passed come first.

    `people` have their work of these hours in one slot; `broken` says what no longer holds of the
    plan in force, nothing: it holds. `names` are those of the staff by id.
    """

    at: datetime
    zone: ZoneInfo
    has_plan: bool
    people: tuple[PersonLoad, ...]
    calls: tuple[Call, ...]
    broken: tuple[str, ...]
    names: Mapping[str, str]


def read_ahead(session: ReadSession, actor: Actor, ward_id: str, *, now: datetime) -> Ahead:
    """Answer what lies ahead under the plan in force. Raises `NotFound`, `Forbidden`."""
    ground = read_ground(session, actor, ward_id, Asked(now, AHEAD), now=now)
    plan, period = ground.in_force, Period(now, now + AHEAD)
    starts = () if plan is None else plan.proposal.starts
    load = workload_of(ground, starts, period, AHEAD).load
    there = tuple(one for one in load.people if one.there or one.work)
    return Ahead(
        at=now,
        zone=ground.zone,
        has_plan=plan is not None,
        people=there,
        calls=_calls(ground, starts, period.until_at),
        broken=_broken(session, ward_id, plan),
        names=ground.names,
    )


def _calls(ground: Ground, starts: tuple[Start, ...], until: datetime) -> tuple[Call, ...]:
    units = {unit.episode_id: unit for unit in ground.problem.units if not unit.is_issued}
    calls = [
        Call(start.call_at, units[start.episode_id].bed, units[start.episode_id].component)
        for start in starts
        if start.episode_id in units and start.call_at is not None and start.call_at < until
    ]
    return tuple(sorted(calls, key=lambda one: (one.at, one.bed)))


def _broken(session: ReadSession, ward_id: str, plan: Plan | None) -> tuple[str, ...]:
    watch = read_watches(session, [ward_id]).get(ward_id)
    return watch.findings if watch and plan and watch.plan_id == plan.id else ()
