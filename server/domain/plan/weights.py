"""How much a unit counts: what can wait, and how heavily waiting weighs. Project defaults."""

from typing import Final

from server.domain.plan.problem import PlanUnit
from server.domain.words import Priority

WEIGHT: Final[dict[Priority, int]] = {
    Priority.EMERGENCY: 10,
    Priority.URGENT: 3,
    Priority.ROUTINE: 1,
}
# A routine start in an avoided night, in minutes of work that nobody is there for.
NIGHT_START: Final = 60
# A start by somebody other than its named nurse, in minutes of routine waiting.
NOT_THE_NAMED: Final = 15
# A start beyond somebody's share of the starts, in minutes of routine waiting.
BEYOND_SHARE: Final = 20


def can_wait(unit: PlanUnit) -> bool:
    """Whether it is routine, may be left lying, and is still in storage."""
    return unit.priority is Priority.ROUTINE and not unit.at_once and not unit.is_issued


def weight(unit: PlanUnit) -> int:
    """Answer the weight of a unit; what cannot wait weighs as an urgent one at least."""
    least = WEIGHT[Priority.ROUTINE if can_wait(unit) else Priority.URGENT]
    return max(WEIGHT[unit.priority], least)
