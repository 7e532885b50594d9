"""What the ward, the porters and the blood bank cannot do at once."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from datetime import datetime

from server.domain.plan.diary import QUARTER, STARTING, issue_quarter, under_way
from server.domain.plan.finding import Finding
from server.domain.plan.problem import PlanUnit, Problem
from server.domain.plan.proposal import Rule, Start
from server.domain.plan.telling import stretch, unit_name
from server.domain.plan.way import collection, start_period
from server.domain.workload.capacity import Collector
from server.domain.workload.period import Period
from server.domain.workload.task import Work

Named = tuple[str, Period]


def crowded(problem: Problem, pairs: Sequence[tuple[PlanUnit, Start]]) -> Iterator[Finding]:
    """Answer where more is planned at once than was said to be possible."""
    rules, terms = problem.capacity.rules, problem.terms
    starts = [(unit.episode_id, start_period(terms, one.check_at)) for unit, one in pairs]
    ways = [
        (unit.episode_id, way)
        for unit, one in pairs
        if (way := collection(unit, terms, one.check_at)) is not None
    ]
    starting = under_way(problem.tasks, STARTING)
    what = "units in their check and watched beginning"
    yield from _too_many(problem, starts, starting, rules.most_starts, Rule.MOST_STARTS, what)
    if rules.collected_by is Collector.PORTER:
        collecting = under_way(problem.tasks, frozenset({Work.COLLECT}))
        what = "collections under way"
        yield from _too_many(problem, ways, collecting, rules.porters, Rule.PORTERS, what)
    yield from _issues(problem, ways)


def _too_many(
    problem: Problem,
    planned: list[Named],
    under: list[Period],
    most: int | None,
    rule: Rule,
    what: str,
) -> Iterator[Finding]:
    """Looked at where something planned begins, and told with everything that is on then."""
    if most is None:
        return
    for at in sorted({period.from_at for _, period in planned}):
        on = [(one, period) for one, period in planned if period.contains(at)]
        others = [period for period in under if period.contains(at)]
        if len(on) + len(others) > most:
            until = min(period.until_at for period in [*others, *(one for _, one in on)])
            yield _finding(problem, on, Period(at, until), rule, f"{what}, {most} allowed", others)


def _issues(problem: Problem, ways: list[Named]) -> Iterator[Finding]:
    most = problem.capacity.rules.issues_per_quarter
    if most is None:
        return
    quarters: defaultdict[datetime, list[Named]] = defaultdict(list)
    for one, way in ways:
        quarters[issue_quarter(way.until_at - problem.terms.carried)].append((one, way))
    for at, on in sorted(quarters.items()):
        if len(on) > most:
            what = f"units from the blood bank, {most} allowed in a quarter of an hour"
            yield _finding(problem, on, Period(at, at + QUARTER), Rule.BLOOD_BANK, what, [])


def _finding(
    problem: Problem,
    on: list[Named],
    period: Period,
    rule: Rule,
    what: str,
    others: list[Period],
) -> Finding:
    ids = tuple(sorted(one for one, _ in on))
    beds = "; ".join(unit_name(problem, one) for one in ids)
    count = len(on) + len(others)
    words = f"{stretch(problem, period)}: {count} {what} ({beds})"
    return Finding(rule, ids, (), period, words)
