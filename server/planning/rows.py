"""What the ward allows at once, and what has to follow what: rows over the slots of all units.

All starts take the same time, and so do all collections, so that each limit is one row an instant.
Rows over slots give the solver a close bound, which intervals alone do not.
"""

from collections import defaultdict
from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Final

from server.domain.plan.diary import STARTING, Diary, issue_quarter, under_way
from server.domain.plan.way import check_period, collection, end_at, start_period
from server.domain.workload.capacity import Collector, OnDuty
from server.domain.workload.period import Period
from server.domain.workload.task import Work
from server.planning.model import Place, WardModel
from server.planning.values import Variable

_MINUTE: Final = timedelta(minutes=1)

Named = Sequence[tuple[Period, Variable]]


def add_rows(model: WardModel) -> None:
    """Keep the limits of the ward and the order of the units of one patient."""
    rules, tasks = model.problem.capacity.rules, model.problem.tasks
    starts, ways = _starts(model), _ways(model)
    if rules.most_starts is not None:
        at_most(model, starts, under_way(tasks, STARTING), rules.most_starts)
    if rules.porters is not None and rules.collected_by is Collector.PORTER:
        at_most(model, ways, under_way(tasks, frozenset({Work.COLLECT})), rules.porters)
    if rules.issues_per_quarter is not None:
        _issues(model, rules.issues_per_quarter)
    _people(model, starts)
    places = {place.unit.episode_id: place for place in model.places}
    for place in model.places:
        if place.unit.after in places:
            _sequence(model, places[place.unit.after], place)


def at_most(model: WardModel, planned: Named, under: Sequence[Period], most: int) -> None:
    """At each instant at which something begins, no more at once than is allowed."""
    begins = {one.from_at for one, _ in planned} | {one.from_at for one in under}
    for at in sorted(begins):
        on = [choice for period, choice in planned if period.contains(at)]
        room = max(0, most - sum(period.contains(at) for period in under))
        if len(on) > room:
            model.schedule.model.add(sum(on) <= room)


def _starts(model: WardModel) -> Named:
    terms = model.problem.terms
    return [
        (start_period(terms, at), choice)
        for place in model.places
        for at, choice in place.slots.items()
    ]


def _ways(model: WardModel) -> Named:
    return [
        (way, choice)
        for place in model.places
        for at, choice in place.slots.items()
        if (way := collection(place.unit, model.problem.terms, at)) is not None
    ]


def _issues(model: WardModel, most: int) -> None:
    quarters: defaultdict[datetime, list[Variable]] = defaultdict(list)
    for way, choice in _ways(model):
        quarters[issue_quarter(way.until_at - model.problem.terms.carried)].append(choice)
    for choices in quarters.values():
        if len(choices) > most:
            model.schedule.model.add(sum(choices) <= most)


def _people(model: WardModel, starts: Named) -> None:
    """No more starts and checks at once than people who could do them: implied, a close bound."""
    terms, people = model.problem.terms, Counting(model)
    checks = [(check_period(terms, period.from_at), choice) for period, choice in starts]
    for at in sorted({period.from_at for period, _ in starts}):
        starting = [choice for period, choice in starts if period.contains(at)]
        checking = [choice for period, choice in checks if period.contains(at)]
        both = [*starting, *checking] if terms.checkers > 1 else []
        for on, there in ((starting, people.starters(at)), (both, people.anybody(at))):
            if len(on) > there:
                model.schedule.model.add(sum(on) <= there)


class Counting:
    """How many people are there for something that begins at an instant."""

    def __init__(self, model: WardModel) -> None:
        """Take them from the ward of a model."""
        self._people = model.problem.capacity.on_duty
        self._diary = Diary(model.problem)

    def starters(self, at: datetime) -> int:
        """Who could be starting a unit then."""
        return self._count(at, [one for one in self._people if one.may_start])

    def anybody(self, at: datetime) -> int:
        """Who could be starting or checking one."""
        return self._count(at, [one for one in self._people if one.may_start or one.may_second])

    def _count(self, at: datetime, people: Sequence[OnDuty]) -> int:
        instant = Period(at, at + _MINUTE)
        on_duty = {one.staff_id for one in people if one.period.contains(at)}
        return sum(self._diary.is_free(who, instant) for who in on_duty)


def _sequence(model: WardModel, before: Place, after: Place) -> None:
    """A unit has begun by a slot only if the one before it had begun early enough."""
    length = end_at(before.unit, model.problem.terms, model.scale.origin) - model.scale.origin
    length += after.unit.gap
    for at in after.slots:
        begun = [choice for one, choice in after.slots.items() if one <= at]
        earlier = [choice for one, choice in before.slots.items() if one + length <= at]
        model.schedule.model.add(sum(begun) <= sum(earlier))
