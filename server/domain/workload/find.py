"""Everything that does not work out with the work of a ward over a period, in order of time."""

from collections.abc import Iterable

from server.domain.cover import Cover
from server.domain.workload.capacity import Capacity
from server.domain.workload.collisions import (
    away_from_work,
    collisions,
    starts_in_handovers,
    too_many_starts,
)
from server.domain.workload.coverage import missing_seconds, nobody_to_start, uncovered_breaks
from server.domain.workload.finding import WorkFinding
from server.domain.workload.period import Period
from server.domain.workload.task import Task


def find_snags(
    tasks: Iterable[Task],
    capacity: Capacity,
    period: Period,
    *,
    covers: Iterable[Cover] = (),
    holding: Iterable[str] = (),
) -> tuple[WorkFinding, ...]:
    """Answer collisions, crowding and gaps. `holding` are the nurses who have units under way."""
    listed, rules = tuple(tasks), capacity.rules
    found = (
        *collisions(listed),
        *too_many_starts(listed, rules.most_starts),
        *starts_in_handovers(listed, rules.handovers),
        *away_from_work(listed, capacity.on_duty),
        *uncovered_breaks(holding, capacity.on_duty, covers, period),
        *missing_seconds(listed, capacity.on_duty),
        *nobody_to_start(listed, capacity.on_duty, period),
    )
    inside = (one for one in found if one.period.overlaps(period))
    return tuple(sorted(inside, key=lambda one: (one.period, one.snag, one.staff_ids)))
