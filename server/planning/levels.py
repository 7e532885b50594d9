"""What the model makes small, level by level: the same worth that `score` gives a plan."""

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import datetime
from itertools import zip_longest
from typing import Final

from server.domain.plan.people import named_for
from server.domain.plan.problem import PlanUnit
from server.domain.plan.score import fair_shares
from server.domain.plan.weights import BEYOND_SHARE, NOT_THE_NAMED, weight
from server.planning.model import Place, WardModel
from server.planning.named import Named
from server.planning.values import Level, Sum, Variable, total, weighted

_NAMES: Final = ("unplaced", "urgent_late", "overload", "changes", "comfort")

Cost = Callable[[PlanUnit, datetime], int]


def slot_worths(model: WardModel) -> tuple[Sum, ...]:
    """Answer what the slots alone decide, level by level: no plan of the ward can cost less."""
    return (
        _left_out(model),
        _by_slot(model, model.worth.late),
        _overload(model),
        total(_moved(model, one) for one in model.places),
        _by_slot(model, model.worth.waiting) + _strangers(model),
    )


def named_worths(model: WardModel, named: Named) -> tuple[Sum, ...]:
    """Answer what named people and their slots cost, level by level."""
    unplaced, late, night, _, comfort = slot_worths(model)
    changed = total(named.changed(place) for place in model.places)
    return unplaced, late, night + named.overload, changed, comfort + named.beyond_share()


def add_slot_levels(model: WardModel) -> None:
    """Add what the slots alone decide, level by level."""
    least = (0, _least(model, model.worth.late), _least(model, model.worth.night), 0, 0)
    for name, worth, bound in zip(_NAMES, slot_worths(model), least, strict=True):
        model.schedule.minimise(Level(name, worth, bound))


def add_levels(model: WardModel, targets: Sequence[int | None] = ()) -> None:
    """Add the levels of `Objective` in their order, with what the slots alone cost at best."""
    worth, late, night = model.worth, model.worth.late, model.worth.night
    least = (0, _least(model, late), _least(model, night), 0, _least(model, worth.waiting))
    levels = map(Level, _NAMES, whole_worths(model), least)
    for level, target in zip_longest(levels, targets):
        model.schedule.minimise(replace(level, target=target))


def whole_worths(model: WardModel) -> tuple[Sum, ...]:
    """Answer what a plan of the whole model costs, level by level."""
    return (
        _left_out(model),
        _by_slot(model, model.worth.late),
        _overload(model),
        total(_changed(model, one) for one in model.places),
        _comfort(model),
    )


def keep_to(model: WardModel, worths: Sequence[Sum], bounds: Sequence[int | None]) -> None:
    """Keep every level to what it may come to, None: to nothing; any such plan will do."""
    for worth, bound in zip(worths, bounds, strict=True):
        if bound is not None:
            model.schedule.model.add(worth <= bound)
    model.schedule.minimise(Level("unplaced", worths[0], bounds[0] or 0))


def add_repair_levels(model: WardModel, change: int, most: int | None) -> None:
    """Add the levels of a repair: each changed start costs as much as some minutes.

    No more than `most` starts may change; None: as many as it takes.
    """
    worth = model.worth
    changes = total(_changed(model, one) for one in model.places)
    if most is not None:
        model.schedule.model.add(changes <= most)
    minutes = _by_slot(model, worth.late) + _overload(model)
    least = _least(model, worth.late) + _least(model, worth.night)
    for level in (
        Level("unplaced", _left_out(model)),
        Level("minutes", minutes + change * changes, least),
        Level("changes", changes),
        Level("comfort", _comfort(model), _least(model, worth.waiting)),
    ):
        model.schedule.minimise(level)


def _left_out(model: WardModel) -> Sum:
    return total(weight(one.unit) * one.left_out for one in model.places)


def _moved(model: WardModel, place: Place) -> Sum | int:
    """1 where a unit is checked at another instant than in the plan in force."""
    old = model.problem.accepted.get(place.unit.episode_id)
    return 0 if old is None else 1 - place.left_out - place.slots.get(old.check_at, 0)


def _by_slot(model: WardModel, cost: Cost) -> Sum:
    """What units cost by themselves at the slots that they take."""
    return weighted(
        (slot, cost(one.unit, at)) for one in model.places for at, slot in one.slots.items()
    )


def _least(model: WardModel, cost: Cost) -> int:
    """What units cost in any case, each at its best slot; nothing where one may be left out."""
    if len(model.begin) < len(model.places):
        return 0
    return sum(min(cost(one.unit, at) for at in one.slots) for one in model.places)


def _overload(model: WardModel) -> Sum:
    """Routine starts in an avoided night, and work that nobody is free for.

    A unit that is left out owes no checks, though none of its pieces is done.
    """
    missed = total(one.length * (1 - one.done) for one in model.layings)
    lengths = Counter[str]()
    for laying in model.layings:
        lengths[laying.key[0]] += laying.length
    spared = total(lengths[one.unit.episode_id] * one.left_out for one in model.places)
    return _by_slot(model, model.worth.night) + missed - spared


def _changed(model: WardModel, place: Place) -> Sum | int:
    """1 where a unit is placed otherwise than in the plan in force."""
    old = model.problem.accepted.get(place.unit.episode_id)
    if old is None:
        return 0
    kept = [place.slots.get(old.check_at), place.nurses.get(old.nurse_id)]
    if place.seconds or old.second_id is not None:
        kept.append(place.seconds.get(old.second_id or ""))
    choices = [one for one in kept if one is not None]
    if len(choices) < len(kept):
        return 1 - place.left_out
    start = model.begin.get(place.unit.episode_id)
    begun = start is not None and not model.worth.change(
        place.unit, start.check_at, start.nurse_id, start.second_id
    )
    same = model.choice(begin=begun)
    for one in choices:
        model.schedule.model.add_implication(same, one)
    return 1 - place.left_out - same


def _comfort(model: WardModel) -> Sum:
    waiting = _by_slot(model, model.worth.waiting)
    return waiting + _strangers(model) + BEYOND_SHARE * _beyond_share(model)


def _strangers(model: WardModel) -> Sum:
    """Starts by others than whose unit it is."""
    return total(
        NOT_THE_NAMED * (1 - place.left_out - total(place.nurses[who] for who in own))
        for place in model.places
        if (named := named_for(model.problem, place.unit))
        for own in [sorted(named & place.nurses.keys())]
    )


def _beyond_share(model: WardModel) -> Sum:
    """Starts beyond each nurse's share: one number for each who could have more."""
    beyond: list[Variable] = []
    for who, share in fair_shares(model.problem).items():
        starts = [one.nurses[who] for one in model.places if who in one.nurses]
        if len(starts) > share:
            begun = sum(one.nurse_id == who for one in model.begin.values())
            more = model.whole(range(len(starts) - share + 1), max(0, begun - share))
            model.schedule.model.add(more >= total(starts) - share)
            beyond.append(more)
    return total(beyond)
