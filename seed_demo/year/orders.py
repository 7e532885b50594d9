"""What is ordered on a ward: how many units each day, in orders of one to six, at what time."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from random import Random
from typing import Final
from zoneinfo import ZoneInfo

from seed_demo.bags import VOLUMES_ML
from seed_demo.year.lots import lots, minutes, weighted
from seed_demo.year.wards import CRYO, PLASMA, RED, WardPlan
from server.domain.words import Component, Priority

WEEKEND: Final = 5
AT_WEEKENDS: Final = 0.55
DAY_HOURS: Final = (8.0, 18.0)
NIGHT_HOURS: Final = (20.0, 31.5)
PRIORITIES: Final = ((Priority.ROUTINE, 15), (Priority.URGENT, 4))
BLEEDING: Final = (4, 6)
BLEEDING_MIX: Final = ((RED, 3), (PLASMA, 2))
SINGLE: Final = frozenset({Component.PLATELETS, CRYO})


@dataclass(frozen=True, slots=True)
class Placed:
    """An order as it is placed at an instant; an emergency is a major bleeding."""

    at: datetime
    number: int
    component: Component
    units: int
    volume_ml: float
    priority: Priority


@dataclass(frozen=True, slots=True)
class Demand:
    """So many units on a ward from one day on, by its calendar, all of them before an instant."""

    ward: WardPlan
    units: int
    first: date
    until: datetime
    zone: ZoneInfo
    seed: int

    def orders(self) -> Iterator[Placed]:
        """Every order in the order of time: day by day their units add up exactly."""
        weights = [self._weight(day) for day in self._days()]
        whole, so_far, given, number = sum(weights), 0.0, 0, 0
        for day, weight in zip(self._days(), weights, strict=True):
            so_far += weight
            count = round(self.units * so_far / whole) - given
            given += count
            rng = lots(self.seed, self.ward.id, day)
            placed = sorted(self._of_day(rng, day, count), key=lambda one: one[0])
            for at, component, units, bleeds in placed:
                number += 1
                yield self._placed(rng, at, number, component, units, bleeds=bleeds)

    def _days(self) -> list[date]:
        days = (self._last - self.first).days + 1
        return [self.first + timedelta(days=n) for n in range(days)]

    @property
    def _last(self) -> date:
        return self.until.astimezone(self.zone).date()

    def _weight(self, day: date) -> float:
        is_weekend = day.weekday() >= WEEKEND
        if is_weekend and self.ward.weekdays_only:
            return 0.0
        usual = AT_WEEKENDS if is_weekend else 1.0
        if day == self._last:
            usual *= (self.until - self._midnight(day)) / timedelta(days=1)
        return usual * lots(self.seed, self.ward.id, day, "weight").uniform(0.6, 1.4)

    def _of_day(
        self, rng: Random, day: date, count: int
    ) -> Iterator[tuple[datetime, Component, int, bool]]:
        while count > 0:
            bleeds = rng.random() < self.ward.bleeds
            component = weighted(rng, BLEEDING_MIX if bleeds else self.ward.mix)
            wanted = rng.randint(*BLEEDING) if bleeds else rng.choice(self.ward.order_units)
            units = min(count, 1 if component in SINGLE and not bleeds else wanted)
            count -= units
            yield self._time(rng, day, anytime=bleeds), component, units, bleeds

    def _time(self, rng: Random, day: date, *, anytime: bool) -> datetime:
        at_night = rng.random() < (0.4 if anytime else self.ward.nights)
        hour = rng.uniform(*(NIGHT_HOURS if at_night else DAY_HOURS))
        at = self._midnight(day) + timedelta(seconds=round(3600 * hour))
        return at if at < self.until else self.until - minutes(rng, 1, 240)

    def _midnight(self, day: date) -> datetime:
        return datetime.combine(day, time(), self.zone).astimezone(UTC)

    def _placed(
        self,
        rng: Random,
        at: datetime,
        number: int,
        component: Component,
        units: int,
        *,
        bleeds: bool,
    ) -> Placed:
        volume = float(round(rng.uniform(*VOLUMES_ML[component])))
        priority = Priority.EMERGENCY if bleeds else weighted(rng, PRIORITIES)
        return Placed(at, number, component, units, volume, priority)


def called_after(rng: Random, priority: Priority) -> timedelta:
    """How long after the order the first unit is called for."""
    spans = {
        Priority.ROUTINE: (60, 170),
        Priority.URGENT: (25, 55),
        Priority.EMERGENCY: (6, 12),
    }
    return minutes(rng, *spans[priority])
