"""Change a plan by hand: each change is a version of its own, and what it breaks is told."""

from dataclasses import dataclass, replace
from datetime import datetime

from server.domain.errors import Invalid
from server.domain.plan.by_hand import placings_of, put_by_hand
from server.domain.plan.plan import Plan
from server.domain.plan.problem import Pin, Problem
from server.domain.plan.telling import person, time, unit_name
from server.domain.plan.way import Placing
from server.domain.plan.wishes import Wish, wish_for, with_wish
from server.domain.workload.period import Period
from server.services.accept_plan import plan_of
from server.services.actor import Actor
from server.services.keep_plan import keep_plan, with_spare
from server.services.permissions import Act
from server.services.planning_ground import Asked, Ground, read_ground
from server.store.ids import new_id
from server.store.sessions import ReadSession, WriteSession


@dataclass(frozen=True, slots=True)
class HandChange:
    """What is changed of one unit; None: stays as it is.

    `pinned` fixes it where it then is, False lets it go. `forbidden` adds a time at which it is not
    wanted, `allowed` takes all of them away. `left_out` takes its start out of the plan.
    """

    episode_id: str
    check_at: datetime | None = None
    nurse_id: str | None = None
    second_id: str | None = None
    pinned: bool | None = None
    forbidden: Period | None = None
    allowed: bool = False
    left_out: bool = False


def change_plan(
    session: WriteSession, actor: Actor, plan_id: str, change: HandChange, *, now: datetime
) -> Plan:
    """Answer the version that a change makes of a plan. Raises `NotFound`, `Forbidden`, `Invalid`.

    Nothing is refused because it breaks a rule of planning: see `consequences`.
    """
    before = plan_of(session, actor, plan_id, Act.PLAN_UNITS)
    ground = ground_of(session, actor, before, now=now)
    _require_known(ground, change)
    placing = _placing(ground.problem, before, change)
    wishes = with_wish(before.wishes, _wish(before, change, placing))
    proposal = put_by_hand(ground.problem, before.proposal, change.episode_id, placing)
    after = Plan(
        id=new_id(),
        ward_id=before.ward_id,
        made_at=now,
        made_by=actor.id,
        what=_words(ground.problem, change),
        proposal=with_spare(ground, proposal),
        parent_id=before.id,
        repairs=before.repairs,
        wishes=wishes,
        supposed=before.supposed,
    )
    return keep_plan(session, actor, after)


def ground_of(session: ReadSession, actor: Actor, plan: Plan, *, now: datetime) -> Ground:
    """Answer the ground of a plan as it is now, to the end of what it was made for."""
    begin = max(now, plan.proposal.from_at)
    horizon = max(plan.proposal.until_at, begin) - begin
    asked = Asked(begin, horizon, plan.wishes, plan.supposed)
    return read_ground(session, actor, plan.ward_id, asked, now=now)


def _require_known(ground: Ground, change: HandChange) -> None:
    problem = ground.problem
    if all(unit.episode_id != change.episode_id for unit in problem.units):
        raise Invalid("episode_id", "waits for no start; expected a unit that does")
    for field in ("nurse_id", "second_id"):
        if getattr(change, field) not in {None, *ground.names}:
            raise Invalid(field, "is nobody of this ward; expected one of its nurses")
    if change.check_at is not None and not (problem.from_at <= change.check_at < problem.until_at):
        begin, end = time(problem, problem.from_at), time(problem, problem.until_at)
        raise Invalid("check_at", f"lies outside the plan; expected from {begin} to {end}")
    if change.forbidden is not None and change.forbidden.until_at <= change.forbidden.from_at:
        raise Invalid("forbidden_until", "is not after its beginning; expected a later time")


def _placing(problem: Problem, before: Plan, change: HandChange) -> Placing | None:
    """Where the unit goes; None where it has no start and is given none."""
    there = placings_of(problem, before.proposal).get(change.episode_id)
    if change.left_out:
        return None
    if there is not None:
        return Placing(
            change.check_at or there.check_at,
            change.nurse_id or there.nurse_id,
            change.second_id or there.second_id,
        )
    if change.check_at is None and change.nurse_id is None:
        return None
    if change.check_at is None:
        raise Invalid("check_at", "is missing; expected when the check begins")
    if change.nurse_id is None:
        raise Invalid("nurse_id", "is missing; expected who starts the unit")
    return Placing(change.check_at, change.nurse_id, change.second_id)


def _wish(before: Plan, change: HandChange, placing: Placing | None) -> Wish:
    wish = wish_for(before.wishes, change.episode_id)
    pinned = wish.pin != Pin() if change.pinned is None else change.pinned
    pin = Pin()
    if pinned and placing is not None:
        pin = Pin(placing.check_at, placing.nurse_id, placing.second_id)
    kept = () if change.allowed else wish.forbidden
    added = () if change.forbidden is None else (change.forbidden,)
    return replace(wish, pin=pin, forbidden=tuple(sorted({*kept, *added})))


def _words(problem: Problem, change: HandChange) -> str:
    """What was done, for the list of versions."""
    said = []
    if change.left_out:
        said.append("left out")
    if change.check_at is not None:
        said.append(f"check at {time(problem, change.check_at)}")
    if change.nurse_id is not None:
        said.append(f"given to {person(problem, change.nurse_id)}")
    if change.second_id is not None:
        said.append(f"{person(problem, change.second_id)} checks")
    if change.pinned is not None:
        said.append("fixed" if change.pinned else "let go")
    if change.forbidden is not None:
        first, last = change.forbidden.from_at, change.forbidden.until_at
        said.append(f"not from {time(problem, first)} to {time(problem, last)}")
    if change.allowed:
        said.append("any time")
    name = unit_name(problem, change.episode_id)
    return f"{name[:1].upper()}{name[1:]}: {', '.join(said) or 'as it was'}"
