"""Instants as whole minutes for the solver, widened so that no rule is kept by rounding alone."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

_MINUTE: Final = timedelta(minutes=1)


@dataclass(frozen=True, slots=True)
class Scale:
    """Minutes counted from an instant."""

    origin: datetime

    def floor(self, at: datetime) -> int:
        """The minute that has begun."""
        return (at - self.origin) // _MINUTE

    def at(self, minute: int) -> datetime:
        """The instant at which a minute begins."""
        return self.origin + minute * _MINUTE

    def ceil(self, at: datetime) -> int:
        """The minute that begins then or next."""
        return -((self.origin - at) // _MINUTE)


def longest(length: timedelta) -> int:
    """Minutes that a length needs at most."""
    return -(-length // _MINUTE)
