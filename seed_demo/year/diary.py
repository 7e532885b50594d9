"""What the nurses of a ward have in hand, so that whoever is busy comes later."""

from bisect import insort
from collections import defaultdict
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from enum import StrEnum
from typing import Final, NamedTuple

from seed_demo.year.rota import Rota, Turn

KEPT: Final = timedelta(hours=14)
"""How far back a diary is looked at: longer than any shift."""


class Held(StrEnum):
    """Why somebody could not come at once."""

    FREE = "free"
    BUSY = "busy"
    AWAY = "away"


class Slot(NamedTuple):
    """When somebody can come, and what kept them longest."""

    at: datetime
    held: Held


@dataclass(slots=True)
class Diary:
    """Booked minutes of each nurse; whoever asks later finds what was booked before."""

    rota: Rota
    booked: dict[str, list[tuple[datetime, datetime]]] = field(
        default_factory=lambda: defaultdict(list)
    )
    units: dict[str, list[datetime]] = field(default_factory=lambda: defaultdict(list))

    def book(self, nurse: str, begins: datetime, ends: datetime) -> None:
        """Somebody is at a bedside."""
        theirs = self.booked[nurse]
        insort(theirs, (begins, ends))
        while theirs[0][1] < begins - KEPT:
            theirs.pop(0)

    def free_from(self, nurse: str, at: datetime) -> Slot:
        """When a nurse can come who is wanted at `at`, on that shift."""
        taken = sorted([*self.booked[nurse], *self.rota.at(at).away(nurse)])
        breaks = set(self.rota.at(at).away(nurse))
        held, until = Held.FREE, at
        for span in taken:
            if span[0] <= until < span[1]:
                held = Held.AWAY if span in breaks else Held.BUSY
                until = span[1]
        return Slot(until, held)

    def least_laden(self, turn: Turn, at: datetime, *, without: str | None = None) -> str:
        """Of the nurses on a shift, whoever can come first, with the fewest units in hand."""

        def laden(nurse: str) -> tuple[datetime, int]:
            return self.free_from(nurse, at).at, self._in_hand(nurse, at)

        return min((nurse for nurse in turn.nurses if nurse != without), key=laden)

    def has_unit(self, nurse: str, until: datetime) -> None:
        """A nurse has a unit until it is accounted for."""
        self.units[nurse].append(until)

    def _in_hand(self, nurse: str, at: datetime) -> int:
        theirs = self.units[nurse] = [until for until in self.units[nurse] if until > at]
        return len(theirs)
