"""Plans and the work of a ward, as answered."""

from datetime import timedelta

from server.api.fields import Given
from server.api.instants import Moment
from server.domain.plan.plan import Plan
from server.domain.plan.proposal import Maker, Objective, Rule, Start, Status
from server.domain.workload.load import PersonLoad
from server.domain.workload.task import Task, Work
from server.services.read_workload import Workload


class ObjectiveAnswer(Given):
    """The worth of a plan, level by level: less is better, and an earlier level decides first."""

    unplaced: int
    urgent_late: int
    overload: int
    changes: int
    comfort: int


class StartAnswer(Given):
    """A planned start; `call_at` is null for a unit that is issued already.

    `check_at` is when the two-person check begins, `start_at` when the blood runs.
    """

    episode_id: str
    call_at: Moment | None
    check_at: Moment
    start_at: Moment
    first_check_at: Moment
    projected_end_at: Moment
    nurse_id: str
    second_id: str | None
    spare_minutes: int | None
    reasons: list[str]


class UnplacedAnswer(Given):
    """A unit without a start, and why."""

    episode_id: str
    reason: str
    rules: list[Rule]


class RelaxedAnswer(Given):
    """What giving way in one family of rules would bring a unit without a start."""

    episode_id: str
    rule: Rule
    check_at: Moment | None
    detail: str


class PlanAnswer(Given):
    """A plan. `bound` is what no plan can beat, null where it is not known."""

    id: str
    ward_id: str
    status: Status
    made_by: Maker
    made_at: Moment
    accepted_at: Moment | None
    bound: ObjectiveAnswer | None
    gap_percent: float | None
    objective: ObjectiveAnswer
    starts: list[StartAnswer]
    unplaced: list[UnplacedAnswer]
    relaxed: list[RelaxedAnswer]


class SlotAnswer(Given):
    """A stretch of time, its end not included."""

    from_at: Moment
    until_at: Moment


class StaffLoadAnswer(Given):
    """Minutes of work of one person slot by slot; `locked` of them at a fixed time.

    `over` is what they cannot do in the slot: more than it holds, or while they are away.
    """

    staff_id: str
    minutes: list[float]
    locked: list[float]
    over: list[float]


class TaskAnswer(Given):
    """Work that nobody is named for."""

    episode_id: str
    bed: str
    work: Work
    n: int
    at: Moment
    minutes: float


class WorkloadAnswer(Given):
    """The work of a ward over a period."""

    slots: list[SlotAnswer]
    staff: list[StaffLoadAnswer]
    unassigned: list[TaskAnswer]


def plan_answer(plan: Plan) -> PlanAnswer:
    """A plan."""
    proposal = plan.proposal
    return PlanAnswer(
        id=plan.id,
        ward_id=plan.ward_id,
        status=proposal.status,
        made_by=proposal.made_by,
        made_at=plan.made_at,
        accepted_at=plan.accepted_at,
        bound=None if proposal.bound is None else _objective(proposal.bound),
        gap_percent=proposal.gap_percent,
        objective=_objective(proposal.objective),
        starts=[_start(one) for one in proposal.starts],
        unplaced=[
            UnplacedAnswer(episode_id=one.episode_id, reason=one.reason, rules=list(one.rules))
            for one in proposal.unplaced
        ],
        relaxed=[
            RelaxedAnswer(
                episode_id=one.episode_id, rule=way.rule, check_at=way.check_at, detail=way.words
            )
            for one in proposal.unplaced
            for way in one.relaxed
        ],
    )


def workload_answer(workload: Workload) -> WorkloadAnswer:
    """The work of a ward."""
    load = workload.load
    return WorkloadAnswer(
        slots=[SlotAnswer(from_at=one.from_at, until_at=one.until_at) for one in load.slots],
        staff=[_person(one) for one in load.people],
        unassigned=[_task(one) for one in load.unnamed],
    )


def _objective(worth: Objective) -> ObjectiveAnswer:
    return ObjectiveAnswer(
        unplaced=worth.unplaced,
        urgent_late=worth.urgent_late,
        overload=worth.overload,
        changes=worth.changes,
        comfort=worth.comfort,
    )


def _start(start: Start) -> StartAnswer:
    return StartAnswer(
        episode_id=start.episode_id,
        call_at=start.call_at,
        check_at=start.check_at,
        start_at=start.start_at,
        first_check_at=start.first_check_at,
        projected_end_at=start.projected_end_at,
        nurse_id=start.nurse_id,
        second_id=start.second_id,
        spare_minutes=start.spare_minutes,
        reasons=list(start.why),
    )


def _person(load: PersonLoad) -> StaffLoadAnswer:
    return StaffLoadAnswer(
        staff_id=load.staff_id,
        minutes=[_minutes(slot.work) for slot in load.slots],
        locked=[_minutes(slot.locked) for slot in load.slots],
        over=[_minutes(slot.over) for slot in load.slots],
    )


def _task(task: Task) -> TaskAnswer:
    return TaskAnswer(
        episode_id=task.episode_id,
        bed=task.bed,
        work=task.work,
        n=task.n,
        at=task.at,
        minutes=_minutes(task.length),
    )


def _minutes(length: timedelta) -> float:
    return length.total_seconds() / 60
