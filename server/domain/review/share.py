"""A part of counted things that is no rate of a clock, as of units that were begun at night."""

from dataclasses import dataclass

from server.domain.review.proportion import Interval, wilson
from server.domain.review.rates import ENOUGH


@dataclass(frozen=True, slots=True)
class Share:
    """So many of so many."""

    count: int = 0
    of: int = 0

    @property
    def part(self) -> float | None:
        """The fraction, None where there were none."""
        return self.count / self.of if self.of else None

    @property
    def interval(self) -> Interval | None:
        """Wilson's 95 % interval of the fraction, None where there were none."""
        return wilson(self.count, self.of)

    @property
    def is_small(self) -> bool:
        """Whether there were too few to judge by."""
        return self.of < ENOUGH
