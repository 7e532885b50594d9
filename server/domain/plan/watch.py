"""Whether the accepted plan still holds: looked at anew whenever something is recorded, and cheap.

What a plan may not break is asked of the same rules that made it; here is added what time and the
ward have done to it since.
"""

from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum
from typing import Final

from server.domain.clock import SECOND
from server.domain.plan.called import issue_is_late_from
from server.domain.plan.consequences import consequences
from server.domain.plan.finding import Finding
from server.domain.plan.problem import PlanUnit, Problem, Terms
from server.domain.plan.proposal import Proposal, Rule, Start
from server.domain.plan.telling import time, unit_name
from server.domain.workload.period import Period
from server.domain.workload.projection import LeftOut
from server.domain.workload.wording import NOT_KNOWN


class Broke(StrEnum):
    """What became of a planned start."""

    GONE = "gone"
    HELD = "held"
    CALL_PASSED = "call_passed"
    CHECK_PASSED = "check_passed"
    PERSON_AWAY = "person_away"
    COLLISION = "collision"
    EXPIRED = "expired"
    LIMIT = "limit"
    NEW_UNIT = "new_unit"


@dataclass(frozen=True, slots=True)
class Broken:
    """One thing that no longer holds: for which units and people, when, and in words."""

    what: Broke
    episode_ids: tuple[str, ...]
    staff_ids: tuple[str, ...]
    period: Period
    words: str


@dataclass(frozen=True, slots=True)
class Since:
    """What happened to the units of a plan: `begun` were started, `left_out` cannot be planned.

    `beds` are those of units that wait no more, by episode id.
    """

    begun: Collection[str] = ()
    left_out: Iterable[LeftOut] = ()
    beds: Mapping[str, str] | None = None


_AS: Final[dict[Rule, Broke]] = {
    Rule.SHIFTS: Broke.PERSON_AWAY,
    Rule.BREAKS: Broke.PERSON_AWAY,
    Rule.TRAINING: Broke.PERSON_AWAY,
    Rule.SECOND: Broke.PERSON_AWAY,
    Rule.NURSES: Broke.COLLISION,
    Rule.EXPIRY: Broke.EXPIRED,
    Rule.SAMPLE: Broke.EXPIRED,
}
# The plan was made for another stretch of time, and wishes of its maker bind nobody afterwards.
_NOT_ASKED: Final = frozenset({Rule.HORIZON, Rule.PIN, Rule.FORBIDDEN})


def what_broke(problem: Problem, accepted: Proposal, since: Since) -> tuple[Broken, ...]:
    """Answer what of an accepted plan no longer holds, in order of time; nothing: it holds.

    `problem` is the ward now. A step counts as passed one step of the grid after its instant.
    """
    units = {unit.episode_id: unit for unit in problem.units}
    waiting = [start for start in accepted.starts if start.episode_id in units]
    passed = [one for one in (_passed(problem, units, start) for start in waiting) if one]
    late = {one.episode_ids[0] for one in passed}
    ahead = [start for start in waiting if start.episode_id not in late]
    found = (
        *_gone(problem, accepted, since),
        *passed,
        *(_told(one) for one in consequences(problem, ahead) if _counts(problem, units, one)),
        *_new(problem, accepted),
    )
    return tuple(sorted(found, key=lambda one: (one.period, one.what, one.episode_ids)))


def next_look_at(problem: Problem, starts: Iterable[Start]) -> datetime | None:
    """Answer the next instant at which a start is late if nothing happens, None: there is none."""
    units = {unit.episode_id: unit for unit in problem.units}
    known = (start for start in starts if start.episode_id in units)
    late = (_until(problem, units[start.episode_id], start) + SECOND for start in known)
    return min((at for at in late if at > problem.capacity.as_of), default=None)


def spare_of(start: Start, unit: PlanUnit, terms: Terms) -> int | None:
    """Answer the whole minutes that a start leaves of the limit of its unit, None: none is known.

    For a unit in storage it is what is left between its projected end and the finish limit, its
    expiry or that of its sample; for one out of storage, by how much its check may come later.
    """
    ends = [] if unit.done_by is None else [unit.done_by - start.projected_end_at]
    if unit.check_by is not None:
        ends.append(unit.check_by - start.check_at)
    if start.call_at is not None:
        left_storage = start.call_at + terms.collect - terms.carried
        ends.append(left_storage + unit.finish_within - start.projected_end_at)
    return min((one // timedelta(minutes=1) for one in ends), default=None)


def _until(problem: Problem, unit: PlanUnit, start: Start) -> datetime:
    """The last instant at which the next thing recorded of a start is not late.

    A call is not recorded: what follows it is that the unit leaves storage, and then that it runs.
    """
    late_from = None if unit.is_issued else issue_is_late_from(start, problem.terms)
    return start.start_at + problem.terms.grid if late_from is None else late_from


def _passed(problem: Problem, units: Mapping[str, PlanUnit], start: Start) -> Broken | None:
    unit, now = units[start.episode_id], problem.capacity.as_of
    if now <= _until(problem, unit, start):
        return None
    bed = unit_name(problem, unit.episode_id)
    if unit.is_issued or start.call_at is None:
        what, step = Broke.CHECK_PASSED, start.check_at
        words = f"{bed}: its check was planned for {time(problem, step)}, and it is not started"
    else:
        what, step = Broke.CALL_PASSED, start.call_at
        words = f"{bed}: it was to be called for at {time(problem, step)}, and is not issued"
    return Broken(what, (unit.episode_id,), (start.nurse_id,), Period(step, now), words)


def _gone(problem: Problem, accepted: Proposal, since: Since) -> Iterator[Broken]:
    """Planned units that do not wait any more, other than by having been started."""
    waiting = {unit.episode_id for unit in problem.units}
    held = {one.episode_id: one for one in since.left_out}
    for start in accepted.starts:
        one = start.episode_id
        if one in waiting or one in since.begun:
            continue
        period, ids = Period(start.check_at, start.start_at), (one,)
        if one in held:
            words = f"bed {held[one].bed}: {NOT_KNOWN[held[one].why]}"
            yield Broken(Broke.HELD, ids, (), period, words)
        else:
            bed = (since.beds or {}).get(one, one)
            words = f"bed {bed}: the unit was cancelled or sent back"
            yield Broken(Broke.GONE, ids, (), period, words)


def _counts(problem: Problem, units: Mapping[str, PlanUnit], found: Finding) -> bool:
    """Whether it breaks the plan. That an instant is only just over is no news of the unit."""
    if not found.is_hard or found.rule in _NOT_ASKED:
        return False
    now = problem.capacity.as_of
    return found.rule is not Rule.READY or units[found.episode_ids[0]].ready_at > now


def _told(found: Finding) -> Broken:
    what = _AS.get(found.rule, Broke.LIMIT)
    return Broken(what, found.episode_ids, found.staff_ids, found.period, found.words)


def _new(problem: Problem, accepted: Proposal) -> Iterator[Broken]:
    """Units that were ordered since."""
    known = {start.episode_id for start in accepted.starts}
    known |= {one.episode_id for one in accepted.unplaced}
    period = Period(problem.capacity.as_of, problem.capacity.as_of + problem.terms.grid)
    for unit in problem.units:
        if unit.episode_id not in known:
            words = f"{unit_name(problem, unit.episode_id)}: ordered since, and not in the plan"
            yield Broken(Broke.NEW_UNIT, (unit.episode_id,), (), period, words)
