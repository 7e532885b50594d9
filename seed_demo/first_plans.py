"""The plans of the ward when the demonstration begins: one in force, one that waits for a word."""

from datetime import datetime, timedelta
from typing import Final

from seed_demo.staff import EARLY, WARD_ID
from server.domain.plan.plan import Plan
from server.domain.plan.wishes import Wish
from server.domain.workload.period import Period
from server.services.accept_plan import accept_plan
from server.services.keep_plan import keep_plan
from server.services.make_plan import PlanAsk, make_plan
from server.services.planning_ground import Asked
from server.store.store import Store

SECONDS: Final = 2.0
"""How long a plan may be searched for; the ward is small, and less is usually enough."""

ACCEPTED_BEFORE: Final = timedelta(seconds=60)
ASKED_BEFORE: Final = timedelta(seconds=20)
AT_IMAGING: Final = (timedelta(minutes=40), timedelta(minutes=110))
"""When the patient whose platelets are wanted is away for a scan, from the beginning on."""


def tell_plans(store: Store, *, start: datetime, away: str) -> tuple[Plan, Plan]:
    """Have the charge nurse put a plan in force and ask for another; both, in this order.

    `away` is a unit whose patient leaves the ward for a while: the second plan knows of it.
    """
    charge, asked_at = EARLY.charge.actor, start - ASKED_BEFORE
    first = _made(store, PlanAsk(WARD_ID, Asked(), SECONDS), start - 2 * ACCEPTED_BEFORE)
    with store.write() as session:
        accept_plan(session, charge, first.id, now=start - ACCEPTED_BEFORE)
    leaves, returns = AT_IMAGING
    wish = Wish(away, forbidden=(Period(start + leaves, start + returns),))
    second = _made(store, PlanAsk(WARD_ID, Asked(wishes=(wish,)), SECONDS), asked_at)
    return first, second


def _made(store: Store, ask: PlanAsk, now: datetime) -> Plan:
    charge = EARLY.charge.actor
    plan = make_plan(store, charge, ask, now=now)
    with store.write() as session:
        return keep_plan(session, charge, plan)
