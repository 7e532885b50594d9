"""Who is on a ward when: two shifts a day by the ward's own clock, each with a charge nurse."""

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from itertools import pairwise
from typing import Final
from zoneinfo import ZoneInfo

from seed_demo.rota import shift_of
from server.store.shifts import Break, Shift

MINUTE: Final = timedelta(minutes=1)
DAY: Final = timedelta(days=1)
CHANGES: Final = (time(7, 30), time(19, 30))
HANDOVER: Final = 12 * MINUTE
"""After a change of shifts, as long as it takes to hand over: nobody is at a bedside."""

_BREAKS: Final = ((120, 35, 1, 20), (290, 30, 2, 30), (520, 25, 1, 20))
"""Of each break: the first one's minute of the shift, steps, how many go together, length."""

Pauses = tuple[tuple[datetime, datetime], ...]


@dataclass(frozen=True, slots=True)
class Turn:
    """One shift: from when until when, who is in charge, and the breaks of each nurse by id."""

    starts_at: datetime
    ends_at: datetime
    charge: str
    nurses: dict[str, Pauses]

    def away(self, nurse: str) -> Pauses:
        """When a nurse of this shift is not at the bedside."""
        return ((self.starts_at, self.starts_at + HANDOVER), *self.nurses.get(nurse, ()))


@dataclass(frozen=True, slots=True)
class Rota:
    """The shifts of one ward in order, without gaps."""

    ward_id: str
    turns: Sequence[Turn]

    def at(self, instant: datetime) -> Turn:
        """The shift that is on at an instant; the first or last one outside of all."""
        place = bisect_right(self.turns, instant, key=lambda turn: turn.starts_at) - 1
        return self.turns[max(0, place)]

    def shifts(self) -> Iterator[Shift]:
        """The same as it is stored."""
        for turn in self.turns:
            for staff_id in (turn.charge, *turn.nurses):
                yield Shift(
                    id=f"{self.ward_id}-{turn.starts_at:%Y%m%d%H}-{staff_id}",
                    staff_id=staff_id,
                    ward_id=self.ward_id,
                    starts_at=turn.starts_at,
                    ends_at=turn.ends_at,
                    breaks=tuple(Break(*pause) for pause in turn.nurses.get(staff_id, ())),
                )


@dataclass(frozen=True, slots=True)
class Pool:
    """The people who take turns on a ward, and how many nurses a day and a night need."""

    charges: Sequence[str]
    nurses: Sequence[str]
    by_day: int
    by_night: int


def rota_of(ward_id: str, pool: Pool, first: date, last: date, zone: ZoneInfo) -> Rota:
    """The shifts of a ward from a day to another by its calendar, the first night before it."""
    turns: list[Turn] = []
    place = 0
    for starts, ends in _spans(first - DAY, last + DAY, zone):
        by_day = starts.astimezone(zone).time() == CHANGES[0]
        count = pool.by_day if by_day else pool.by_night
        nurses = [pool.nurses[(place + n) % len(pool.nurses)] for n in range(count)]
        place += count
        charge = pool.charges[len(turns) % len(pool.charges)]
        turns.append(Turn(starts, ends, charge, _with_breaks(nurses, starts)))
    return Rota(ward_id, turns)


def demo_rota(ward_id: str, start: datetime, turns: range) -> Rota:
    """The shifts of the demonstration's ward before it begins, by their numbers."""
    shifts = (shift_of(start, number) for number in turns)
    return Rota(
        ward_id,
        [
            Turn(
                shift.charge.starts_at,
                shift.charge.ends_at,
                shift.charge.staff_id,
                {duty.staff_id: duty.breaks for duty in shift.givers},
            )
            for shift in shifts
        ],
    )


def _spans(first: date, last: date, zone: ZoneInfo) -> Iterator[tuple[datetime, datetime]]:
    days = range((last - first).days + 1)
    changes = [_utc(first + n * DAY, change, zone) for n in days for change in CHANGES]
    return pairwise(changes)


def _utc(day: date, at: time, zone: ZoneInfo) -> datetime:
    local = datetime.combine(day, at, zone)
    return local.astimezone(ZoneInfo("UTC")).replace(tzinfo=UTC)


def _with_breaks(nurses: Sequence[str], starts: datetime) -> dict[str, Pauses]:
    return {nurse: tuple(_breaks(starts, place)) for place, nurse in enumerate(nurses)}


def _breaks(starts: datetime, place: int) -> Iterator[tuple[datetime, datetime]]:
    for first, step, together, length in _BREAKS:
        at = starts + (first + step * (place // together)) * MINUTE
        yield at, at + length * MINUTE
