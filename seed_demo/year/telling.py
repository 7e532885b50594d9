"""One unit while it is told: its facts so far, whose it is, and what runs in."""

from dataclasses import dataclass, field
from datetime import datetime, timedelta
from random import Random
from typing import Final

from seed_demo.kinds import kind_of
from seed_demo.staff import BLOOD_BANK
from seed_demo.vital_signs import Body
from seed_demo.year.diary import Diary, Held, Slot
from seed_demo.year.lots import minutes
from seed_demo.year.patients import Lying
from seed_demo.year.rota import Turn
from seed_demo.year.wards import Habits, WardPlan
from server.domain.events import Event
from server.domain.payloads import Assigned, Observed, Payload
from server.domain.policy import Policy
from server.domain.rates import permitted_rate_ml_h
from server.domain.request import Request
from server.domain.words import ClockName

BEDSIDE: Final = timedelta(minutes=4)
"""How long a set of signs takes."""

COLLEAGUE: Final = 0.6
"""How often somebody else looks in where the unit's nurse cannot come for long."""

LONG: Final = timedelta(minutes=6)

WHY: Final = {
    Held.FREE: "other",
    Held.BUSY: "busy with another patient",
    Held.AWAY: "break or handover",
}
"""What a nurse says afterwards of a limit that was passed, in the words of the policy."""


@dataclass(frozen=True, slots=True)
class Work:
    """What surrounds a unit: its ward, how it works just then, its nurses, the policy."""

    seed: int
    ward: WardPlan
    habits: Habits
    diary: Diary
    policy: Policy


@dataclass(slots=True)
class Telling:
    """The facts of one unit so far. `causes` are words for limits that were passed, by clock.

    `removed_at` and `finish_at`, its finish limit, are those of the bag once it is handed over.
    """

    work: Work
    request: Request
    lying: Lying
    rng: Random
    nurse: str
    turn: Turn
    removed_at: datetime
    finish_at: datetime
    events: list[Event] = field(default_factory=list)
    causes: dict[ClockName, str] = field(default_factory=dict)
    flow: list[tuple[datetime, float]] = field(default_factory=list)

    def did(
        self,
        at: datetime,
        payload: Payload,
        by: str | None = None,
        *,
        late: timedelta | None = None,
    ) -> Event:
        """Somebody did something, and charted it then or `late`; the unit's nurse if not told."""
        who = by or self.nurse
        event = Event(
            id=f"{self.request.id}-{len(self.events) + 1:03}",
            kind=kind_of(payload),
            happened_at=at,
            recorded_at=at if late is None else at + late,
            payload=payload,
            recorded_by=who,
            position=0,
            staff_id=None if who == BLOOD_BANK.id else who,
            episode_id=self.request.id,
        )
        self.events.append(event)
        return event

    def took_signs(self, at: datetime, by: str | None = None, warmer: float = 0.0) -> None:
        """A full set of signs at an instant, now and then charted much later."""
        odds = self.work.habits.charts_late
        late = minutes(self.rng, 16, 75) if self.rng.random() < odds else None
        self.did(at, self.signs(at, warmer), by, late=late)

    def signs(self, at: datetime, warmer: float = 0.0) -> Observed:
        """A full set as this patient usually has it; `warmer` by so many °C."""
        body = Body(self.work.seed, self.request.patient_id, is_child=self.lying.is_child)
        return body.set_at(f"{at:%m%d%H%M}") if not warmer else _warmer(body, at, warmer)

    def whoever(self, at: datetime) -> str:
        """Whose unit it is at an instant: a change of shifts gives it to somebody who comes on."""
        turn = self.work.diary.rota.at(at)
        if turn.starts_at > self.turn.starts_at:
            handed = turn.starts_at + minutes(self.rng, 2, 11)
            self.turn = turn
            self.nurse = self.work.diary.least_laden(turn, handed)
            self.did(handed, Assigned(self.nurse), turn.charge)
        return self.nurse

    def visit(self, wanted: datetime, clock: ClockName) -> tuple[datetime, str]:
        """When somebody comes who is wanted at an instant, and who; what kept them is noted."""
        nurse, diary = self.whoever(wanted), self.work.diary
        slot = diary.free_from(nurse, wanted)
        if slot.at - wanted > LONG and self.rng.random() < COLLEAGUE:
            nurse = diary.least_laden(diary.rota.at(wanted), wanted)
            slot = diary.free_from(nurse, wanted)
        diary.book(nurse, slot.at, slot.at + BEDSIDE)
        self.kept(clock, slot)
        return slot.at, nurse

    def kept(self, clock: ClockName, slot: Slot) -> None:
        """Note what kept somebody, for whoever asks afterwards."""
        if slot.held is not Held.FREE:
            self.causes[clock] = WHY[slot.held]

    def runs(self, at: datetime, rate_ml_h: float) -> None:
        """From an instant on it runs at another rate."""
        self.flow.append((at, rate_ml_h))

    def given_ml(self, at: datetime) -> float:
        """How much is in by an instant."""
        until = [*(begun for begun, _ in self.flow[1:]), at]
        spans = zip(self.flow, until, strict=True)
        return sum(
            rate * max(0.0, (min(end, at) - begun) / timedelta(hours=1))
            for (begun, rate), end in spans
        )

    def empty_at(self) -> datetime | None:
        """When the bag will be empty at the present rate, None while nothing runs."""
        begun, rate = self.flow[-1]
        if rate <= 0:
            return None
        left = self.volume_ml - self.given_ml(begun)
        return begun + timedelta(seconds=round(3600 * max(0.0, left) / rate))

    def read_ml(self, at: datetime) -> float:
        """How much is in by what a pump shows: whole millilitres, never more than the bag held."""
        return float(round(min(self.given_ml(at), self.volume_ml)))

    @property
    def last_at(self) -> datetime:
        """The last instant of which anything was told."""
        return max(event.happened_at for event in self.events)

    @property
    def volume_ml(self) -> float:
        """What is in the bag."""
        return self.request.volume_ml or 0.0

    @property
    def ceiling_ml_h(self) -> float:
        """The permitted rate."""
        on = self.request.recorded_at
        return permitted_rate_ml_h(self.request, self.lying.patient, self.work.policy, on)[0]


def _warmer(body: Body, at: datetime, by: float) -> Observed:
    usual = body.set_at(f"{at:%m%d%H%M}")
    temperature = round((usual.temperature_c or 36.8) + by, 1)
    return Observed(
        temperature_c=temperature,
        pulse_per_min=(usual.pulse_per_min or 80) + 24,
        respirations_per_min=(usual.respirations_per_min or 16) + 4,
        systolic_mmhg=usual.systolic_mmhg,
        diastolic_mmhg=usual.diastolic_mmhg,
        spo2_percent=usual.spo2_percent,
        on_oxygen=usual.on_oxygen,
        consciousness=usual.consciousness,
        symptoms=("rigors",),
    )
