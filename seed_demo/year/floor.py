"""One ward in motion: orders come, units are called in their turn, each is told from end to end."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from heapq import heappop, heappush
from itertools import count
from random import Random
from typing import Final
from zoneinfo import ZoneInfo

from seed_demo.staff import BLOOD_BANK
from seed_demo.year.bringing import bring
from seed_demo.year.diary import Diary
from seed_demo.year.ending import close
from seed_demo.year.giving import give
from seed_demo.year.lots import lots, minutes
from seed_demo.year.orders import Placed, called_after
from seed_demo.year.paper import write_up
from seed_demo.year.patients import Lying, new_patient
from seed_demo.year.reacting import is_suspected, react
from seed_demo.year.shelf import Shelf
from seed_demo.year.telling import Telling, Work
from seed_demo.year.wards import WardPlan
from server.domain.payloads import Available, Cancelled
from server.domain.policy import Policy
from server.domain.request import Request
from server.domain.ward_change import WardChange
from server.domain.words import Kind, Priority
from server.services.keep_past import NewPatient
from server.store.log import Logged
from server.store.orders import Order

BEDS: Final = tuple(str(number) for number in range(1, 29))
STAYS: Final = timedelta(days=9)
APART: Final = timedelta(hours=14)
CANCELLED: Final = 0.012
ENOUGH: Final = 0.06
"""How often another unit of an order is withdrawn once the one before is in."""

CHILD_ML_KG: Final = 12


@dataclass(frozen=True, slots=True)
class House:
    """What all wards of a past share: its seed, from when until when, policy, zone, manager."""

    seed: int
    begins: datetime
    until: datetime
    policy: Policy
    zone: ZoneInfo
    manager: str

    def share(self, at: datetime) -> float:
        """Which part of the period is over."""
        return (at - self.begins) / (self.until - self.begins)

    def changes_of(self, ward: WardPlan) -> list[WardChange]:
        """What a ward said it did differently, and from which day on; noted a day later."""
        if ward.change is None:
            return []
        at = (self.begins + ward.change.after * (self.until - self.begins)).replace(microsecond=0)
        day, noted = at.astimezone(self.zone).date(), at + timedelta(days=1)
        return [WardChange(f"{ward.id}-1", ward.id, day, ward.change.text, self.manager, noted)]


@dataclass(slots=True)
class Told:
    """What was told of a ward in a stretch of time, in no order."""

    patients: list[NewPatient] = field(default_factory=list)
    orders: list[Order] = field(default_factory=list)
    requests: list[Request] = field(default_factory=list)
    facts: list[Logged] = field(default_factory=list)


@dataclass(slots=True)
class Floor:
    """A ward between two stretches of time. `due` are units that will be called for, and when.

    `following` are the units of an order that wait for the one before, by order.
    """

    house: House
    ward: WardPlan
    orders: Iterator[Placed]
    diary: Diary
    shelf: Shelf
    lying: list[Lying] = field(default_factory=list)
    came: int = 0
    due: list[tuple[datetime, int, Request, Lying]] = field(default_factory=list)
    following: dict[str, list[Request]] = field(default_factory=dict)
    ahead: Placed | None = None
    told: Told = field(default_factory=Told)
    _turns: Iterator[int] = field(default_factory=count)

    def advance(self, until: datetime) -> Told:
        """Live on until an instant; everything told of it, some of which was recorded later."""
        self.told = Told()
        while True:
            order = self._next_order()
            called = self.due[0][0] if self.due else None
            if order is not None and order.at < until and (called is None or order.at <= called):
                self.ahead = None
                self._place(order)
            elif called is not None and called < until:
                at, _, request, lying = heappop(self.due)
                self._live(at, request, lying)
            else:
                return self.told

    def _next_order(self) -> Placed | None:
        if self.ahead is None:
            self.ahead = next(self.orders, None)
        return self.ahead

    def _place(self, placed: Placed) -> None:
        rng = lots(self.house.seed, self.ward.id, "order", placed.number)
        lying = self._who(rng, placed)
        order = self._order(placed, lying)
        requests = [
            order.unit(n, requested_at=order.recorded_at) for n in range(1, order.units + 1)
        ]
        self.told.orders.append(order)
        self.told.requests += requests
        called = placed.at + called_after(rng, placed.priority)
        lying.busy_until = called + APART
        first, *others = requests
        self.following[order.id] = others
        self._call(called, first, lying)

    def _call(self, at: datetime, request: Request, lying: Lying) -> None:
        heappush(self.due, (at, next(self._turns), request, lying))

    def _who(self, rng: Random, placed: Placed) -> Lying:
        """Somebody who lies here and has nothing under way, or somebody new."""
        at = placed.at
        self.lying = [one for one in self.lying if one.busy_until > at - STAYS]
        free = [one for one in self.lying if one.busy_until < at]
        if free and rng.random() < self.ward.again:
            return rng.choice(free)
        self.came += 1
        taken = {one.bed for one in self.lying}
        bed = rng.choice([bed for bed in BEDS if bed not in taken] or BEDS)
        patient = new_patient(rng, self.ward, self.came, at)
        is_child = self.house.policy.rate_child_under_years > (patient.age_years(at.date()) or 99)
        lying = Lying(patient, bed, is_child, at)
        self.lying.append(lying)
        self.told.patients.append(NewPatient(patient, at))
        return lying

    def _order(self, placed: Placed, lying: Lying) -> Order:
        weight = lying.patient.weight_kg or 70
        return Order(
            id=f"{self.ward.id}-{placed.number:05}",
            patient_id=lying.patient.id,
            ward_id=self.ward.id,
            bed=lying.bed,
            component=placed.component,
            units=placed.units,
            recorded_at=placed.at,
            recorded_by=self.diary.rota.at(placed.at).charge,
            volume_ml=min(placed.volume_ml, 5.0 * round(CHILD_ML_KG * weight / 5)),
            priority=placed.priority,
            sample_taken_at=placed.at - timedelta(hours=2 + placed.number % 30),
        )

    def _live(self, called: datetime, request: Request, lying: Lying) -> None:
        """Tell one unit from its call to its end, and call for the one after it."""
        rng = lots(self.house.seed, request.id)
        telling = self._telling(rng, called, request, lying)
        telling.did(
            max(request.recorded_at, called - minutes(rng, 4, 25)), Available(), BLOOD_BANK.id
        )
        withdrawn = ENOUGH if request.n > 1 else CANCELLED
        if rng.random() < withdrawn and request.priority is not Priority.EMERGENCY:
            telling.did(called, Cancelled("not needed any more"), telling.turn.charge)
            return self._keep(telling, called, ended=called)
        started = bring(telling, called, self.shelf.number_for(rng, telling))
        ended = None if started is None else self._give(telling, started)
        last = ended or telling.events[-1].happened_at
        self.diary.has_unit(telling.nurse, last + timedelta(minutes=30))
        write_up(telling, self.house.manager, self.house.zone)
        return self._keep(telling, started or last, ended=last)

    def _telling(self, rng: Random, called: datetime, request: Request, lying: Lying) -> Telling:
        turn = self.diary.rota.at(called)
        habits = self.ward.habits_at(self.house.share(called))
        work = Work(self.house.seed, self.ward, habits, self.diary, self.house.policy)
        nurse = self.diary.least_laden(turn, called)
        return Telling(work, request, lying, rng, nurse, turn, called, called)

    def _give(self, telling: Telling, started: datetime) -> datetime:
        empty = telling.empty_at() or telling.finish_at
        if is_suspected(telling) and empty - started > timedelta(minutes=30):
            ended = react(telling, started, empty)
        else:
            ended = give(telling, started)
        close(telling, ended)
        return ended

    def _keep(self, telling: Telling, started: datetime, *, ended: datetime) -> None:
        request, lying = telling.request, telling.lying
        self.told.facts += [
            Logged(event, request.patient_id, request.ward_id)
            for event in telling.events
            if event.recorded_at <= self.house.until
        ]
        lying.keep([event for event in telling.events if event.kind is Kind.OBSERVED])
        lying.busy_until = max(lying.busy_until, ended + APART)
        self.shelf.take_back(telling)
        self._call_next(telling, started, ended)

    def _call_next(self, telling: Telling, started: datetime, ended: datetime) -> None:
        request = telling.request
        others = self.following[request.order_id or ""]
        if not others:
            del self.following[request.order_id or ""]
            return
        bleeds = request.priority is Priority.EMERGENCY
        at = (
            started + minutes(telling.rng, 8, 20) if bleeds else ended + minutes(telling.rng, 9, 40)
        )
        self._call(at, others.pop(0), telling.lying)
