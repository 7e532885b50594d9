"""What the ward allows at once, and what has to follow what: rows over the slots of all units.

All starts take the same time, and so do all collections, so that each limit is one row an instant.
Rows over slots give the solver a close bound, which intervals alone do not.
"""

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Final

from server.domain.plan.diary import STARTING, issue_quarter, under_way
from server.domain.plan.way import check_period, collection, end_at, start_period
from server.domain.workload.capacity import Collector
from server.domain.workload.period import Period
from server.domain.workload.task import Work
from server.planning.model import Place, WardModel
from server.planning.values import Variable, total

_MINUTE: Final = timedelta(minutes=1)

Named = Sequence[tuple[Period, Variable]]


def add_rows(model: WardModel, *, is_counted: bool = True) -> None:
    """Keep the limits of the ward and the order of the units of one patient.

    `is_counted`: nobody is named slot by slot, which would say more than how many people there are.
    """
    rules, tasks = model.problem.capacity.rules, model.problem.tasks
    starts, ways = _starts(model), _ways(model)
    if rules.most_starts is not None:
        at_most(model, starts, under_way(tasks, STARTING), rules.most_starts)
    if rules.porters is not None and rules.collected_by is Collector.PORTER:
        at_most(model, ways, under_way(tasks, frozenset({Work.COLLECT})), rules.porters)
    if rules.issues_per_quarter is not None:
        _issues(model, rules.issues_per_quarter)
    if is_counted:
        _people(model, starts)
    places = {place.unit.episode_id: place for place in model.places}
    for place in model.places:
        if place.unit.after in places:
            _sequence(model, places[place.unit.after], place)


class Spread:
    """Choices by the instant at which what they stand for begins; all of it takes as long."""

    def __init__(self, planned: Named) -> None:
        """Sort them once, so that what is under way at an instant is a cut of them."""
        self._sorted = sorted(planned, key=lambda one: one[0].from_at)
        self.begins = [period.from_at for period, _ in self._sorted]
        self._length = max((period.length for period, _ in planned), default=_MINUTE)

    def at(self, at: datetime) -> list[Variable]:
        """Answer the choices of everything that is under way at an instant."""
        first = bisect_right(self.begins, at - self._length)
        return [choice for _, choice in self._sorted[first : bisect_right(self.begins, at)]]


def at_most(model: WardModel, planned: Named, under: Sequence[Period], most: int) -> None:
    """At each instant at which something begins, no more at once than is allowed."""
    spread = Spread(planned)
    for at in sorted({*spread.begins, *(one.from_at for one in under)}):
        on = spread.at(at)
        room = max(0, most - sum(period.contains(at) for period in under))
        if len(on) > room:
            model.schedule.model.add(total(on) <= room)


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
            model.schedule.model.add(total(choices) <= most)


def _people(model: WardModel, starts: Named) -> None:
    """No more starts and checks at once than people who could do them: implied, a close bound."""
    terms = model.problem.terms
    starting = Spread(starts)
    checking = Spread([(check_period(terms, one.from_at), choice) for one, choice in starts])
    for at in sorted(set(starting.begins)):
        one = starting.at(at)
        both = [*one, *checking.at(at)] if terms.checkers > 1 else []
        for on, there in zip((one, both), model.openings.there(at), strict=True):
            if len(on) > there:
                model.schedule.model.add(total(on) <= there)
    _able(model)


def _able(model: WardModel) -> None:
    """No more units begin at an instant than people who are free for all of it: implied, too."""
    openings, two = model.openings, model.problem.terms.checkers > 1
    for at in sorted({at for place in model.places for at in place.slots}):
        begun = [place for place in model.places if at in place.slots]
        able = [openings.able(place.unit, at) for place in begun]
        anybody = set[str]().union(*able)
        checking = {who for who in openings.shifts if two and openings.checks(who, at)}
        most = len(anybody | checking) // 2 if two else len(anybody)
        slots = [place.slots[at] for place in begun]
        model.schedule.model.add(total(slots) <= min(most, len(anybody)))
        for slot, who in zip(slots, able, strict=True):
            if not who:
                model.schedule.model.add(slot == 0)


def _sequence(model: WardModel, before: Place, after: Place) -> None:
    """A unit has begun by a slot only if the one before it had begun early enough.

    Of slots with the same of those before them in time the last one says it for all.
    """
    length = end_at(before.unit, model.problem.terms, model.scale.origin) - model.scale.origin
    length += after.unit.gap
    earlier, later = sorted(before.slots), sorted(after.slots)
    in_time = [bisect_right(earlier, at - length) for at in later]
    begun = [after.slots[at] for at in later]
    for place, count in enumerate(in_time, start=1):
        if place == len(later) or in_time[place] > count:
            ended = [before.slots[one] for one in earlier[:count]]
            model.schedule.model.add(total(begun[:place]) <= total(ended))
