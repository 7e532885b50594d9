"""A stretch of time, its end not included. Instants are UTC."""

from dataclasses import dataclass
from datetime import datetime, timedelta


@dataclass(frozen=True, slots=True, order=True)
class Period:
    """From `from_at` until just before `until_at`."""

    from_at: datetime
    until_at: datetime

    @property
    def length(self) -> timedelta:
        """How long it lasts."""
        return self.until_at - self.from_at

    def contains(self, at: datetime) -> bool:
        """Whether an instant lies in it."""
        return self.from_at <= at < self.until_at

    def overlaps(self, other: "Period") -> bool:
        """Whether the two share any instant."""
        return self.from_at < other.until_at and other.from_at < self.until_at
