"""The charge nurse keeps the plan: looks whether it holds, has it mended, asks for another."""

import logging
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from seed_demo.actors.planning import InForce, Planning, planning
from seed_demo.actors.scene import Scene
from seed_demo.staff import WARD_ID, actor_named
from server.domain.errors import Invalid
from server.services.accept_plan import accept_plan
from server.services.errors import Conflict, Forbidden, NotFound
from server.services.keep_plan import keep_plan
from server.services.make_plan import PlanAsk, make_plan
from server.services.planning_ground import Asked
from server.store.errors import Clash
from server.store.plans import plan_in_force, read_watches
from server.store.store import Store

SECONDS: Final = 1.0
NOT_DONE: Final = (Conflict, Forbidden, Invalid, NotFound, Clash)

_LOG: Final = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class Kept:
    """What became of the plan in one step: the version now accepted, or why it was not."""

    accepted: str | None = None
    refused: str | None = None


class PlanKeeper:
    """Keeps the ward's plan as whoever is in charge would; without a plan in force, does nothing.

    A proposal is searched for `seconds`. A plan that somebody else put in force is left alone for
    `hands_off`.
    """

    def __init__(self, store: Store, *, hands_off: timedelta, seconds: float = SECONDS) -> None:
        self._store = store
        self._hands_off = hands_off
        self._seconds = seconds
        self._own: set[str] | None = None
        self._broken: tuple[str, datetime] | None = None

    def look(self, now: datetime) -> InForce | None:
        """Answer the plan in force at `now`, None where there is none."""
        with self._store.read() as session:
            plan = plan_in_force(session, WARD_ID, now)
            watch = read_watches(session, [WARD_ID]).get(WARD_ID)
        if plan is None:
            return None
        if self._own is None:
            self._own = {plan.id}
        broken = watch is not None and watch.plan_id == plan.id and bool(watch.findings)
        if not broken or watch is None:
            self._broken = None
            return InForce(plan)
        if self._broken is None or self._broken[0] != plan.id:
            self._broken = (plan.id, now)
        return InForce(plan, self._broken[1], watch.repair_id)

    def keep(self, scene: Scene, in_force: InForce) -> Kept:
        """Do what is to be done about the plan. Raises `Away` when the database is."""
        if self._is_left_alone(in_force, scene.now):
            return Kept()
        what = planning(scene, in_force)
        if what is Planning.NOTHING:
            return Kept()
        try:
            mends = in_force.repair_id if what is Planning.MEND else None
            plan_id = self._asked(scene) if mends is None else mends
            self._accept(scene, plan_id)
        except NOT_DONE as why:
            _LOG.info("a simulated charge nurse could not plan: %s", why)
            return Kept(refused=str(why))
        return Kept(accepted=plan_id)

    def _is_left_alone(self, in_force: InForce, now: datetime) -> bool:
        accepted = in_force.plan.accepted_at or now
        return in_force.plan.id not in (self._own or ()) and now < accepted + self._hands_off

    def _asked(self, scene: Scene) -> str:
        charge = actor_named(scene.shift.charge.staff_id)
        ask = PlanAsk(WARD_ID, Asked(), self._seconds)
        plan = make_plan(self._store, charge, ask, now=scene.now)
        with self._store.write() as session:
            return keep_plan(session, charge, plan).id

    def _accept(self, scene: Scene, plan_id: str) -> None:
        charge = actor_named(scene.shift.charge.staff_id)
        with self._store.write() as session:
            accept_plan(session, charge, plan_id, now=scene.now)
        if self._own is not None:
            self._own.add(plan_id)
