"""A week of five wards acted out twice from the same seeds: first come first served, and planned.

`python -m tests.benchmarks planned_week` prints what the engine counts in both, and the difference
with its 95 % interval. Plans are made and mended by the list rule, as the board itself mends them;
searching for each of the hundred plans of a ward's week would take hours.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from random import Random
from statistics import fmean
from time import process_time
from typing import Final

from server.domain.plan.problem import Problem
from server.domain.plan.proposal import Start
from server.domain.plan.repair import repaired
from server.domain.policy import Policy
from server.policies import load_policies
from tests.benchmarks.options import Options
from tests.benchmarks.outcomes import Report
from tests.benchmarks.week.by_plan import ByPlan
from tests.benchmarks.week.by_turn import ByTurn
from tests.benchmarks.week.demand import requests_of
from tests.benchmarks.week.measured import FIGURES, measured
from tests.benchmarks.week.people import Turn, turns_of
from tests.benchmarks.week.unit import Unit
from tests.benchmarks.week.ward import Calling, Ward

SEEDS: Final = 30
LONGEST_SECONDS: Final = 480.0
"""No other seed is begun after so much of the processor's time."""

RESAMPLES: Final = 10_000


@dataclass(frozen=True, slots=True)
class Kind:
    """A ward: orders a day, nurses who give units by day and by night."""

    orders_a_day: int
    nurses: tuple[int, int]


WARDS: Final = (
    Kind(6, (3, 2)),
    Kind(8, (4, 2)),
    Kind(10, (4, 3)),
    Kind(12, (5, 3)),
    Kind(14, (5, 3)),
)

Week = Mapping[str, float]


def run(options: Options) -> Report:
    """Answer the table."""
    policy, begun = load_policies()["common"], process_time()
    pairs: list[tuple[Week, Week]] = []
    units = 0
    for seed in range(1, (3 if options.quick else SEEDS) + 1):
        if process_time() - begun > LONGEST_SECONDS:
            break
        first, count = _week(policy, seed, planned=False)
        pairs.append((first, _week(policy, seed, planned=True)[0]))
        units += count
    took = process_time() - begun
    head = f"{len(pairs)} seeds, {units} units, {took:.0f} s of the processor"
    return Report("\n".join([head, *_table(pairs)]))


def _week(policy: Policy, seed: int, *, planned: bool) -> tuple[Week, int]:
    wards: list[tuple[list[Turn], list[Unit]]] = []
    for number, kind in enumerate(WARDS):
        calling: Calling = ByPlan(policy, _mended) if planned else ByTurn()
        turns = turns_of(seed, number, kind.nurses)
        requests = requests_of(seed, number, kind.orders_a_day)
        wards.append((turns, Ward(seed, policy, turns, requests, calling).act_out()))
    return measured(wards), sum(len(units) for _, units in wards)


def _mended(problem: Problem) -> tuple[Start, ...]:
    return repaired(problem).starts


def _table(pairs: list[tuple[Week, Week]]) -> list[str]:
    rows = [("a week of five wards", "by turn", "planned", "difference", "95 % interval")]
    for name in FIGURES:
        turn, plan = (fmean(pair[place][name] for pair in pairs) for place in (0, 1))
        differences = [after[name] - before[name] for before, after in pairs]
        low, high = interval(differences)
        figures = (
            f"{turn:.1f}",
            f"{plan:.1f}",
            f"{plan - turn:+.1f}",
            f"{low:+.1f} to {high:+.1f}",
        )
        rows.append((name, *figures))
    widths = [max(len(row[place]) for row in rows) for place in range(len(rows[0]))]
    return ["  ".join(_cells(row, widths)) for row in rows]


def interval(differences: list[float]) -> tuple[float, float]:
    """Answer the 95 % interval of the mean of paired differences, by resampling the seeds."""
    chosen = Random(1)  # noqa: S311 - resampling, not a secret
    size = len(differences)
    means = sorted(fmean(chosen.choices(differences, k=size)) for _ in range(RESAMPLES))
    return means[RESAMPLES // 40], means[-RESAMPLES // 40 - 1]


def _cells(row: tuple[str, ...], widths: list[int]) -> list[str]:
    name, *figures = row
    right = [figure.rjust(width) for figure, width in zip(figures, widths[1:], strict=True)]
    return [name.ljust(widths[0]), *right]
