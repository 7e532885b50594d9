"""Ask for a proposal: when each waiting unit is called for, who starts it and who checks it."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime
from threading import Event
from typing import Final

from server.domain.errors import Invalid
from server.domain.plan.called import keep_calls
from server.domain.plan.plan import Plan
from server.domain.plan.proposal import Progress
from server.planning.explain import with_reasons
from server.planning.solve import available, propose
from server.services.accept_plan import plan_of
from server.services.actor import Actor
from server.services.keep_plan import with_spare
from server.services.permissions import Act, require
from server.services.planning_ground import Asked, read_ground
from server.store.ids import new_id
from server.store.sessions import ReadSession
from server.store.store import Store

SECONDS: Final = 5.0
LEAST_SECONDS: Final = 0.1
MOST_SECONDS: Final = 60.0
LONGEST_HOURS: Final = 48
SEED: Final = 1


@dataclass(frozen=True, slots=True)
class PlanAsk:
    """A proposal as asked for. With a parent its wishes and suppositions are kept to."""

    ward_id: str
    asked: Asked
    seconds: float = SECONDS
    parent_id: str | None = None


@dataclass(frozen=True, slots=True)
class Watching:
    """Whoever waits for a proposal: is told how far it has come, and may stop it."""

    tell: Callable[[Progress], None] | None = None
    stopping: Event | None = None


UNWATCHED: Final = Watching()


def make_plan(
    store: Store, actor: Actor, ask: PlanAsk, *, now: datetime, watching: Watching = UNWATCHED
) -> Plan:
    """Answer a proposal that is not kept yet: no transaction is open while it is made.

    Raises `Forbidden`, `NotFound`, `Invalid`.
    """
    require(actor, Act.PLAN_UNITS, ask.ward_id)
    _require_sound(ask)
    with store.read() as session:
        asked = _asked(session, actor, ask)
        ground = read_ground(session, actor, ask.ward_id, asked, now=now)
    starts = () if ground.in_force is None else ground.in_force.proposal.starts
    proposal = propose(
        keep_calls(ground.problem, starts),
        seconds=ask.seconds,
        seed=SEED,
        progress=watching.tell,
        cancel=watching.stopping,
    )
    return Plan(
        id=new_id(),
        ward_id=ask.ward_id,
        made_at=now,
        made_by=actor.id,
        what="Asked for a proposal",
        proposal=with_spare(ground, with_reasons(ground.problem, proposal)),
        parent_id=ask.parent_id,
        wishes=asked.wishes,
        supposed=asked.supposed,
    )


def is_searched() -> bool:
    """Whether the best plan is searched for here; otherwise the list rule alone serves."""
    return available()


def _asked(session: ReadSession, actor: Actor, ask: PlanAsk) -> Asked:
    if ask.parent_id is None:
        return ask.asked
    parent = plan_of(session, actor, ask.parent_id)
    if parent.ward_id != ask.ward_id:
        raise Invalid("parent_id", "is a plan of another ward; expected one of this ward")
    return replace(ask.asked, wishes=parent.wishes, supposed=ask.asked.supposed)


def _require_sound(ask: PlanAsk) -> None:
    if not LEAST_SECONDS <= ask.seconds <= MOST_SECONDS:
        raise Invalid(
            "seconds", f"is {ask.seconds:g}; expected from {LEAST_SECONDS:g} to {MOST_SECONDS:g}"
        )
    horizon = ask.asked.horizon
    if horizon is not None and not 0 < horizon.total_seconds() <= LONGEST_HOURS * 3600:
        raise Invalid("horizon_minutes", f"expected from 1 to {LONGEST_HOURS * 60}")
