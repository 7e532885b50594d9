"""The tick: what it costs when nothing is due and when something is, and who pays for the past."""

from collections.abc import Callable, Iterator
from functools import partial
from itertools import cycle
from pathlib import Path
from tempfile import TemporaryDirectory
from time import process_time
from typing import Final, NamedTuple

from server.domain.clock import SECOND
from server.domain.policy import Policy
from server.policies import load_policies
from server.services.tick import tick
from tests.benchmarks import raw_tick
from tests.benchmarks.options import Options
from tests.benchmarks.outcomes import Outcome
from tests.benchmarks.ticking_ground import NOW, Ground, prepare
from tests.benchmarks.turns import Pair, by_turns, cpu_us, pair_of, wall_us

WITHIN: Final = 2.0
GROWING: Final = 1.2


def run(options: Options) -> Iterator[Outcome]:
    """Ticks over 20,000 open and 200,000 closed clocks, and over 20,000 closed ones."""
    with TemporaryDirectory() as folder:
        ground = prepare(Path(folder), options)
        try:
            still_open, many, few = ground.counted
            of = f"{still_open:,} open and {many:,} closed clocks"
            yield from _idle(ground, options, of, f"{few:,} closed")
            yield from _due(ground, options)
        finally:
            ground.close()


def _idle(ground: Ground, options: Options, of: str, against: str) -> Iterator[Outcome]:
    """Nothing is due: one question, and a note that it was asked."""
    times = options.times(60)
    # The same note twice would not be written twice: each has to say another second.
    seconds = cycle((NOW - SECOND, NOW))

    def ours() -> None:
        tick(ground.many, now=next(seconds))

    def fewer() -> None:
        tick(ground.few, now=next(seconds))

    def bare() -> None:
        raw_tick.tick(ground.raw, next(seconds), {})

    measured = by_turns(
        options.rounds(25), lambda: cpu_us(ours, times), lambda: cpu_us(bare, times)
    )
    yield _outcome(f"tick of {of}, nothing due", measured, "µs CPU", WITHIN)
    measured = by_turns(options.rounds(9), lambda: wall_us(ours, 20), lambda: wall_us(bare, 20))
    yield _outcome("the same by the clock on the wall, with its commit", measured, "µs", None)
    measured = by_turns(
        options.rounds(25), lambda: cpu_us(ours, times), lambda: cpu_us(fewer, times)
    )
    yield _outcome(f"the same, against {against}", measured, "µs CPU", GROWING)


class Cost(NamedTuple):
    """What one tick with something due cost, in µs: the product's and the bare parts'."""

    due: int
    ours: float
    fewer: float
    raw: float
    worked_out: float


def _due(ground: Ground, options: Options) -> Iterator[Outcome]:
    """Something is due: the facts of those units are read, worked out and stored."""
    policy = load_policies()["common"]
    costs = [_one_tick(ground, policy, number) for number in range(options.rounds(40))]
    due = sum(cost.due for cost in costs) / len(costs)
    name = f"tick with {due:.0f} units due"
    pair = pair_of([(cost.ours, cost.worked_out) for cost in costs])
    yield _outcome(f"{name}, against plain SQL and the domain", pair, "µs CPU", WITHIN)
    pair = pair_of([(cost.ours, cost.fewer) for cost in costs])
    yield _outcome(f"{name}, against a tenth of the closed clocks", pair, "µs CPU", GROWING)
    pair = pair_of([(cost.ours, cost.raw) for cost in costs])
    yield _outcome(f"{name}, against plain SQL that works nothing out", pair, "µs CPU", None)


def _one_tick(ground: Ground, policy: Policy, number: int) -> Cost:
    """The same tick everywhere; plain SQL is handed the rows that ours has written."""
    now = ground.next_change()
    ids = ground.due(now)
    stores = [ground.many, ground.few]
    spent = [_cpu(partial(tick, store, now=now)) for store in stores[:: -1 if number % 2 else 1]]
    ours, fewer = spent[:: -1 if number % 2 else 1]
    rows = ground.rows_of(ids)
    worked_out = _cpu(lambda: raw_tick.tick_and_work_out(ground.raw_worked_out, now, rows, policy))
    raw = _cpu(lambda: raw_tick.tick(ground.raw, now, rows))
    return Cost(len(ids), ours, fewer, raw, worked_out)


def _cpu(act: Callable[[], object]) -> float:
    begun = process_time()
    act()
    return (process_time() - begun) * 1e6


def _outcome(name: str, pair: Pair, unit: str, wanted: float | None) -> Outcome:
    return Outcome(name, pair.ours, pair.bare, unit, pair.ratio, wanted)
