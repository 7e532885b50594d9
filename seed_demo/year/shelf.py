"""The numbers of bags: new ones, and now and then one that went back in time and suits another."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from random import Random
from typing import Final

from seed_demo.year.bringing import LEAKS
from seed_demo.year.telling import Telling
from server.domain.events import Event
from server.domain.payloads import Issued, Returned
from server.domain.words import BloodGroup, Component

KEPT: Final = 20
TAKEN_AGAIN: Final = 0.03

Kind = tuple[Component, BloodGroup | None]


@dataclass(slots=True)
class Shelf:
    """Where a ward's bags come from; `facility` begins their numbers, `serials` end them."""

    facility: str
    serials: Iterator[int]
    back: list[tuple[str, Kind]] = field(default_factory=list)

    def number_for(self, rng: Random, telling: Telling) -> str:
        """The number of the bag that is handed over for a unit."""
        kind = _kind_of(telling)
        for place, (number, its_kind) in enumerate(self.back):
            if its_kind == kind and rng.random() < TAKEN_AGAIN:
                del self.back[place]
                return number
        return f"{self.facility}{telling.request.recorded_at:%y}{next(self.serials):06}"

    def take_back(self, telling: Telling) -> None:
        """Put a bag that went back, and is sound, on the shelf again."""
        number = _number_of(telling.events)
        if number is not None and any(_is_sound(event) for event in telling.events):
            self.back = [*self.back[-KEPT:], (number, _kind_of(telling))]


def _kind_of(telling: Telling) -> Kind:
    return telling.request.component, telling.lying.patient.blood_group


def _number_of(events: list[Event]) -> str | None:
    issued = (event.payload for event in events if isinstance(event.payload, Issued))
    return next((one.unit_number for one in issued), None)


def _is_sound(event: Event) -> bool:
    return isinstance(event.payload, Returned) and event.payload.reason != LEAKS
