"""The past weeks of the demonstration's own ward, with its own people and shifts."""

from dataclasses import replace
from datetime import datetime, timedelta
from itertools import count
from typing import Final
from zoneinfo import ZoneInfo

from seed_demo.rota import BEFORE
from seed_demo.staff import MANAGER, WARD_ID
from seed_demo.year.diary import Diary
from seed_demo.year.fill import fill
from seed_demo.year.floor import Floor, House
from seed_demo.year.orders import Demand
from seed_demo.year.rota import demo_rota
from seed_demo.year.shelf import Shelf
from seed_demo.year.wards import PLASMA, PLATELETS, RED, Change, Habits, WardPlan
from server.policies import load_policies
from server.services.actor import SYSTEM
from server.services.keep_past import Past, keep_past
from server.store.store import Store

A_WEEK: Final = 28
QUIET: Final = timedelta(hours=38)
"""Before the demonstration begins nothing is ordered any more: every bag is accounted for by then,
and the board shows the units that are told one by one."""

DAY: Final = timedelta(days=1)
HABITS: Final = Habits(porter=13.0, forgets_first=0.05, forgets_fate=0.05, loses_bag=0.0)
WARD: Final = WardPlan(
    WARD_ID,
    "",
    1,
    mix=((RED, 7), (PLATELETS, 2), (PLASMA, 1)),
    again=0.5,
    records="EB",
    habits=HABITS,
    change=Change(
        0.55,
        "new porter round, bags counted at handover",
        replace(HABITS, porter=8.0, forgets_fate=0),
    ),
)


def tell_weeks(store: Store, *, seed: int, start: datetime, timezone: str, weeks: int) -> int:
    """Tell the weeks before a demonstration that begins at `start`; how many units they hold."""
    zone, until = ZoneInfo(timezone), start - BEFORE
    begins = until - timedelta(weeks=weeks)
    policy = load_policies()["common"]
    house = House(seed, begins, until, policy, zone, MANAGER.id)
    rota = demo_rota(WARD_ID, start, range(-weeks * 14 - 2, 0))
    first = begins.astimezone(zone).date() + DAY
    demand = Demand(WARD, weeks * A_WEEK, first, start - QUIET, zone, seed)
    floor = Floor(house, WARD, demand.orders(), Diary(rota), Shelf("A9991", count(1)))
    past = Past(shifts=list(rota.shifts()), changes=house.changes_of(WARD))
    with store.write() as session:
        keep_past(session, SYSTEM, past)
    return fill(store, "", house, [floor], progress=_quietly)


def _quietly(_what: str, _done: int, _of: int) -> None:
    """Takes a second or two: no bar."""
