"""The words of a plan: times on the ward's wall, people by name, units by their bed."""

from datetime import datetime
from typing import Final

from server.domain.plan.problem import PlanUnit, Problem
from server.domain.wording import wall_time
from server.domain.workload.period import Period
from server.domain.workload.task import Work

WORK: Final[dict[Work, str]] = {
    Work.COLLECT: "collection",
    Work.CHECK_AND_START: "two-person check and start",
    Work.SECOND_CHECK: "second check",
    Work.WATCH: "watched first minutes",
    Work.FIRST_CHECK: "first check",
    Work.RUNNING_CHECK: "running check",
    Work.REACTION_CHECK: "reaction check",
    Work.FINISH: "take-down",
    Work.END_CHECK: "end observations",
}


def time(problem: Problem, at: datetime) -> str:
    """`14:20`; from half a day or more away with its day."""
    return wall_time(at, problem.zone, problem.from_at)


def stretch(problem: Problem, period: Period) -> str:
    """`14:20–14:35`."""
    return f"{time(problem, period.from_at)}–{time(problem, period.until_at)}"


def person(problem: Problem, staff_id: str) -> str:
    """The name of somebody, or the id where no name was given."""
    return problem.names.get(staff_id, staff_id)


def unit_name(problem: Problem, episode_id: str) -> str:
    """`bed 4`; for a patient with several units which of them, `bed 4, unit 2 of 3`."""
    unit = next((one for one in problem.units if one.episode_id == episode_id), None)
    if unit is None:
        beds = (task.bed for task in problem.tasks if task.episode_id == episode_id)
        return f"bed {next(beds, episode_id)}"
    same = [one for one in problem.units if one.patient_id == unit.patient_id]
    place = f", unit {_place(same, unit)} of {len(same)}" if len(same) > 1 else ""
    return f"bed {unit.bed}{place}"


def _place(same: list[PlanUnit], unit: PlanUnit) -> int:
    """Counted along the sequence."""
    by_id = {one.episode_id: one for one in same}
    place, at = 1, unit
    while at.after in by_id:
        at, place = by_id[at.after], place + 1
    return place
