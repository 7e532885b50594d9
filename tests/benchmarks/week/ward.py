"""A ward that is acted out minute by minute: nurses do what is wanted, one thing at a time."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Final, Protocol

from seed_demo import chance
from server.domain.payloads import Assigned, Available, Issued, Received
from server.domain.policy import Policy
from server.domain.request import Request
from tests.benchmarks.week.bedside import Doing, done
from tests.benchmarks.week.demand import DAYS, MINUTE, MONDAY
from tests.benchmarks.week.people import Turn
from tests.benchmarks.week.unit import Job, Unit, Wanted

PORTERS: Final = 2
END: Final = MONDAY + timedelta(days=DAYS + 1)
COVERED_AFTER: Final = 2 * MINUTE
"""A colleague who is free does what its nurse does not come to, so long after it was due."""

STAYS: Final = 20 * MINUTE
"""Who goes home earlier starts nothing more."""

LEAVES_WATCH: Final = 3 * MINUTE
"""A nurse leaves a watched beginning for another check that is late in so long."""


class Calling(Protocol):
    """Decides when units are called for and who gives them."""

    def call(self, ward: "Ward", now: datetime) -> None:
        """Call for units at an instant."""


@dataclass(slots=True)
class Ward:
    """A ward in its week; `requests` are still to come, in order of time."""

    seed: int
    policy: Policy
    turns: list[Turn]
    requests: list[Request]
    calling: Calling
    units: list[Unit] = field(default_factory=list)
    finished: list[Unit] = field(default_factory=list)
    here: list[Turn] = field(default_factory=list)
    busy: dict[str, datetime] = field(default_factory=dict)
    porters: list[datetime] = field(default_factory=lambda: [MONDAY] * PORTERS)
    doing: list[Doing] = field(default_factory=list)

    def act_out(self) -> list[Unit]:
        """Answer every unit once the week is over and everything that was begun has ended."""
        now = MONDAY
        while now < END and (self.units or self.requests):
            self.step(now)
            now += MINUTE
            if not self.units and self.requests:
                now = max(now, self.requests[0].recorded_at)
        return [*self.finished, *self.units]

    def step(self, now: datetime) -> None:
        """One minute of the ward."""
        while self.requests and self.requests[0].recorded_at <= now:
            self._order(self.requests.pop(0))
        self.here = [turn for turn in self.turns if turn.is_here(now)]
        self._arrive(now)
        self._finish_work(now)
        self._hand_over(now)
        self.calling.call(self, now)
        self._work(now)

    def turn_of(self, staff_id: str | None, now: datetime) -> Turn | None:
        """The shift of somebody, None if it is over or they are nobody."""
        on = (one for one in self.turns if one.staff_id == staff_id)
        return next((one for one in on if one.duty.period.contains(now)), None)

    def givers(self) -> Iterator[Turn]:
        """Those who are here and may start units."""
        return (turn for turn in self.here if turn.duty.may_start)

    def in_hand(self, staff_id: str) -> list[Unit]:
        """The units that somebody has in hand."""
        return [one for one in self.units if one.is_in_hand and one.nurse_id == staff_id]

    def give(self, unit: Unit, staff_id: str, now: datetime) -> None:
        """Have somebody answer for a unit from now on."""
        if unit.nurse_id != staff_id:
            unit.nurse_id = staff_id
            unit.note(now, Assigned(staff_id), "charge")

    def fetch(self, unit: Unit, now: datetime) -> None:
        """Call for a unit: the next porter brings it, sometimes late."""
        place = min(range(len(self.porters)), key=lambda one: self.porters[one])
        takes = self.policy.work_porter * self.vary(unit, "porter")
        if chance.happens(0.1, self.seed, unit.id, "porter late"):
            takes += chance.minutes(8, 20, self.seed, unit.id, "late by")
        leaves = max(now, self.porters[place])
        unit.called_at, unit.arrives_at = now, _whole(leaves + takes)
        unit.removed_at = _whole(unit.arrives_at - min(takes, self.policy.work_carried))
        self.porters[place] = unit.arrives_at

    def vary(self, unit: Unit, label: str) -> float:
        """How long something takes this time, as a part of what it usually takes."""
        rolls = [chance.share(self.seed, unit.id, label, n) for n in range(2)]
        return 0.7 + 0.35 * sum(rolls) + (0.6 if rolls[0] > 0.93 else 0.0)

    def _order(self, request: Request) -> None:
        ready = chance.minutes(5, 20, self.seed, request.id, "ready")
        self.units.append(Unit(request, self.policy, _whole(request.recorded_at + ready)))

    def _arrive(self, now: datetime) -> None:
        """What the laboratory and the porters do by now."""
        for unit in self.units:
            if unit.available_at == now:
                unit.note(now, Available(), "lab")
            if unit.removed_at == now:
                unit.note(now, Issued(removed_at=now), "lab")
            if unit.arrives_at == now:
                unit.note(now, Received(), "lab")

    def _hand_over(self, now: datetime) -> None:
        """The units of whoever has gone home go to those who have come on."""
        for unit in self.units:
            gone = unit.nurse_id is not None and self.turn_of(unit.nurse_id, now) is None
            if gone and unit.called_at is not None:
                least = min(self.givers(), key=lambda one: len(self.in_hand(one.staff_id)))
                self.give(unit, least.staff_id, now)

    def _work(self, now: datetime) -> None:
        """Everybody who is free does what is late first."""
        wanted = [one for one in (unit.wants() for unit in self.units) if one is not None]
        ready = sorted(
            (one for one in wanted if one.ready_at <= now and not self._is_done_now(one)),
            key=lambda one: (one.limit_at, one.unit.id),
        )
        for one in ready:
            worker = self._who_does(one, now)
            if worker is not None:
                self._begin(one, worker, now)

    def _is_done_now(self, one: Wanted) -> bool:
        return any(other.wanted.unit is one.unit for other in self.doing)

    def _who_does(self, one: Wanted, now: datetime) -> Turn | None:
        """Its nurse, else once it is due and they cannot come, a colleague."""
        own = one.unit.nurse_id
        nurse = next((turn for turn in self.givers() if turn.staff_id == own), None)
        if nurse is not None and self._may_go(nurse, one, now):
            return nurse
        if now < one.due_at + COVERED_AFTER:
            return None
        other = next((turn for turn in self.givers() if self._may_go(turn, one, now)), None)
        if other is not None and one.job is Job.START:
            self.give(one.unit, other.staff_id, now)
        return other

    def _may_go(self, turn: Turn, one: Wanted, now: datetime) -> bool:
        if self.busy.get(turn.staff_id, now) > now:
            return False
        watched = (unit for unit in self.in_hand(turn.staff_id) if unit is not one.unit)
        if one.job is Job.START and now + STAYS > turn.duty.period.until_at:
            return False
        in_watch = any(unit.started_at is not None and unit.is_starting(now) for unit in watched)
        return not in_watch or (one.job is not Job.START and now + LEAVES_WATCH >= one.limit_at)

    def _begin(self, one: Wanted, worker: Turn, now: datetime) -> None:
        second = None
        if one.job is Job.START:
            second = self._second(one, worker, now)
            if second is None:
                return
            one.unit.begun_at = now
            reads = self.policy.work_second_check * self.vary(one.unit, "second")
            self.busy[second] = _whole(now + reads)
        until = _whole(now + self._takes(one))
        self.busy[worker.staff_id] = until
        self.doing.append(Doing(one, worker.staff_id, second, now, until))

    def _second(self, one: Wanted, worker: Turn, now: datetime) -> str | None:
        """The planned second if they are free, else anybody who is."""
        free = [
            turn.staff_id
            for turn in self.here
            if turn is not worker and self.busy.get(turn.staff_id, now) <= now
        ]
        return one.unit.second_id if one.unit.second_id in free else next(iter(free[::-1]), None)

    def _takes(self, one: Wanted) -> timedelta:
        usual = {
            Job.START: self.policy.work_check_and_start,
            Job.FINISH: self.policy.work_finish,
        }.get(one.job, self.policy.work_vitals)
        return usual * self.vary(one.unit, f"{one.job} {len(one.unit.events)}")

    def _finish_work(self, now: datetime) -> None:
        """What is done by now is recorded."""
        over = [one for one in self.doing if one.until <= now]
        self.doing = [one for one in self.doing if one.until > now]
        for one in over:
            unit = one.wanted.unit
            done(one, chance.between(0.85, 1.2, self.seed, unit.id, "pace"))
        closed = [unit for unit in self.units if unit.closed_at is not None]
        self.finished += closed
        self.units = [unit for unit in self.units if unit.closed_at is None]


def _whole(at: datetime) -> datetime:
    return at.replace(second=0, microsecond=0)
