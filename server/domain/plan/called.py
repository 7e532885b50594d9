"""Units that are being called for just now by the accepted plan: under way, though nothing says so.

A call is not recorded. From shortly before its instant until the unit should have left storage it
counts as made: what a proposal says of the unit then comes too late for whoever holds the phone.
"""

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime

from server.domain.plan.consequences import consequences
from server.domain.plan.problem import Pin, PlanUnit, Problem, Terms
from server.domain.plan.proposal import Start


def issue_is_late_from(start: Start, terms: Terms) -> datetime | None:
    """Answer until when a called unit may be on its way out of storage, None: it is out already."""
    if start.call_at is None:
        return None
    return start.call_at + terms.collect - terms.carried + terms.grid


def count_calls(problem: Problem, accepted: Iterable[Start]) -> Problem:
    """Answer the problem with what is being called for known to be."""
    called = {start.episode_id: start.call_at for start in accepted if _is_called(problem, start)}
    units = (_called(unit, called.get(unit.episode_id)) for unit in problem.units)
    return replace(problem, units=tuple(units))


def keep_calls(problem: Problem, accepted: Iterable[Start]) -> Problem:
    """Answer the problem with units that are being called for fixed where the plan has them.

    Where that breaks a rule on the ward as it is, or somebody fixed the unit otherwise, it is free.
    """
    starts = tuple(accepted)
    found = consequences(problem, starts)
    broken = {one for finding in found if finding.is_hard for one in finding.episode_ids}
    called = {
        start.episode_id: Pin(start.check_at, start.nurse_id, start.second_id)
        for start in starts
        if _is_called(problem, start) and start.episode_id not in broken
    }
    units = (_fixed(unit, called.get(unit.episode_id)) for unit in problem.units)
    return replace(problem, units=tuple(units))


def _is_called(problem: Problem, start: Start) -> bool:
    now, late_from = problem.capacity.as_of, issue_is_late_from(start, problem.terms)
    if start.call_at is None or late_from is None:
        return False
    return start.call_at - problem.terms.grid <= now <= late_from


def _called(unit: PlanUnit, call_at: datetime | None) -> PlanUnit:
    return unit if call_at is None or unit.is_issued else replace(unit, called_at=call_at)


def _fixed(unit: PlanUnit, pin: Pin | None) -> PlanUnit:
    return unit if pin is None or unit.is_issued or unit.pin != Pin() else replace(unit, pin=pin)
