"""Look whether accepted plans still hold, and propose what mends those that do not.

An accepted start is never changed by itself: what was found is told, a mended plan is kept beside
it, and the charge nurse decides.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Final

from server.domain.plan.compare import differences
from server.domain.plan.plan import Plan
from server.domain.plan.proposal import Proposal
from server.domain.plan.watch import Since, next_look_at, what_broke
from server.planning.explain import with_reasons
from server.planning.repair import quick_repair, repair
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
    """A ward's plan as it was looked at: what no longer holds, and what would mend it.

    `kept` is the plan that was proposed before for the same, where it still holds.
    """

    ground: Ground
    plan: Plan
    findings: tuple[str, ...]
    next_look_at: datetime | None
    kept: str | None
    mended: Proposal | None


def watch_plans(store: Store, *, now: datetime, seconds: float = 0) -> int:
    """Look at every plan in force on whose ward something changed, or time alone may have.

    What is broken is mended at once, and then, for so many seconds a ward, with a smaller change
    where a search finds one. Answers how many plans were looked at. What is recorded meanwhile is
    looked at the next time.
    """
    with store.read() as session:
        wards = {ward.id: ward for ward in list_wards(session) if ward.plan_id is not None}
        watches = read_watches(session, wards) if wards else {}
    due = [ward for ward in wards.values() if _is_due(ward, watches.get(ward.id), now)]
    seen = [_watch(store, ward, watches.get(ward.id), now) for ward in due]
    for one in seen:
        if one is not None and one.mended is not None and seconds > 0:
            _search(store, one, seconds, now)
    return len(due)


def _is_due(ward: Ward, watch: PlanWatch | None, now: datetime) -> bool:
    if watch is None or (watch.plan_id, watch.revision) != (ward.plan_id, ward.revision):
        return True
    return watch.next_look_at is not None and watch.next_look_at <= now


def _watch(store: Store, ward: Ward, before: PlanWatch | None, now: datetime) -> _Seen | None:
    same = before if before is not None and before.plan_id == ward.plan_id else None
    with store.read() as session:
        seen = _look(session, ward, same, now)
    if seen is None:
        return None
    with store.write() as session:
        if _is_unchanged(session, seen.ground.ward):
            _note(session, seen, same, now)
    return seen


def _search(store: Store, seen: _Seen, seconds: float, now: datetime) -> None:
    """Propose what a search finds in place of the quick repair, where it is another."""
    found = _told(seen.ground, repair(seen.ground.problem, seconds))
    with store.write() as session:
        watch = read_watches(session, [seen.plan.ward_id]).get(seen.plan.ward_id)
        ward = read_ward(session, seen.plan.ward_id)
        if watch is None or ward is None or watch.revision != ward.revision:
            return
        repair_id = _mending(session, replace(seen, mended=found), watch.repair_id, now)
        if repair_id != watch.repair_id:
            note_watch(
                session, replace(watch, repair_id=repair_id, revision=session.touch(ward.id))
            )


def _is_unchanged(session: ReadSession, ward: Ward) -> bool:
    present = read_ward(session, ward.id)
    return present is not None and present.revision == ward.revision


def _look(
    session: ReadSession, ward: Ward, before: PlanWatch | None, now: datetime
) -> _Seen | None:
    plan = None if ward.plan_id is None else read_plan(session, ward.plan_id)
    if plan is None:
        return None
    until = max(plan.proposal.until_at, now)
    ground = read_ground(session, SYSTEM, ward.id, Asked(now, until - now), now=now)
    found = what_broke(ground.problem, plan.proposal, _since(session, ground, plan))
    findings = tuple(one.words for one in found)
    kept = _kept(session, ground, before) if before and before.findings == findings else None
    return _Seen(
        ground=ground,
        plan=plan,
        findings=findings,
        next_look_at=next_look_at(ground.problem, plan.proposal.starts),
        kept=kept,
        mended=_told(ground, quick_repair(ground.problem)) if found and kept is None else None,
    )


def _kept(session: ReadSession, ground: Ground, before: PlanWatch) -> str | None:
    """The repair that was proposed, while it would hold if it were accepted now."""
    proposed = None if before.repair_id is None else read_plan(session, before.repair_id)
    if proposed is None:
        return None
    broken = what_broke(ground.problem, proposed.proposal, _since(session, ground, proposed))
    return None if broken else proposed.id


def _told(ground: Ground, mended: Proposal) -> Proposal:
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
    known = (before.findings, before.repair_id) if before is not None else ((), None)
    repair_id = seen.kept or _mending(session, seen, known[1], now)
    is_news = known != (seen.findings, repair_id)
    ward = seen.ground.ward
    watch = PlanWatch(
        ward_id=ward.id,
        plan_id=seen.plan.id,
        revision=session.touch(ward.id) if is_news else ward.revision,
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
        ward_id=seen.plan.ward_id,
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
