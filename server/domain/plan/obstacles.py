"""What no planner can mend, told before one is asked: units that no slot of the plan is open to."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from server.domain.plan.alone import broken_alone, candidates
from server.domain.plan.grid import slots
from server.domain.plan.people import seconds, starters
from server.domain.plan.problem import PlanUnit, Problem
from server.domain.plan.proposal import Rule
from server.domain.plan.telling import unit_name
from server.domain.plan.telling_rules import alone_words


@dataclass(frozen=True, slots=True)
class Obstacle:
    """A unit that cannot be planned whatever else is, the rules in its way, and the words."""

    episode_id: str
    rules: tuple[Rule, ...]
    words: str


def obstacles(problem: Problem) -> tuple[Obstacle, ...]:
    """Answer the units for which no slot is open, or at none of them two people who may.

    The rules named are those that the fewest slots keep: nothing else stands in the way there.
    """
    return tuple(found for unit in problem.units for found in _obstacle(problem, unit))


def _obstacle(problem: Problem, unit: PlanUnit) -> Iterator[Obstacle]:
    open_slots = candidates(problem, unit)
    if not open_slots:
        yield _no_slot(problem, unit)
        return
    starting = {who for at in open_slots for who in starters(problem, unit, at)}
    pairs = any(_is_pair(problem, unit, at) for at in open_slots)
    name = unit_name(problem, unit.episode_id)
    if not starting:
        words = f"{name}: nobody who may start it is on duty and free of breaks at any open slot"
        yield Obstacle(unit.episode_id, (Rule.NURSES,), words)
    elif not pairs:
        words = f"{name}: nobody else is there for the second check at any open slot"
        yield Obstacle(unit.episode_id, (Rule.SECOND,), words)


def _is_pair(problem: Problem, unit: PlanUnit, at: datetime) -> bool:
    return any(
        one != other for one in starters(problem, unit, at) for other in seconds(problem, unit, at)
    )


def _no_slot(problem: Problem, unit: PlanUnit) -> Obstacle:
    """The slot that breaks least tells why; of several the earliest."""
    pinned = unit.pin.check_at
    grid = problem.terms.grid
    every = slots(problem.from_at, problem.until_at, grid) if pinned is None else (pinned,)
    listed = every or (problem.from_at,)
    best = min(listed, key=lambda at: (len(broken_alone(problem, unit, at)), at))
    rules = broken_alone(problem, unit, best) or (Rule.HORIZON,)
    told = [alone_words(problem, unit, best, rule).split(": ", 1)[1] for rule in rules]
    words = f"{unit_name(problem, unit.episode_id)}: {'; '.join(told)}"
    return Obstacle(unit.episode_id, rules, words)
