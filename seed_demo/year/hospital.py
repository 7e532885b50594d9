"""`fourth-hour demo --year`: the past of an invented hospital, in a database to be served later."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from itertools import accumulate, count
from typing import Final
from zoneinfo import ZoneInfo

from seed_demo.staff import SET_UP
from seed_demo.year.diary import Diary
from seed_demo.year.fill import ALONE, Progress, fill
from seed_demo.year.floor import Floor, House
from seed_demo.year.orders import Demand
from seed_demo.year.people import MANAGER_ID, everybody, pool_of
from seed_demo.year.rota import Rota, rota_of
from seed_demo.year.shelf import Shelf
from seed_demo.year.wards import WARDS, WardPlan
from server.policies import load_policies
from server.services.actor import SYSTEM
from server.services.enter_staff import enter_staff
from server.services.enter_ward import WardDraft, enter_ward
from server.services.keep_past import Past, keep_past
from server.store.store import Store

DAY: Final = timedelta(days=1)
DAYS: Final = 365
POLICY: Final = "common"
NEXT_CONTACT: Final = "Site coordinator, bleep 400"
ROOM: Final = 50_000
"""Of unit numbers, for each ward: none is given twice."""


@dataclass(frozen=True, slots=True)
class Year:
    """What is to be told: so many units on so many wards, in the days before `until`."""

    wards: int
    episodes: int
    seed: int
    until: datetime
    timezone: str
    days: int = DAYS

    @property
    def plans(self) -> tuple[WardPlan, ...]:
        """The wards."""
        return WARDS[: self.wards]

    @property
    def begins(self) -> datetime:
        """The first instant."""
        return self.until - self.days * DAY

    @property
    def first(self) -> date:
        """The first whole day by the wards' calendar."""
        return self.begins.astimezone(ZoneInfo(self.timezone)).date() + DAY

    @property
    def last(self) -> date:
        """The last day, over or not."""
        return self.until.astimezone(ZoneInfo(self.timezone)).date()

    def units(self) -> list[int]:
        """How many units each ward gives: their sum is exact."""
        shares = list(accumulate(ward.share for ward in self.plans))
        ends = [round(self.episodes * share / shares[-1]) for share in shares]
        return [end - before for before, end in zip([0, *ends], ends, strict=False)]


def tell_year(
    store: Store, address: str, year: Year, *, progress: Progress, alone: int = ALONE
) -> int:
    """Fill an empty database with a past; how many units it holds. A seed gives the same facts.

    Up to `alone` units this process works out by itself.
    """
    rotas, house = open_hospital(store, year), _house(year)
    floors = [_floor(year, house, place, rota) for place, rota in enumerate(rotas)]
    return fill(store, address, house, floors, progress=progress, alone=alone)


def open_hospital(store: Store, year: Year) -> list[Rota]:
    """Enter the wards, everybody on them, their shifts, and what they changed; the shifts."""
    _enter(store, year)
    house, rotas = _house(year), []
    for ward in year.plans:
        rota = rota_of(ward.id, pool_of(ward), year.first, year.last, house.zone)
        past = Past(shifts=list(rota.shifts()), changes=house.changes_of(ward))
        with store.write() as session:
            keep_past(session, SYSTEM, past)
        rotas.append(rota)
    return rotas


def _floor(year: Year, house: House, place: int, rota: Rota) -> Floor:
    ward, units = year.plans[place], year.units()[place]
    demand = Demand(ward, units, year.first, year.until, house.zone, year.seed)
    shelf = Shelf(f"A999{1 + place % 9}", count(place * ROOM + 1))
    return Floor(house, ward, demand.orders(), Diary(rota), shelf)


def _house(year: Year) -> House:
    policy = load_policies()[POLICY]
    zone = ZoneInfo(year.timezone)
    return House(year.seed, year.begins, year.until, policy, zone, MANAGER_ID)


def _enter(store: Store, year: Year) -> None:
    opened = year.begins - DAY
    policies = load_policies()
    with store.write() as session:
        for ward in year.plans:
            draft = WardDraft(ward.id, ward.name, POLICY, year.timezone, next_contact=NEXT_CONTACT)
            enter_ward(session, SET_UP, draft, policies, now=opened)
        for person in everybody(year.plans, year.seed):
            enter_staff(session, SET_UP, person, now=opened)
