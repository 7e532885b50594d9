"""A ward with two nurses on duty, a unit that runs and two that wait, to plan on."""

from datetime import datetime
from typing import Final

from server.domain.plan.by_hand import placings_of, proposal_of
from server.domain.plan.list_rule import list_rule
from server.domain.plan.plan import Plan
from server.domain.plan.proposal import Maker, Objective, Proposal, Status
from server.domain.plan.way import Placing
from server.services.actor import Actor
from server.services.enter_day import DayDraft, PersonDay, enter_day
from server.services.enter_shift import ShiftDraft
from server.services.keep_plan import keep_plan, with_spare
from server.services.planning_ground import Asked, Ground, read_ground
from server.store.shifts import Break
from server.store.store import Store
from server.store.training import ShiftWork
from tests.domain.builders import at
from tests.services.charting import Charting
from tests.services.people import CHARGE

EMPTY: Final = Proposal(
    "w1", at(0), at(480), Maker.HAND, Status.NONE, Objective(0, 0, 0, 0, 0), None, None, 0.0, (), ()
)


def fill_ward(charting: Charting) -> None:
    """Nina has bed 4, which runs from 10 min on; bed 5 and a second unit for bed 4 wait."""
    pause = (Break(at(240), at(270)),)
    shifts = [
        ShiftDraft(staff_id, "w1", at(-120), at(600), pause, f"s-{staff_id}")
        for staff_id in ("nurse-1", "nurse-2")
    ]
    people = [PersonDay(shift, ShiftWork()) for shift in shifts]
    with charting.store.write() as session:
        enter_day(session, CHARGE, DayDraft("w1", tuple(people)), now=at(-120))
    charting.run("running", nurse_id="nurse-1")
    charting.open("waits", "p2", bed="5")
    charting.open("next", "p1")


def ground_at(store: Store, now: datetime, actor: Actor = CHARGE) -> Ground:
    """The ground of the ward."""
    with store.read() as session:
        return read_ground(session, actor, "w1", Asked(), now=now)


def keep_list_plan(store: Store, plan_id: str, now: datetime) -> Plan:
    """Have the list rule plan the ward, and keep that."""
    ground = ground_at(store, now)
    drafted = list_rule(ground.problem)
    placings = {
        one.episode_id: Placing(one.check_at, one.nurse_id, one.second_id) for one in drafted.starts
    }
    proposal = with_spare(ground, proposal_of(ground.problem, placings, EMPTY))
    assert placings_of(ground.problem, proposal) == placings
    plan = Plan(plan_id, "w1", now, CHARGE.id, "Asked for a proposal", proposal)
    with store.write() as session:
        return keep_plan(session, CHARGE, plan)
