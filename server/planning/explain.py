"""Why a unit stands where it does, and what stands in the way of one that found no place.

Nothing is guessed: the slot before is tried, and so is each rule given way in, around the plan as
it is.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import astuple, replace
from datetime import datetime
from itertools import combinations
from typing import Final

from server.domain.plan.alone import candidates
from server.domain.plan.consequences import consequences
from server.domain.plan.laying import Draft, draft
from server.domain.plan.list_rule import ListRule
from server.domain.plan.obstacles import obstacles
from server.domain.plan.problem import PlanUnit, Problem
from server.domain.plan.proposal import Proposal, Relaxed, Rule, Start, Unplaced
from server.domain.plan.relax import LIMITS, RELAX, relaxed
from server.domain.plan.score import score
from server.domain.plan.telling import person, time, unit_name
from server.domain.plan.way import Placing

# Pairs of rules take a second or two for one unit; the first few units are told as an example.
_PAIRS_FOR: Final = 3

FAMILY: Final[dict[Rule, str]] = {
    Rule.READY: "when it is ready",
    Rule.FINISH: "the finish limit",
    Rule.START: "the start limit",
    Rule.EXPIRY: "the expiry",
    Rule.SAMPLE: "the sample",
    Rule.SEQUENCE: "the unit before it",
    Rule.HANDOVER: "the handover",
    Rule.NIGHT: "the rule for nights",
    Rule.BREAKS: "breaks and other duties",
    Rule.SHIFTS: "the end of shifts",
    Rule.NURSES: "too few nurses",
    Rule.TRAINING: "training",
    Rule.SECOND: "too few second checkers",
    Rule.MOST_STARTS: "the limit of starts at once",
    Rule.PORTERS: "the porters",
    Rule.BLOOD_BANK: "the pace of the blood bank",
    Rule.FORBIDDEN: "the times at which it is not wanted",
    Rule.PIN: "what was fixed by hand",
    Rule.HORIZON: "the end of the plan",
}

WAY_OUT: Final[dict[Rule, str]] = {
    Rule.HANDOVER: "across the handover",
    Rule.NIGHT: "if routine units were allowed at night",
    Rule.BREAKS: "with breaks and other duties at another time",
    Rule.SHIFTS: "with somebody's shift longer",
    Rule.NURSES: "with one more nurse",
    Rule.TRAINING: "with everybody on duty trained for it",
    Rule.SECOND: "with one more second checker",
    Rule.MOST_STARTS: "with more starts at once",
    Rule.PORTERS: "with more porters",
    Rule.BLOOD_BANK: "if the blood bank handed out more in a quarter of an hour",
    Rule.FORBIDDEN: "at a time at which it is not wanted",
    Rule.PIN: "without what was fixed by hand",
    Rule.HORIZON: "in a longer plan",
}

_LEVELS: Final = (
    "a unit would find no place",
    "urgent units would wait {0} weighted minutes longer",
    "{0} minutes more of work would find nobody free, nights counted",
    "{0} more starts of the plan in force would change",
    "routine units and shares of work would be worse by {0}",
)


def with_reasons(problem: Problem, made: Proposal) -> Proposal:
    """Answer a proposal whose starts say what fixed them where they are."""
    plan = Draft(made.starts, made.laid)
    starts = tuple(replace(start, why=why(problem, plan, start)) for start in made.starts)
    return replace(made, starts=starts)


def why(problem: Problem, plan: Draft, start: Start) -> tuple[str, ...]:
    """Answer in words what a check one step of the grid earlier would break, or cost."""
    unit = next(one for one in problem.units if one.episode_id == start.episode_id)
    if unit.pin.check_at is not None:
        return (f"{unit_name(problem, unit.episode_id)}: fixed by hand",)
    at = start.check_at - problem.terms.grid
    others = placings(plan)
    same = replace(others.pop(unit.episode_id), check_at=at)
    moved = draft(problem, others | {unit.episode_id: same})
    broken = [
        one
        for one in consequences(problem, moved.starts)
        if one.is_hard and unit.episode_id in one.episode_ids
    ]
    of_people = {Rule.NURSES, Rule.BREAKS, Rule.SHIFTS}
    fixed = [one.words for one in broken if one.rule not in of_people]
    if fixed:
        return tuple(fixed)
    other = place_one(problem, unit, others, [at])
    if other is None:
        return (*(one.words for one in broken), _nobody(problem, at))
    return (_dearer(problem, plan, draft(problem, others | {unit.episode_id: other}), other),)


def why_unplaced(problem: Problem, plan: Draft) -> tuple[Unplaced, ...]:
    """Answer for each unit without a place the fewest rules in its way, and the ways out."""
    planned = {start.episode_id for start in plan.starts}
    missing = [unit for unit in problem.units if unit.episode_id not in planned]
    hopeless = {one.episode_id: one for one in obstacles(problem)} if missing else {}
    told: list[Unplaced] = []
    for place, unit in enumerate(missing):
        ways = list(_ways(problem, plan, unit))
        offered = tuple(way for way in ways if way.rule not in LIMITS)
        obstacle = hopeless.get(unit.episode_id)
        if obstacle is not None:
            told.append(Unplaced(unit.episode_id, obstacle.rules, obstacle.words, offered))
            continue
        rules = tuple(way.rule for way in ways)
        if not rules and place < _PAIRS_FOR:
            rules = _pair(problem, plan, unit)
        reason = _reason(problem, unit, rules, is_pair=not ways)
        told.append(Unplaced(unit.episode_id, rules, reason, offered))
    return tuple(told)


def placings(plan: Draft) -> dict[str, Placing]:
    """Answer where a plan places each unit."""
    return {
        one.episode_id: Placing(one.check_at, one.nurse_id, one.second_id) for one in plan.starts
    }


def place_one(
    problem: Problem,
    unit: PlanUnit,
    others: dict[str, Placing],
    slots: Sequence[datetime] | None = None,
) -> Placing | None:
    """Answer the first place for one more unit while all others stay; None where there is none."""
    open_slots = candidates(problem, unit)
    if slots is not None:
        open_slots = tuple(at for at in open_slots if at in slots)
    rule = ListRule(problem, {unit.episode_id: open_slots})
    rule.keep(others)
    return rule.place(unit)


def _ways(problem: Problem, plan: Draft, unit: PlanUnit) -> Iterator[Relaxed]:
    """Each family of rules that would by itself open a place."""
    for rule in RELAX:
        found = _without(problem, plan, unit, (rule,))
        if found is not None:
            way = WAY_OUT.get(rule, f"without {FAMILY[rule]}")
            words = f"{way}: check at {time(problem, found.check_at)}"
            yield Relaxed(rule, found.check_at, words)


def _pair(problem: Problem, plan: Draft, unit: PlanUnit) -> tuple[Rule, ...]:
    pairs = combinations(RELAX, 2)
    return next((pair for pair in pairs if _without(problem, plan, unit, pair)), ())


def _without(
    problem: Problem, plan: Draft, unit: PlanUnit, rules: Iterable[Rule]
) -> Placing | None:
    other = relaxed(problem, rules)
    same = next(one for one in other.units if one.episode_id == unit.episode_id)
    return place_one(other, same, placings(plan))


def _reason(problem: Problem, unit: PlanUnit, rules: tuple[Rule, ...], *, is_pair: bool) -> str:
    name, named = unit_name(problem, unit.episode_id), [FAMILY[rule] for rule in rules]
    if not rules:
        return f"{name}: no place is left, and more than two rules together stand in the way"
    if is_pair:
        return f"{name}: no place is left; in the way are {' and '.join(named)} together"
    return f"{name}: no place is left; in the way: {', or '.join(named)}"


def _nobody(problem: Problem, at: datetime) -> str:
    return f"no two other people are free for it at {time(problem, at)}"


def _dearer(problem: Problem, plan: Draft, other: Draft, placing: Placing) -> str:
    """On which level the plan would be worse, with the numbers."""
    at, name = time(problem, placing.check_at), person(problem, placing.nurse_id)
    now = astuple(score(problem, plan.starts, plan.laid))
    then = astuple(score(problem, other.starts, other.laid))
    levels = zip(_LEVELS, now, then, strict=True)
    worse = next(((words, more - less) for words, less, more in levels if more != less), None)
    if worse is None or worse[1] < 0:
        return f"{at} by {name} would do as well"
    return f"at {at} by {name} {worse[0].format(worse[1])}"
