"""Exhaustive search over tiny wards: every slot, every two people, every place of every check.

It shares nothing with the planners but the values and the worth of a finished plan, which it works
out itself from them; the checker says which plans are allowed.
"""

from collections.abc import Iterator
from datetime import datetime, timedelta
from itertools import product

from server.domain.plan.problem import PlanUnit, Problem
from server.domain.plan.proposal import Start
from server.domain.workload.task import Work
from tests.planning.checker import Checker

Worth = tuple[int, int, int, int, int]
WEIGHTS = {"emergency": 10, "urgent": 3, "routine": 1}


def best_worth(problem: Problem) -> Worth:
    """The least worth of any plan of a tiny ward."""
    options = [list(_options(problem, unit)) for unit in problem.units]
    return min(
        worth
        for picked in product(*options)
        if not Checker(problem, starts := [one for one in picked if one]).faults()
        for worth in [_best_of(problem, starts)]
    )


def _options(problem: Problem, unit: PlanUnit) -> Iterator[Start | None]:
    """Every start of one unit that is allowed by itself, with no check laid; or none."""
    yield None
    at = problem.from_at
    people = sorted({one.staff_id for one in problem.capacity.on_duty})
    while at < problem.until_at:
        for nurse, second in product(people, people):
            start = _start(problem, unit, at, nurse, second)
            checker = Checker(problem, [start])
            alone = [*checker._of_one(unit, start), *checker._people(unit, start)]
            if not alone:
                yield start
        at += problem.terms.grid


def _start(problem: Problem, unit: PlanUnit, at: datetime, nurse: str, second: str) -> Start:
    terms = problem.terms
    begun = at + terms.check
    called = None if unit.is_issued else at - terms.collect
    end = begun + unit.runs
    return Start(unit.episode_id, called, at, begun, begun, end, nurse, second)


def _best_of(problem: Problem, starts: list[Start]) -> Worth:
    """The worth with checks laid as well as can be; people lay theirs apart from each other."""
    unfilled = 0
    for who in sorted({start.nurse_id for start in starts}):
        mine = [start for start in starts if start.nurse_id == who]
        owed = [(start, *one) for start in mine for one in _owed(problem, start)]
        unfilled += _least_missed(problem, starts, owed)
    return _worth(problem, starts, unfilled)


def _owed(problem: Problem, start: Start) -> Iterator[tuple[Work, int, list[datetime], timedelta]]:
    """The work after a start: which, where it may lie along the grid, and how long."""
    unit = next(one for one in problem.units if one.episode_id == start.episode_id)
    terms = problem.terms
    for check in unit.checks:
        earliest = max(check.earliest, terms.watch)
        steps = range(-50, 51)
        places = [check.due + step * terms.grid for step in steps]
        inside = [start.start_at + one for one in places if earliest <= one <= check.latest]
        if check.latest >= terms.watch and terms.lengths.get(check.work):
            yield check.work, check.n, inside, terms.lengths[check.work]
    if terms.lengths.get(Work.FINISH):
        end = start.start_at + max(unit.runs, terms.watch)
        yield Work.FINISH, 1, [end], terms.lengths[Work.FINISH]


def _least_missed(
    problem: Problem,
    starts: list[Start],
    owed: list[tuple[Start, Work, int, list[datetime], timedelta]],
) -> int:
    """The fewest minutes that one person misses, piece by piece, each at each place or missed."""
    busy = [span for who, span, _ in Checker(problem, starts)._busy() if who == owed[0][0].nurse_id]
    checker = Checker(problem, starts)

    def missed(place: int, taken: list[tuple[float, float]], best: float) -> float:
        if best <= 0 or place == len(owed):
            return 0
        _, _, _, places, length = owed[place]
        found = best
        for at in places:
            span = checker._span(at, length)
            if all(span[1] <= one[0] or one[1] <= span[0] for one in taken):
                found = min(found, missed(place + 1, [*taken, span], found))
                if found == 0:
                    return 0
        minutes = length / timedelta(minutes=1)
        return min(found, minutes + missed(place + 1, taken, found - minutes))

    return int(missed(0, busy, 1e9)) if owed else 0


def _worth(problem: Problem, starts: list[Start], unfilled: int) -> Worth:
    units = {unit.episode_id: unit for unit in problem.units}
    pairs = [(units[start.episode_id], start) for start in starts]
    left_out = units.keys() - {start.episode_id for start in starts}
    able = [(unit, start) for unit, start in pairs if _may_wait(unit)]
    waiting = sum(_minutes(start.start_at - _at_best(problem, unit)) for unit, start in able)
    strangers = sum(unit.nurse_id not in {None, start.nurse_id} for unit, start in pairs)
    nights = sum(
        one.from_at <= start.start_at < one.until_at
        for _, start in able
        for one in problem.capacity.rules.nights
        if problem.capacity.rules.night_rule == "avoided"
    )
    return (
        sum(_weight(units[one]) for one in left_out),
        sum(_late(problem, unit, start) for unit, start in pairs),
        unfilled + 60 * nights,
        sum(_is_changed(problem, start) for start in starts),
        waiting + 15 * strangers + 20 * _beyond(problem, starts),
    )


def _late(problem: Problem, unit: PlanUnit, start: Start) -> int:
    at_best, longest = _at_best(problem, unit), problem.terms.longest_wait
    dues = [unit.wanted_by or at_best]
    if _may_wait(unit):
        dues = [one for one in (unit.wanted_by, longest and at_best + longest) if one]
    return _weight(unit) * _minutes(start.start_at - min(dues, default=start.start_at))


def _is_changed(problem: Problem, start: Start) -> bool:
    old = problem.accepted.get(start.episode_id)
    now = (start.check_at, start.nurse_id, start.second_id)
    return old is not None and (old.check_at, old.nurse_id, old.second_id) != now


def _beyond(problem: Problem, starts: list[Start]) -> int:
    """Starts beyond each person's share by minutes on duty, rounded up."""
    minutes: dict[str, int] = {}
    for one in problem.capacity.on_duty:
        if one.may_start:
            begin = max(one.period.from_at, problem.from_at)
            end = min(one.period.until_at, problem.until_at)
            minutes[one.staff_id] = minutes.get(one.staff_id, 0) + _minutes(end - begin)
    total = max(1, sum(minutes.values()))
    shares = {who: -(-len(problem.units) * one // total) for who, one in minutes.items()}
    counts = {who: sum(start.nurse_id == who for start in starts) for who in minutes}
    return sum(max(0, counts[who] - shares[who]) for who in minutes)


def _at_best(problem: Problem, unit: PlanUnit) -> datetime:
    """When its blood could run at the earliest, alone on the ward."""
    terms = problem.terms
    there = unit.ready_at
    if not unit.is_issued:
        there = max(unit.ready_at, problem.capacity.as_of) + terms.collect
    first = max(there, problem.from_at)
    before = next((one for one in problem.units if one.episode_id == unit.after), None)
    if unit.free_at is not None:
        first = max(first, unit.free_at + unit.gap)
    if before is not None:
        first = max(first, _at_best(problem, before) + before.runs + unit.gap)
    grid = terms.grid.total_seconds()
    over = (first.timestamp() % 3600) % grid
    return first + timedelta(seconds=grid - over if over else 0) + terms.check


def _may_wait(unit: PlanUnit) -> bool:
    return unit.priority == "routine" and not unit.at_once and not unit.is_issued


def _weight(unit: PlanUnit) -> int:
    return max(WEIGHTS[unit.priority], 1 if _may_wait(unit) else 3)


def _minutes(length: timedelta) -> int:
    return max(0, length // timedelta(minutes=1))
