"""Plans: every version of a ward's, which is in force, and how it held when last looked at."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any, Final

from sqlalchemy import Select, bindparam, delete, insert, or_, select, update

from server.domain.encoding import decode_as, encode
from server.domain.plan.plan import Plan
from server.store.sessions import AnyRow, ReadSession, WriteSession
from server.store.statements import IDS, in_chunks, one_of, upsert, values_of
from server.store.tables import PLAN, PLAN_WATCH

_PLAN: Final = PLAN.c
_PLANS: Final = select(_PLAN.content, _PLAN.accepted_at, _PLAN.accepted_by, _PLAN.discarded_at)
_NAMED: Final = _PLANS.where(one_of(_PLAN.id))
_IN_FORCE: Final = (
    _PLANS.where(
        _PLAN.ward_id == bindparam("of_ward"),
        _PLAN.accepted_at <= bindparam("at", type_=_PLAN.accepted_at.type),
        or_(
            _PLAN.discarded_at.is_(None),
            _PLAN.discarded_at > bindparam("at", type_=_PLAN.discarded_at.type),
        ),
    )
    .order_by(_PLAN.accepted_at.desc(), _PLAN.accepted_n.desc())
    .limit(1)
)


def add_plan(session: WriteSession, plan: Plan) -> None:
    """Keep a new version. `Clash`: its id is taken, or there is no such ward."""
    row = {"id": plan.id, "ward_id": plan.ward_id, "made_at": plan.made_at}
    states = dict.fromkeys(("accepted_at", "accepted_by", "accepted_n", "discarded_at"))
    session.run(insert(PLAN), {**row, **states, "content": encode(plan)})


def read_plan(session: ReadSession, plan_id: str) -> Plan | None:
    """One version, None if there is none of that id."""
    return read_plans(session, [plan_id]).get(plan_id)


def read_plans(session: ReadSession, plan_ids: Iterable[str]) -> dict[str, Plan]:
    """These versions by id, as far as they are there."""
    found: dict[str, Plan] = {}
    for chunk in in_chunks(sorted(set(plan_ids))):
        plans = (_plan(row) for row in session.rows(_NAMED, {IDS: chunk}))
        found |= {plan.id: plan for plan in plans}
    return found


def plan_in_force(session: ReadSession, ward_id: str, at: datetime) -> Plan | None:
    """The plan that was in force on a ward at an instant, None where none was."""
    row = session.row(_IN_FORCE, {"of_ward": ward_id, "at": at})
    return None if row is None else _plan(row)


def accepted_plans(session: ReadSession, ward_id: str, *, limit: int = 20) -> tuple[Plan, ...]:
    """The latest accepted versions of a ward, the latest first."""
    listed = _PLANS.where(_PLAN.ward_id == ward_id, _PLAN.accepted_at.is_not(None))
    latest = listed.order_by(_PLAN.accepted_at.desc(), _PLAN.accepted_n.desc())
    return _read(session, latest.limit(limit))


def undecided_plans(
    session: ReadSession, ward_id: str, since: datetime, *, limit: int
) -> tuple[Plan, ...]:
    """The newest versions that were neither accepted nor discarded, the newest first."""
    listed = _PLANS.where(
        _PLAN.ward_id == ward_id,
        _PLAN.made_at >= since,
        _PLAN.accepted_at.is_(None),
        _PLAN.discarded_at.is_(None),
    )
    return _read(session, listed.order_by(_PLAN.made_at.desc(), _PLAN.id).limit(limit))


def mark_accepted(session: WriteSession, plan: Plan, *, at: datetime, by: str) -> None:
    """Note that a version is in force from an instant on, after all that were before."""
    accepted = {"accepted_at": at, "accepted_by": by, "accepted_n": session.touch(plan.ward_id)}
    session.run(update(PLAN).where(_PLAN.id == plan.id).values(**accepted))


def mark_discarded(session: WriteSession, plan_id: str, *, at: datetime) -> None:
    """Note that a version is wanted no more."""
    session.run(update(PLAN).where(_PLAN.id == plan_id).values(discarded_at=at))


def forget_unaccepted(session: WriteSession, before: datetime) -> int:
    """Forget versions that were never in force and were made before an instant; how many."""
    watched = select(PLAN_WATCH.c.repair_id).where(PLAN_WATCH.c.repair_id.is_not(None))
    old = delete(PLAN).where(_PLAN.accepted_at.is_(None), _PLAN.made_at < before)
    return session.run(old.where(_PLAN.id.not_in(watched)))


@dataclass(frozen=True, slots=True)
class PlanWatch:
    """How the plan in force on a ward held, with the ward's revision it was looked at under.

    `findings` says in words what no longer holds, `repair_id` is the plan that mends it,
    `next_look_at` when time alone may break something.
    """

    ward_id: str
    plan_id: str
    revision: int
    looked_at: datetime
    next_look_at: datetime | None
    findings: tuple[str, ...] = ()
    repair_id: str | None = None


def note_watch(session: WriteSession, watch: PlanWatch) -> None:
    """Keep how a ward's plan holds, in place of what was known before."""
    session.run(upsert(session.engine_name, PLAN_WATCH.name), values_of(watch))


def read_watches(session: ReadSession, ward_ids: Iterable[str]) -> dict[str, PlanWatch]:
    """How the plans of these wards held when they were last looked at, by ward id."""
    listed = select(PLAN_WATCH).where(PLAN_WATCH.c.ward_id.in_(sorted(set(ward_ids))))
    watches = (PlanWatch(**row._asdict()) for row in session.rows(listed))
    return {one.ward_id: replace(one, findings=tuple(one.findings)) for one in watches}


def _read(session: ReadSession, listed: Select[Any]) -> tuple[Plan, ...]:
    return tuple(_plan(row) for row in session.rows(listed))


def _plan(row: AnyRow) -> Plan:
    return replace(
        decode_as(Plan, row.content),
        accepted_at=row.accepted_at,
        accepted_by=row.accepted_by,
        discarded_at=row.discarded_at,
    )
