"""`python -m tests.benchmarks`: every ratio in one table; exit 1 if one misses what is wanted.

A study compares two ways of doing something, or gives load; it runs only where it is named.
"""

import argparse
import sys
from collections.abc import Callable, Iterator, Sequence
from typing import Final

from tests.benchmarks import (
    boards,
    planned_week,
    planning,
    rebuilding,
    replayed_week,
    reviewing,
    scheduling,
    streaming,
    ticking,
)
from tests.benchmarks.load import growth, study
from tests.benchmarks.options import Options
from tests.benchmarks.outcomes import Outcome, Report, table

BENCHMARKS: Final[dict[str, Callable[[Options], Iterator[Outcome]]]] = {
    "board": boards.run,
    "streams": streaming.run,
    "schedule": scheduling.run,
    "tick": ticking.run,
    "rebuild": rebuilding.run,
    "planning": planning.run,
    "review": reviewing.run,
}
STUDIES: Final[dict[str, Callable[[Options], Report]]] = {
    "load": study.run,
    "growth": growth.run,
    "planned_week": planned_week.run,
    "replayed_week": replayed_week.run,
}


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the benchmarks that are named, or all; 1 if one is too slow."""
    known = ", ".join((*BENCHMARKS, *STUDIES))
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks", description=__doc__)
    parser.add_argument("names", nargs="*", metavar="NAME", help=f"of {known}")
    parser.add_argument("--quick", action="store_true", help="a tenth of the work")
    given = parser.parse_args(arguments)
    unknown = [name for name in given.names if name not in {**BENCHMARKS, **STUDIES}]
    if unknown:
        parser.error(f"no benchmark {', '.join(unknown)}; expected of {known}")
    options = Options(quick=given.quick)
    reports = list(_study([name for name in given.names if name in STUDIES], options))
    named = [name for name in given.names or BENCHMARKS if name in BENCHMARKS]
    outcomes = list(_run(named, options))
    if outcomes:
        print(table(outcomes))
    missed = [one.misses for one in outcomes] + [one.misses for one in reports]
    return 1 if any(missed) else 0


def _study(names: Sequence[str], options: Options) -> Iterator[Report]:
    for name in names:
        print(f"{name} …", file=sys.stderr, flush=True)
        report = STUDIES[name](options)
        print(report.text, flush=True)
        yield report


def _run(names: Sequence[str], options: Options) -> Iterator[Outcome]:
    for name in names:
        print(f"{name} …", file=sys.stderr, flush=True)
        yield from BENCHMARKS[name](options)


if __name__ == "__main__":
    sys.exit(main())
