"""The quick repair of a plan that no longer holds: what can stay stays, the rest is placed anew."""

from collections.abc import Mapping

from server.domain.plan.consequences import consequences
from server.domain.plan.finding import Finding
from server.domain.plan.laying import Draft, draft
from server.domain.plan.list_rule import list_rule
from server.domain.plan.problem import Earlier, PlanUnit, Problem
from server.domain.plan.proposal import Objective, Rule
from server.domain.plan.score import score
from server.domain.plan.way import Placing
from server.domain.plan.weights import can_wait


def repaired(problem: Problem) -> Draft:
    """Answer the plan in force with only those starts moved that can no longer stay.

    Units that it does not know are placed by the list rule around what stays. The unit that comes
    after a moved one of its patient stays as well where that leaves nobody out.
    """
    tried = [
        list_rule(problem, untouched(problem, problem.accepted, keep_followers=keep))
        for keep in (True, False)
    ]
    return min(tried, key=lambda plan: _change(problem, plan))


def untouched(
    problem: Problem, accepted: Mapping[str, Earlier], *, keep_followers: bool = False
) -> dict[str, Placing]:
    """Answer the starts of a plan that can stay together; of two in conflict the less urgent goes.

    Urgent ones stay before those that can wait, and earlier ones before later ones. With
    `keep_followers` a start stays although the one before it has to be placed anew.
    """
    units = {unit.episode_id: unit for unit in problem.units}
    kept = {
        one: Placing(old.check_at, old.nurse_id, old.second_id)
        for one, old in accepted.items()
        if one in units
    }
    while True:
        found = consequences(problem, draft(problem, kept).starts)
        broken = [
            one
            for finding in found
            if finding.is_hard and not (keep_followers and _is_waiting(finding, kept))
            for one in finding.episode_ids
        ]
        movable = [units[one] for one in broken if one in kept]
        if not movable:
            return kept
        gone = max(movable, key=lambda unit: _moves_first(unit, kept))
        del kept[gone.episode_id]


def _is_waiting(finding: Finding, kept: Mapping[str, Placing]) -> bool:
    """Whether it only says that the unit before has no start: it is still to be placed."""
    return finding.rule is Rule.SEQUENCE and any(one not in kept for one in finding.episode_ids)


def _change(problem: Problem, plan: Draft) -> tuple[int, int, Objective]:
    worth = score(problem, plan.starts, plan.laid)
    return (worth.unplaced, worth.changes, worth)


def _moves_first(unit: PlanUnit, kept: Mapping[str, Placing]) -> tuple[object, ...]:
    return (can_wait(unit), kept[unit.episode_id].check_at, unit.episode_id)
