"""A problem with one family of rules given way in: what a unit without a place would need.

Limits of the policy are never given way in: they are told as what stands in the way.
"""

from collections.abc import Callable, Iterable
from dataclasses import replace
from datetime import timedelta
from typing import Final

from server.domain.plan.problem import Pin, PlanUnit, Problem, Terms
from server.domain.plan.proposal import Rule
from server.domain.workload.capacity import NightRule, OnDuty, WardRules
from server.domain.workload.period import Period

Relax = Callable[[Problem], Problem]

_LATER: Final = timedelta(hours=12)
_EVER: Final = timedelta(days=7)
_NOBODY_YET: Final = "one more"
# The limits that nobody gives way in to fit a plan.
LIMITS: Final = frozenset(
    {Rule.READY, Rule.FINISH, Rule.START, Rule.EXPIRY, Rule.SAMPLE, Rule.SEQUENCE}
)


def relaxed(problem: Problem, rules: Iterable[Rule]) -> Problem:
    """Answer the problem as it would be without some families of rules."""
    for rule in rules:
        problem = RELAX[rule](problem)
    return problem


def _rules(**changes: object) -> Relax:
    def relax(problem: Problem) -> Problem:
        rules: WardRules = replace(problem.capacity.rules, **changes)  # type: ignore[arg-type]
        return replace(problem, capacity=replace(problem.capacity, rules=rules))

    return relax


def _units(**changes: object) -> Relax:
    def relax(problem: Problem) -> Problem:
        units: list[PlanUnit] = [
            replace(one, **changes)  # type: ignore[arg-type]
            for one in problem.units
        ]
        return replace(problem, units=tuple(units))

    return relax


def _terms(**changes: object) -> Relax:
    def relax(problem: Problem) -> Problem:
        terms: Terms = replace(problem.terms, **changes)  # type: ignore[arg-type]
        return replace(problem, terms=terms)

    return relax


def _people(change: Callable[[Problem, OnDuty], OnDuty]) -> Relax:
    def relax(problem: Problem) -> Problem:
        people = tuple(change(problem, one) for one in problem.capacity.on_duty)
        return replace(problem, capacity=replace(problem.capacity, on_duty=people))

    return relax


def _one_more(*, may_start: bool) -> Relax:
    """Somebody free for the whole of the plan, trained for everything or for second checks."""

    def relax(problem: Problem) -> Problem:
        whole = Period(problem.from_at - _LATER, problem.until_at + _LATER)
        skills = frozenset[str]().union(*(unit.needs for unit in problem.units))
        name = f"{_NOBODY_YET} {may_start}"
        more = OnDuty(name, name, whole, may_start=may_start, skills=skills)
        people = (*problem.capacity.on_duty, more)
        return replace(problem, capacity=replace(problem.capacity, on_duty=people))

    return relax


def _trained(problem: Problem, one: OnDuty) -> OnDuty:
    skills = one.skills.union(*(unit.needs for unit in problem.units))
    return replace(one, may_start=True, may_second=True, skills=skills)


def _always_there(problem: Problem, one: OnDuty) -> OnDuty:
    return replace(one, period=Period(problem.from_at - _LATER, problem.until_at + _LATER))


def _later(problem: Problem) -> Problem:
    return replace(problem, until_at=problem.until_at + _LATER)


RELAX: Final[dict[Rule, Relax]] = {
    Rule.HANDOVER: _rules(handovers=()),
    Rule.NIGHT: _rules(night_rule=NightRule.ALLOWED),
    Rule.BREAKS: _people(lambda _, one: replace(one, breaks=(), duties=())),
    Rule.MOST_STARTS: _rules(most_starts=None),
    Rule.PORTERS: _rules(porters=None),
    Rule.BLOOD_BANK: _rules(issues_per_quarter=None),
    Rule.FORBIDDEN: _units(forbidden=()),
    Rule.PIN: _units(pin=Pin()),
    Rule.SECOND: _one_more(may_start=False),
    Rule.NURSES: _one_more(may_start=True),
    Rule.TRAINING: _people(_trained),
    Rule.SHIFTS: _people(_always_there),
    Rule.HORIZON: _later,
    Rule.SEQUENCE: _units(after=None, free_at=None, gap=timedelta(0)),
    Rule.EXPIRY: _units(done_by=None),
    Rule.SAMPLE: _units(done_by=None),
    Rule.START: lambda problem: _terms(start_within=_EVER)(_units(check_by=None)(problem)),
    Rule.FINISH: _units(finish_within=_EVER),
}
