"""The past of wards day by day: what was recorded on each day, in the order of recording."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Final

from seed_demo.year.floor import Floor, House, Told
from server.services.keep_past import Past
from server.store.log import Logged

DAY: Final = timedelta(days=1)


@dataclass(slots=True)
class Days:
    """Facts by the day on which they were recorded, until that day is over."""

    facts: dict[date, list[Logged]] = field(default_factory=lambda: defaultdict(list))

    def add(self, told: Told) -> None:
        """Keep what was told, some of it for days to come."""
        for one in told.facts:
            self.facts[one.event.recorded_at.date()].append(one)

    def of(self, day: date) -> list[Logged]:
        """Everything recorded on a day; of one instant in the order in which it was told."""
        return sorted(self.facts.pop(day, []), key=lambda one: one.event.recorded_at)


def days_of(house: House, floors: Sequence[Floor]) -> Iterator[Past]:
    """Live all wards on, a day at a time (UTC), up to the end of the past."""
    days, at = Days(), house.begins.replace(hour=0, minute=0, second=0)
    while at <= house.until:
        told = [floor.advance(min(at + DAY, house.until)) for floor in floors]
        for one in told:
            days.add(one)
        yield Past(
            patients=[new for one in told for new in one.patients],
            orders=[order for one in told for order in one.orders],
            requests=[request for one in told for request in one.requests],
            facts=days.of(at.date()),
        )
        at += DAY
