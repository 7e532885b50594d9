"""The planner: against the list rule side by side, against its bounds, and how long it takes.

Seconds and shares of proven plans depend on what else the machine is doing; worths do not, as far
as a search ends by its own steps.
"""

import json
import resource
import statistics
from collections.abc import Iterator, Sequence
from dataclasses import astuple, dataclass
from time import perf_counter
from typing import Final

from server.domain.plan.list_rule import list_rule
from server.domain.plan.problem import Problem
from server.domain.plan.proposal import Objective, Proposal, Status
from server.domain.plan.score import score
from server.planning.repair import repair
from server.planning.solve import propose
from tests.benchmarks.options import Options
from tests.benchmarks.outcomes import Outcome
from tests.conftest import PROJECT
from tests.planning.checker import faults
from tests.planning.test_plans import delayed, met
from tests.planning.wards import Size, ward
from tests.standards.instances import end_of

INSTANCES: Final = PROJECT.parent / "shared" / "vectors" / "scheduling"
SIZES: Final = (Size(5, 3), Size(8, 4), Size(12, 5), Size(16, 6), Size(20, 8))
LEVELS: Final = ("unplaced", "urgent lateness", "overload", "changes", "comfort")


@dataclass(frozen=True, slots=True)
class Pair:
    """One ward planned by the list rule and by the solver."""

    listed: Objective
    made: Proposal
    wrong: int


def run(options: Options) -> Iterator[Outcome]:
    """Wards by seed, the published problems, and what a late start changes."""
    yield from _against_list_rule(options)
    yield from _proven(options)
    yield from _gap(options)
    yield from _several_wards()
    yield from _stability(options)
    yield from _instances()
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    yield Outcome("peak memory of all of this", peak, 600, "MB", peak / 600, 1.0)


def _against_list_rule(options: Options) -> Iterator[Outcome]:
    """The same wards by both, level by level: the median with the middle half of the wards."""
    count = options.size(100)
    pairs = [_pair(ward(seed, SIZES[seed % len(SIZES)]), 2) for seed in range(count)]
    worse = sum(pair.made.objective > pair.listed for pair in pairs)
    better = sum(pair.made.objective < pair.listed for pair in pairs)
    of = f"of {count} wards"
    yield _count(f"plans worse than the list rule's, {of}", worse, count)
    yield _count("plans that the checker finds wrong", sum(pair.wrong for pair in pairs), count)
    yield Outcome(f"plans better, {of}", better, count, "plans", better / count, None)
    for place, level in enumerate(LEVELS):
        ours = [astuple(pair.made.objective)[place] for pair in pairs]
        listed = [astuple(pair.listed)[place] for pair in pairs]
        name = f"{level}: median, middle half {_middle(ours)} for {_middle(listed)}"
        yield _shown(name, statistics.median(ours), statistics.median(listed), "worth")
        total = f"{level}: sum {of}"
        yield _shown(total, sum(ours), sum(listed), "worth")


def _proven(options: Options) -> Iterator[Outcome]:
    """20 units and 8 nurses, three seconds."""
    plans = [propose(ward(seed, Size(20, 8)), 3) for seed in range(options.rounds(20))]
    proven = sum(plan.status is Status.OPTIMAL for plan in plans)
    share = proven / len(plans)
    yield Outcome("proven best, 20 units 8 nurses 3 s", proven, len(plans), "plans", share, None)
    longest = max(plan.seconds for plan in plans)
    yield Outcome("the longest of them", longest, 3, "s", longest / 3, None)


def _gap(options: Options) -> Iterator[Outcome]:
    """40 units and 12 nurses, ten seconds: the distance to the bound on the level not closed."""
    plans = [propose(ward(seed, Size(40, 12)), 10) for seed in range(options.rounds(10))]
    gaps = [plan.gap_percent or 0.0 for plan in plans]
    middle = statistics.median(gaps)
    yield Outcome("gap, 40 units 12 nurses 10 s: median", middle, 10, "%", middle / 10, 1.0)
    yield Outcome("the largest gap of them", max(gaps), 10, "%", max(gaps) / 10, None)
    closed = statistics.median(_levels_closed(plan) for plan in plans)
    yield Outcome("levels closed of five: median", closed, 5, "levels", closed / 5, None)


def _several_wards() -> Iterator[Outcome]:
    """150 units over four wards, one after the other, five seconds each."""
    begun = perf_counter()
    sizes = (Size(40, 12), Size(40, 12), Size(40, 12), Size(30, 9))
    pairs = [_pair(ward(seed, size), 5) for seed, size in enumerate(sizes)]
    seconds = perf_counter() - begun
    yield Outcome("150 units on four wards", seconds, 30, "s", seconds / 30, 1.0)
    worse = sum(pair.made.objective > pair.listed or pair.wrong > 0 for pair in pairs)
    yield _count("of them worse than the list rule's, or wrong", worse, len(pairs))


def _stability(options: Options) -> Iterator[Outcome]:
    """The first start is ten minutes late: it and what it meets may change, nothing else."""
    more = changed = 0
    count = options.rounds(15)
    for seed in range(count):
        problem = ward(seed, Size(12, 5))
        late = delayed(problem, propose(problem, 3))
        changes = repair(late, 2).objective.changes
        changed += changes
        more += changes > 1 + met(late)
    yield _count("late starts that moved more than what they met", more, count)
    yield _shown("starts changed by a late one: mean", changed / count, 1, "starts")


def _instances() -> Iterator[Outcome]:
    """Published problems, each with its known best end."""
    for kind, listed in json.loads((INSTANCES / "optima.json").read_text("utf-8")).items():
        for name, known in listed.items():
            begun = perf_counter()
            end, is_proven = end_of(INSTANCES / kind / name)
            seconds = perf_counter() - begun
            is_right = is_proven and end == known["optimum"]
            ratio = seconds / 60 if is_right else float("inf")
            yield Outcome(f"{name}: {end} proven", seconds, 60, "s", ratio, 1.0)


def _pair(problem: Problem, seconds: float) -> Pair:
    listed = list_rule(problem)
    made = propose(problem, seconds)
    wrong = bool(faults(problem, made.starts, made.laid))
    return Pair(score(problem, listed.starts, listed.laid), made, int(wrong))


def _levels_closed(plan: Proposal) -> int:
    bounds = astuple(plan.bound) if plan.bound is not None else ()
    pairs = zip(astuple(plan.objective), bounds, strict=False)
    return next((place for place, (one, bound) in enumerate(pairs) if one > bound), len(LEVELS))


def _middle(values: Sequence[int]) -> str:
    low, _, high = statistics.quantiles(values, n=4)
    return f"{low:g}–{high:g}"


def _shown(name: str, ours: float, bare: float, unit: str) -> Outcome:
    ratio = ours / bare if bare else float(ours == 0)
    return Outcome(name, ours, bare, unit, ratio, None)


def _count(name: str, found: int, of: int) -> Outcome:
    """Something of which there may be none."""
    return Outcome(name, found, of, "plans", found / max(1, of), 0.0)
