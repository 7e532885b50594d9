"""How often a limit was kept: of the clocks that were owed, those met in time."""

from dataclasses import dataclass
from typing import Final

from server.domain.review.proportion import Interval, wilson

ENOUGH: Final = 20
"""So many owed make a rate that can be judged. Of fewer, even all in time leaves it open by
Wilson's interval whether one in six would be missed in the long run (19 of 19: from 83 %)."""


@dataclass(frozen=True, slots=True)
class Tally:
    """Clocks of one kind counted: met in time, met late, and missed (or overdue and unmet)."""

    met: int = 0
    late: int = 0
    missed: int = 0

    def __add__(self, other: "Tally") -> "Tally":
        """Both together."""
        return Tally(self.met + other.met, self.late + other.late, self.missed + other.missed)

    @property
    def owed(self) -> int:
        """All of them."""
        return self.met + self.late + self.missed

    @property
    def rate(self) -> float | None:
        """The fraction met in time, None where none was owed."""
        return self.met / self.owed if self.owed else None

    @property
    def interval(self) -> Interval | None:
        """Wilson's 95 % interval of the rate, None where none was owed."""
        return wilson(self.met, self.owed)

    @property
    def is_small(self) -> bool:
        """Whether too few were owed to judge the rate by."""
        return self.owed < ENOUGH


def caution(tally: Tally) -> str:
    """Answer what to say beside a rate of too few; empty where there are enough."""
    if not tally.owed:
        return "none owed"
    return f"only {tally.owed} owed: too few to judge" if tally.is_small else ""
