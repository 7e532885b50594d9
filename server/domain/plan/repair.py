"""The quick repair of a plan that no longer holds: what can stay stays, the rest is placed anew."""

from collections.abc import Mapping

from server.domain.plan.consequences import consequences
from server.domain.plan.laying import Draft, draft
from server.domain.plan.list_rule import list_rule
from server.domain.plan.problem import Earlier, PlanUnit, Problem
from server.domain.plan.way import Placing
from server.domain.plan.weights import can_wait


def repaired(problem: Problem) -> Draft:
    """Answer the plan in force with only those starts moved that can no longer stay.

    Units that it does not know are placed by the list rule around what stays.
    """
    return list_rule(problem, untouched(problem, problem.accepted))


def untouched(problem: Problem, accepted: Mapping[str, Earlier]) -> dict[str, Placing]:
    """Answer the starts of a plan that can stay together; of two in conflict the less urgent goes.

    Urgent ones stay before those that can wait, and earlier ones before later ones.
    """
    units = {unit.episode_id: unit for unit in problem.units}
    kept = {
        one: Placing(old.check_at, old.nurse_id, old.second_id)
        for one, old in accepted.items()
        if one in units
    }
    while True:
        found = consequences(problem, draft(problem, kept).starts)
        broken = [one for finding in found if finding.is_hard for one in finding.episode_ids]
        movable = [units[one] for one in broken if one in kept]
        if not movable:
            return kept
        gone = max(movable, key=lambda unit: _moves_first(unit, kept))
        del kept[gone.episode_id]


def _moves_first(unit: PlanUnit, kept: Mapping[str, Placing]) -> tuple[object, ...]:
    return (can_wait(unit), kept[unit.episode_id].check_at, unit.episode_id)
