"""Which version of a plan is looked at: who made and accepted it, how it differs, what is next."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime

from server.domain.plan.compare import Difference, differences
from server.domain.plan.plan import Plan
from server.domain.plan.proposal import Start
from server.domain.plan.suppose import Suppositions
from server.domain.plan.telling import unit_name
from server.domain.wording import COMPONENT, wall_time
from server.pages.episodes.facts import PRIORITY
from server.pages.links import plan_href
from server.pages.plans.unit_view import sentence
from server.pages.plans.worth_view import is_in_force, status_text
from server.services.actor import SYSTEM
from server.services.planning_ground import Ground
from server.services.read_plan import PlanLook


@dataclass(frozen=True, slots=True)
class Listed:
    """One version in a list of them."""

    href: str
    words: str
    current: bool


@dataclass(frozen=True, slots=True)
class VersionView:
    """The version that is looked at. `state` is one of in_force, proposed, supposed, discarded.

    `undo_href` leads to the version that this one was made of, empty where there is none.
    """

    id: str
    state: str
    title: str
    status: str
    what: str
    supposed: tuple[str, ...]
    undo_href: str
    may_accept: bool
    broken: int


@dataclass(frozen=True, slots=True)
class MendView:
    """What no longer holds of the accepted plan; `repair_id` empty: nothing mends it."""

    findings: tuple[str, ...]
    repair_id: str
    repair_href: str
    differences: tuple[str, ...]


def version_view(look: PlanLook) -> VersionView | None:
    """Answer the version, None where there is no plan."""
    plan = look.plan
    if plan is None:
        return None
    state = _state(look, plan)
    parent = look.parent
    return VersionView(
        id=plan.id,
        state=state,
        title=_title(look, plan, state),
        status=status_text(plan.proposal),
        what=f"{plan.what}, {_by(look.ground, plan.made_by)} at {_time(look.ground, plan.made_at)}",
        supposed=tuple(supposed_words(look.ground, plan.supposed)),
        undo_href=plan_href(plan.ward_id, parent.id) if parent and state != "in_force" else "",
        may_accept=state == "proposed",
        broken=sum(one.is_hard for one in look.findings),
    )


def mend_view(look: PlanLook) -> MendView | None:
    """Answer what no longer holds and the repair, None while the accepted plan holds."""
    watch, mends, in_force = look.watch, look.mends, look.ground.in_force
    if watch is None or not watch.findings or in_force is None:
        return None
    findings = tuple(sentence(words) for words in watch.findings)
    if mends is None or mends.discarded_at is not None:
        return MendView(findings, "", "", ())
    changed = differences(in_force.proposal, mends.proposal)
    return MendView(
        findings,
        mends.id,
        plan_href(mends.ward_id, mends.id),
        tuple(difference_words(look.ground, one) for one in changed),
    )


def listed_versions(look: PlanLook, versions: Iterable[Plan]) -> tuple[Listed, ...]:
    """Answer versions of the plan as they are listed."""
    shown = "" if look.plan is None else look.plan.id
    return tuple(
        Listed(plan_href(one.ward_id, one.id), _listed(look, one), one.id == shown)
        for one in versions
    )


def difference_words(ground: Ground, one: Difference) -> str:
    """Answer one difference, `Bed 4: check 15:20 → 15:40, Nia Cole → Oke Marsh`."""
    name = _name(ground, one.episode_id)
    if one.before is None or one.after is None:
        start = one.after or one.before
        what = "new" if one.before is None else "no start any more, was"
        return f"{name}: {what} {_start(ground, start)}" if start else name
    return f"{name}: {', '.join(_changed(ground, one.before, one.after))}"


def supposed_words(ground: Ground, supposed: Suppositions) -> Iterator[str]:
    """Answer what is supposed, line by line."""
    for gone in supposed.leaves:
        yield f"{_by(ground, gone.staff_id)} leaves at {_time(ground, gone.leaves_at)}"
    for more in supposed.more:
        what = f"{COMPONENT[more.component].lower()}, {PRIORITY[more.priority].lower()}"
        units = "1 unit more" if more.count == 1 else f"{more.count} units more"
        yield f"{units} for bed {more.bed}: {what}, from {_time(ground, more.ready_at)}"
    for move in supposed.moves:
        yield f"Bed {move.bed} moves away at {_time(ground, move.moves_at)}"


def _state(look: PlanLook, plan: Plan) -> str:
    if not plan.supposed.is_empty:
        return "supposed"
    if is_in_force(look, plan):
        return "in_force"
    if plan.discarded_at is not None:
        return "discarded"
    return "proposed" if plan.accepted_at is None else "earlier"


def _title(look: PlanLook, plan: Plan, state: str) -> str:
    ground = look.ground
    if state == "in_force" and plan.accepted_at is not None:
        who = _by(ground, plan.accepted_by or "")
        return f"Accepted plan: {who}, {_time(ground, plan.accepted_at)}"
    return {
        "supposed": "Supposed plan",
        "discarded": "Discarded version",
        "earlier": "An earlier accepted version",
    }.get(state, "Proposed plan")


def _listed(look: PlanLook, plan: Plan) -> str:
    ground, in_force = look.ground, " · in force" if is_in_force(look, plan) else ""
    at, by = plan.accepted_at or plan.made_at, plan.accepted_by or plan.made_by
    gone = " · discarded" if plan.discarded_at is not None else ""
    return f"{_time(ground, at)} {_by(ground, by)}: {plan.what}{in_force}{gone}"


def _changed(ground: Ground, before: Start, after: Start) -> Iterable[str]:
    if before.check_at != after.check_at:
        yield f"check {_time(ground, before.check_at)} → {_time(ground, after.check_at)}"
    if before.nurse_id != after.nurse_id:
        yield f"{_by(ground, before.nurse_id)} → {_by(ground, after.nurse_id)}"
    if before.second_id != after.second_id:
        old, new = (_by(ground, one or "nobody") for one in (before.second_id, after.second_id))
        yield f"second {old} → {new}"


def _start(ground: Ground, start: Start) -> str:
    return f"check {_time(ground, start.check_at)}, {_by(ground, start.nurse_id)}"


def _name(ground: Ground, episode_id: str) -> str:
    known = ground.pictures.get(episode_id)
    waits = any(unit.episode_id == episode_id for unit in ground.problem.units)
    if waits or known is None:
        name = unit_name(ground.problem, episode_id)
    else:
        name = f"bed {known.case.request.bed}"
    return sentence(name)


def _by(ground: Ground, staff_id: str) -> str:
    return "the board" if staff_id == SYSTEM.id else ground.names.get(staff_id, staff_id)


def _time(ground: Ground, at: datetime) -> str:
    return wall_time(at, ground.zone, ground.now)
