"""The work of a ward as it stands and as a plan would have it: who has how much, what clashes."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

from server.domain.plan.proposal import Start
from server.domain.words import Phase
from server.domain.workload.capacity import Capacity
from server.domain.workload.find import find_snags
from server.domain.workload.finding import WorkFinding
from server.domain.workload.load import SLOT, Load, load_of
from server.domain.workload.period import Period
from server.domain.workload.project_start import project_start
from server.domain.workload.projection import in_order
from server.domain.workload.task import Task
from server.services.actor import Actor
from server.services.planning_ground import Asked, Ground, read_ground
from server.store.sessions import ReadSession


@dataclass(frozen=True, slots=True)
class Workload:
    """The load of a ward over a period, with the tasks it is made of and what does not work out."""

    load: Load
    tasks: tuple[Task, ...]
    findings: tuple[WorkFinding, ...]
    capacity: Capacity


def workload_of(
    ground: Ground, starts: Iterable[Start], period: Period, slot: timedelta = SLOT
) -> Workload:
    """Answer the work of a period with these starts for the units that still wait."""
    tasks = in_order(_tasks(ground, starts))
    capacity = ground.problem.capacity
    holding = {
        looked.episode.nurse_id
        for looked in ground.pictures.values()
        if looked.episode.phase in (Phase.ISSUED, Phase.RUNNING, Phase.PAUSED)
    }
    return Workload(
        load=load_of(tasks, capacity.on_duty, period, slot),
        tasks=tasks,
        findings=find_snags(
            tasks,
            capacity,
            period,
            covers=ground.covers,
            holding=sorted(one for one in holding if one is not None),
        ),
        capacity=capacity,
    )


def read_workload(
    session: ReadSession,
    actor: Actor,
    ward_id: str,
    *,
    from_at: datetime | None,
    until_at: datetime | None,
    slot: timedelta,
    now: datetime,
) -> Workload:
    """Answer the work of a ward under the plan in force, by default over the policy's horizon.

    Raises `NotFound`, `Forbidden`.
    """
    begin = from_at or now
    horizon = None if until_at is None else until_at - max(begin, now)
    ground = read_ground(session, actor, ward_id, Asked(begin, horizon), now=now)
    starts = () if ground.in_force is None else ground.in_force.proposal.starts
    until = until_at or ground.problem.until_at
    return workload_of(ground, starts, Period(begin, until), slot)


def _tasks(ground: Ground, starts: Iterable[Start]) -> Iterator[Task]:
    """What is under way and what starts bring; an issued unit without one goes on by itself."""
    units = {unit.episode_id: unit for unit in ground.problem.units}
    planned = [start for start in starts if start.episode_id in units]
    placed = {start.episode_id for start in planned}
    for start in planned:
        yield from project_start(
            start,
            units[start.episode_id],
            ground.terms,
            collected_by=ground.limits.collected_by,
            covers=ground.covers,
        )
    yield from ground.problem.tasks
    waiting = units.keys() - placed
    yield from (task for task in ground.projection.tasks if task.episode_id in waiting)
