"""Days of a calendar that a review is asked about, and those to set beside them."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Days:
    """From the day `first` to the day `last`, both included."""

    first: date
    last: date

    @property
    def count(self) -> int:
        """How many they are."""
        return (self.last - self.first).days + 1

    def holds(self, day: date) -> bool:
        """Whether a day is one of them."""
        return self.first <= day <= self.last

    @property
    def before(self) -> "Days":
        """As many days before them; before whole months as many whole months."""
        last = self.first - _DAY
        if self.first.day == 1 and (self.last + _DAY).day == 1:
            months = _month(self.last) - _month(self.first) + 1
            return Days(_first_of(_month(self.first) - months), last)
        return Days(last - (self.count - 1) * _DAY, last)


def begins_with(parts: Sequence[Days], day: date) -> int:
    """Answer the place of the first part that lies mostly from a day on, half of it included.

    One part after the last where the day lies late in that one. `parts` follow one another, and
    one of them holds the day.
    """
    place = next(n for n, part in enumerate(parts) if part.holds(day))
    from_then_on = Days(day, parts[place].last).count
    return place if 2 * from_then_on >= parts[place].count else place + 1


def _month(day: date) -> int:
    """Months since the year 0."""
    return day.year * 12 + day.month - 1


def _first_of(month: int) -> date:
    return date(month // 12, month % 12 + 1, 1)
