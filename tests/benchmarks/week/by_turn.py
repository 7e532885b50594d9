"""First come first served, as a sensible charge nurse does it without a plan."""

from datetime import datetime
from typing import Final

from server.domain.words import Priority
from server.domain.workload.period import Period
from tests.benchmarks.week.demand import MINUTE
from tests.benchmarks.week.people import Turn
from tests.benchmarks.week.unit import Unit
from tests.benchmarks.week.ward import Ward

MOST_IN_HAND: Final = 3
STAYS: Final = 25 * MINUTE
PRIORITIES: Final = tuple(Priority)


class ByTurn:
    """The most urgent first, then whoever was asked for first, to the nurse with the fewest."""

    def call(self, ward: Ward, now: datetime) -> None:
        """Call for every unit for which somebody has hands."""
        waiting = [unit for unit in ward.units if unit.called_at is None]
        for unit in sorted(waiting, key=_turn):
            nurse = _who(ward, now) if may_come(ward, unit, now) else None
            if nurse is not None:
                ward.give(unit, nurse.staff_id, now)
                ward.fetch(unit, now)


def may_come(ward: Ward, unit: Unit, now: datetime) -> bool:
    """Whether it is ready, and its patient has no other unit in hand nor waits for an earlier."""
    if now < unit.available_at:
        return False
    theirs = (one for one in ward.units if one.request.patient_id == unit.request.patient_id)
    return not any(
        one.is_in_hand or (one.called_at is None and one.request.n < unit.request.n)
        for one in theirs
        if one is not unit
    )


def _turn(unit: Unit) -> tuple[int, datetime, str]:
    request = unit.request
    return (PRIORITIES.index(request.priority), request.recorded_at, request.id)


def _who(ward: Ward, now: datetime) -> Turn | None:
    """A nurse who starts nothing else and goes on no break soon."""
    able = [turn for turn in ward.givers() if _may_start(ward, turn, now)]
    return min(able, key=lambda one: (len(ward.in_hand(one.staff_id)), one.staff_id), default=None)


def _may_start(ward: Ward, turn: Turn, now: datetime) -> bool:
    in_hand = ward.in_hand(turn.staff_id)
    if len(in_hand) >= MOST_IN_HAND or any(unit.is_starting(now) for unit in in_hand):
        return False
    return turn.is_known_free(Period(now, now + STAYS))
