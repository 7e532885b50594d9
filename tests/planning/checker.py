"""An independent checker of plans: reads the values alone and knows nothing of how they are made.

It says every rule anew, in whole seconds from the begin of the plan.
"""

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta

from server.domain.plan.problem import PlanUnit, Problem
from server.domain.plan.proposal import LaidTask, Start

Span = tuple[float, float]


class Checker:
    """Checks one plan of one problem."""

    def __init__(
        self, problem: Problem, starts: Sequence[Start], laid: Sequence[LaidTask] = ()
    ) -> None:
        """Take the plan as it was answered."""
        self.problem, self.starts, self.laid = problem, starts, laid
        self.units = {unit.episode_id: unit for unit in problem.units}
        self.terms, self.rules = problem.terms, problem.capacity.rules

    def faults(self) -> list[str]:
        """Everything that is wrong, in words; empty for a good plan."""
        ids = [start.episode_id for start in self.starts]
        found = [f"{one}: planned twice or unknown" for one in ids if ids.count(one) > 1]
        for start in self.starts:
            unit = self.units[start.episode_id]
            found += [f"{unit.episode_id}: {words}" for words in self._of_one(unit, start)]
            found += [f"{unit.episode_id}: {words}" for words in self._people(unit, start)]
            found += [f"{unit.episode_id}: {words}" for words in self._checks(unit, start)]
        return [*found, *self._sequence(), *self._double_booked(), *self._crowded(), *self._tasks()]

    def _of_one(self, unit: PlanUnit, start: Start) -> Iterator[str]:
        terms, at = self.terms, start.check_at
        follows = (at + terms.check, at + terms.check + unit.runs)
        begin = self._span(at, terms.check + terms.watch)
        shut = (*self.rules.handovers, *unit.forbidden)
        wrong = {
            "off the grid, or not where it was fixed": not self._is_on_place(unit, at),
            "outside the plan": not self.problem.from_at <= at < self.problem.until_at,
            "its instants do not follow": (start.start_at, start.projected_end_at) != follows,
            "expired": unit.done_by is not None and follows[1] > unit.done_by,
            "too early after what runs": unit.free_at is not None and at < unit.free_at + unit.gap,
            "in a handover, or when it is not wanted": any(
                _meet(begin, self._between(one.from_at, one.until_at)) for one in shut
            ),
            "at night": self._is_refused(unit, start.start_at),
        }
        yield from (words for words, is_so in wrong.items() if is_so)
        yield from self._issued(unit, start) if unit.is_issued else self._stored(unit, start)

    def _is_on_place(self, unit: PlanUnit, at: datetime) -> bool:
        if unit.pin.check_at is not None:
            return at == unit.pin.check_at
        return at.timestamp() % 3600 % self.terms.grid.total_seconds() == 0

    def _is_refused(self, unit: PlanUnit, begun: datetime) -> bool:
        may_wait = unit.priority == "routine" and not unit.at_once and not unit.is_issued
        inside = any(night.from_at <= begun < night.until_at for night in self.rules.nights)
        return self.rules.night_rule == "refused" and may_wait and inside

    def _issued(self, unit: PlanUnit, start: Start) -> Iterator[str]:
        if start.call_at is not None or start.check_at < unit.ready_at:
            yield "called for though issued, or checked before it is there"
        if unit.check_by is not None and start.check_at > unit.check_by:
            yield "checked too late"

    def _stored(self, unit: PlanUnit, start: Start) -> Iterator[str]:
        called, out = start.check_at - self.terms.collect, start.check_at - self.terms.carried
        is_early = called < max(unit.ready_at, self.problem.capacity.as_of)
        if start.call_at != called or (is_early and called != unit.called_at):
            yield "called too early"
        if start.start_at - out > self.terms.start_within:
            yield "start limit"
        if start.projected_end_at - out > unit.finish_within:
            yield "finish limit"

    def _people(self, unit: PlanUnit, start: Start) -> Iterator[str]:
        pin = unit.pin
        if pin.nurse_id not in {None, start.nurse_id}:
            yield "another nurse was fixed"
        if pin.second_id is not None and pin.second_id != start.second_id:
            yield "another second person was fixed"
        begin = self._begin(unit, start)
        if not self._is_there(start.nurse_id, begin, "may_start", unit.needs):
            yield f"{start.nurse_id} cannot start it"
        if (start.second_id is None) != (self.terms.checkers == 1):
            yield "the wrong number of checkers"
        if start.second_id is not None:
            check = self._span(start.check_at, self.terms.check)
            if not self._is_there(start.second_id, check, "may_second", frozenset()):
                yield f"{start.second_id} cannot check it"
        if start.second_id == start.nurse_id:
            yield "checked by one person twice"

    def _begin(self, unit: PlanUnit, start: Start) -> Span:
        """What keeps its nurse at it, fetching included where nurses fetch."""
        begin, end = self._span(start.check_at, self.terms.check + self.terms.watch)
        fetched = self.rules.collected_by == "nurse" and not unit.is_issued
        return begin - fetched * self.terms.collect.total_seconds(), end

    def _is_there(self, who: str, need: Span, skill: str, needs: frozenset[str]) -> bool:
        for one in self.problem.capacity.on_duty:
            shift = self._between(one.period.from_at, one.period.until_at)
            gone = [*one.breaks, *(duty.period for duty in one.duties)]
            fits = shift[0] <= need[0] and need[1] <= shift[1]
            free = not any(_meet(need, self._between(p.from_at, p.until_at)) for p in gone)
            able = getattr(one, skill) and needs <= one.skills
            if one.staff_id == who and fits and free and able:
                return True
        return False

    def _checks(self, unit: PlanUnit, start: Start) -> Iterator[str]:
        windows = {(one.work, one.n): (one.earliest, one.latest) for one in unit.checks}
        for one in start.checks:
            after = one.at - start.start_at
            if one.work == "finish":
                if after != max(unit.runs, self.terms.watch):
                    yield "taken down at another instant than its end"
                continue
            earliest, latest = windows[one.work, one.n]
            if not max(earliest, self.terms.watch) <= after <= latest:
                yield f"{one.work} {one.n} outside its window"

    def _sequence(self) -> Iterator[str]:
        planned = {start.episode_id: start for start in self.starts}
        for start in self.starts:
            unit = self.units[start.episode_id]
            if unit.after not in self.units:
                if unit.after is not None and unit.free_at is None:
                    yield f"{unit.episode_id}: nobody knows when the one before is over"
                continue
            before = planned.get(unit.after)
            if before is None or start.check_at < before.projected_end_at + unit.gap:
                yield f"{unit.episode_id}: before the one it follows"

    def _busy(self) -> Iterator[tuple[str, Span, bool]]:
        """Who is busy when, and whether the plan made it so."""
        yield from self._planned_work()
        for task in self.problem.tasks:
            if task.earliest == task.latest and task.staff_id is not None:
                yield task.staff_id, self._span(task.at, task.length), False
        for person in self.problem.capacity.on_duty:
            for away in (*person.breaks, *(duty.period for duty in person.duties)):
                yield person.staff_id, self._between(away.from_at, away.until_at), False

    def _planned_work(self) -> Iterator[tuple[str, Span, bool]]:
        for start in self.starts:
            yield start.nurse_id, self._begin(self.units[start.episode_id], start), True
            if start.second_id is not None:
                yield start.second_id, self._span(start.check_at, self.terms.check), True
            for one in start.checks:
                yield start.nurse_id, self._span(one.at, self.terms.lengths[one.work]), True
        owners = {(t.episode_id, t.work, t.n): (t.staff_id, t.length) for t in self.problem.tasks}
        for laid in self.laid:
            who, length = owners[laid.episode_id, laid.work, laid.n]
            yield who or "", self._span(laid.at, length), True

    def _double_booked(self) -> Iterator[str]:
        busy = list(self._busy())
        for place, (who, span, planned) in enumerate(busy):
            for other, other_span, other_planned in busy[place + 1 :]:
                if who == other and (planned or other_planned) and _meet(span, other_span):
                    yield f"{who}: two things at once, {span} and {other_span}"

    def _crowded(self) -> Iterator[str]:
        terms, tasks = self.terms, self.problem.tasks
        begun = [
            self._span(t.at, t.length) for t in tasks if t.work in {"check_and_start", "watch"}
        ]
        starts = [self._span(one.check_at, terms.check + terms.watch) for one in self.starts]
        yield from _too_many("starts", starts, begun, self.rules.most_starts)
        called = [one for one in self.starts if not self.units[one.episode_id].is_issued]
        ways = [self._span(one.check_at - terms.collect, terms.collect) for one in called]
        if self.rules.collected_by == "porter":
            under = [self._span(task.at, task.length) for task in tasks if task.work == "collect"]
            yield from _too_many("collections", ways, under, self.rules.porters)
        quarters = [(one.check_at - terms.carried).timestamp() // 900 for one in called]
        most = self.rules.issues_per_quarter
        if most is not None and any(quarters.count(one) > most for one in quarters):
            yield "too many units from the blood bank in a quarter of an hour"

    def _tasks(self) -> Iterator[str]:
        windows = {(t.episode_id, t.work, t.n): (t.earliest, t.latest) for t in self.problem.tasks}
        for one in self.laid:
            earliest, latest = windows[one.episode_id, one.work, one.n]
            if not earliest <= one.at <= latest:
                yield f"{one.episode_id}: {one.work} outside its window"

    def _span(self, begin: datetime, length: timedelta) -> Span:
        first = (begin - self.problem.from_at).total_seconds()
        return first, first + length.total_seconds()

    def _between(self, begin: datetime, end: datetime) -> Span:
        return self._span(begin, end - begin)


def faults(problem: Problem, starts: Sequence[Start], laid: Sequence[LaidTask] = ()) -> list[str]:
    """Everything that is wrong with a plan."""
    return Checker(problem, starts, laid).faults()


def _meet(one: Span, other: Span) -> bool:
    return one[0] < other[1] and other[0] < one[1]


def _too_many(
    what: str, planned: Sequence[Span], under: Sequence[Span], most: int | None
) -> Iterator[str]:
    every = [*planned, *under]
    for at, _ in every:
        on = [one for one in planned if one[0] <= at < one[1]]
        others = [one for one in under if one[0] <= at < one[1]]
        if most is not None and on and len(on) + len(others) > most:
            yield f"{len(on) + len(others)} {what} at once"
