"""Look whether accepted plans still hold, and propose what mends those that do not.

An accepted start is never changed by itself: what was found is told, a mended plan is kept beside
it, and the charge nurse decides.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from server.domain.plan.compare import differences
from server.domain.plan.plan import Plan
from server.domain.plan.proposal import Proposal
from server.domain.plan.watch import Since, next_look_at, what_broke
from server.planning.explain import with_reasons
from server.planning.repair import quick_repair
from server.services.actor import SYSTEM
from server.services.keep_plan import with_spare
from server.services.planning_ground import Asked, Ground, read_ground
from server.store.ids import new_id
from server.store.plans import PlanWatch, add_plan, note_watch, read_plan, read_watches
from server.store.requests import read_requests
from server.store.sessions import ReadSession, WriteSession
from server.store.states import read_states
from server.store.store import Store
from server.store.wards import Ward, list_wards, read_ward

MENDS: Final = "Mends what no longer holds"


@dataclass(frozen=True, slots=True)
class _Seen:
    """A ward's plan as it was looked at: what no longer holds, and what would mend it."""

    ward: Ward
    plan: Plan
    findings: tuple[str, ...]
    next_look_at: datetime | None
    mended: Proposal | None


def watch_plans(store: Store, *, now: datetime) -> int:
    """Look at every plan in force on whose ward something changed, or time alone may have.

    Answers how many were looked at. What is recorded meanwhile is looked at the next time.
    """
    with store.read() as session:
        wards = {ward.id: ward for ward in list_wards(session) if ward.plan_id is not None}
        watches = read_watches(session, wards) if wards else {}
    due = [ward for ward in wards.values() if _is_due(ward, watches.get(ward.id), now)]
    for ward in due:
        _watch(store, ward, watches.get(ward.id), now)
    return len(due)


def _is_due(ward: Ward, watch: PlanWatch | None, now: datetime) -> bool:
    if watch is None or (watch.plan_id, watch.revision) != (ward.plan_id, ward.revision):
        return True
    return watch.next_look_at is not None and watch.next_look_at <= now


def _watch(store: Store, ward: Ward, before: PlanWatch | None, now: datetime) -> None:
    with store.read() as session:
        seen = _look(session, ward, now)
    if seen is None:
        return
    with store.write() as session:
        present = read_ward(session, ward.id)
        if present is not None and present.revision == seen.ward.revision:
            _note(session, seen, before, now)


def _look(session: ReadSession, ward: Ward, now: datetime) -> _Seen | None:
    plan = None if ward.plan_id is None else read_plan(session, ward.plan_id)
    if plan is None:
        return None
    until = max(plan.proposal.until_at, now)
    ground = read_ground(session, SYSTEM, ward.id, Asked(now, until - now), now=now)
    found = what_broke(ground.problem, plan.proposal, _since(session, ground, plan))
    return _Seen(
        ward=ground.ward,
        plan=plan,
        findings=tuple(one.words for one in found),
        next_look_at=next_look_at(ground.problem, plan.proposal.starts),
        mended=_mended(ground) if found else None,
    )


def _mended(ground: Ground) -> Proposal:
    mended = quick_repair(ground.problem)
    return with_spare(ground, with_reasons(ground.problem, mended))


def _since(session: ReadSession, ground: Ground, plan: Plan) -> Since:
    """What became of the planned units: which were started, and where the others were."""
    planned = {start.episode_id for start in plan.proposal.starts}
    waiting = {unit.episode_id for unit in ground.problem.units}
    gone = planned - waiting
    states = read_states(session, gone)
    begun = {one for one, state in states.items() if state.started_at is not None}
    beds: Mapping[str, str] = {one: it.bed for one, it in read_requests(session, gone).items()}
    return Since(begun, ground.left_out, beds)


def _note(session: WriteSession, seen: _Seen, before: PlanWatch | None, now: datetime) -> None:
    """Keep what was seen; the ward's boards hear of it where it is something new."""
    same_plan = before is not None and before.plan_id == seen.plan.id
    known = before.findings if before is not None and same_plan else ()
    repair_id = before.repair_id if before is not None and same_plan else None
    repair_id = _mending(session, seen, repair_id, now)
    is_news = known != seen.findings or (before is not None and before.repair_id != repair_id)
    revision = session.touch(seen.ward.id) if is_news else seen.ward.revision
    watch = PlanWatch(
        ward_id=seen.ward.id,
        plan_id=seen.plan.id,
        revision=revision,
        looked_at=now,
        next_look_at=seen.next_look_at,
        findings=seen.findings,
        repair_id=repair_id,
    )
    note_watch(session, watch)


def _mending(
    session: WriteSession, seen: _Seen, repair_id: str | None, now: datetime
) -> str | None:
    """The plan that mends; the one proposed before while it is the same, also if it was left."""
    if seen.mended is None or not differences(seen.plan.proposal, seen.mended):
        return None
    proposed = None if repair_id is None else read_plan(session, repair_id)
    if proposed is not None and not differences(proposed.proposal, seen.mended):
        return proposed.id
    mending = Plan(
        id=new_id(),
        ward_id=seen.ward.id,
        made_at=now,
        made_by=SYSTEM.id,
        what=MENDS,
        proposal=seen.mended,
        parent_id=seen.plan.id,
        repairs=seen.plan.id,
        wishes=seen.plan.wishes,
    )
    add_plan(session, mending)
    return mending.id
