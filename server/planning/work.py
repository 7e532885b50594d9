"""The work of people in the model: starts, second checks and pieces, one at a time for each."""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from datetime import datetime, timedelta
from typing import Final

from server.domain.plan.laying import Piece, task_pieces
from server.domain.plan.way import FollowUp, follow_ups, nurse_period
from server.domain.workload.period import Period
from server.planning.model import Laying, Place, WardModel
from server.planning.scale import Scale, longest
from server.planning.values import Sum, Task, Variable, total

_MINUTE: Final = timedelta(minutes=1)

Busy = defaultdict[str, list[Task]]


def add_work(model: WardModel) -> None:
    """Let nobody do two things at once."""
    busy: Busy = defaultdict(list)
    for place in model.places:
        _starts(model, place, busy)
        _seconds(model, place, busy)
        if model.is_whole:
            for owed in follow_ups(place.unit, model.problem.terms):
                _follow_up(model, place, owed, busy)
    for piece in task_pieces(model.problem):
        _task(model, piece, busy)
    for who, tasks in sorted(busy.items()):
        model.schedule.one_at_a_time([*tasks, *_fixed(model, who)])


def _starts(model: WardModel, place: Place, busy: Busy) -> None:
    """From the call on where nurses collect, otherwise from the check on."""
    origin = model.scale.origin
    whole = nurse_period(model.problem, place.unit, origin)
    before = longest(origin - whole.from_at)
    length = longest(whole.length)
    for who, choice in place.nurses.items():
        busy[who].append(model.schedule.task(place.at - before, length, choice))


def _seconds(model: WardModel, place: Place, busy: Busy) -> None:
    length = longest(model.problem.terms.check)
    for who, choice in place.seconds.items():
        busy[who].append(model.schedule.task(place.at, length, choice))


def _follow_up(model: WardModel, place: Place, owed: FollowUp, busy: Busy) -> None:
    """By the nurse who started the unit, at one of its places, or by nobody."""
    key = (place.unit.episode_id, owed.work, owed.n)
    start, laid = model.begin.get(place.unit.episode_id), model.laid_at_begin.get(key)
    who_laid = start.nurse_id if laid is not None and start is not None else None
    at, length = _at(model, place, owed, laid), longest(owed.length)
    parts = place.nurses if model.is_filled else _parts(model, place, who_laid)
    for who, part in parts.items():
        busy[who].append(model.schedule.task(at, length, part))
    model.layings.append(Laying(key, total(parts.values()), at, length))


def _parts(model: WardModel, place: Place, who_laid: str | None) -> dict[str, Variable]:
    """By each nurse who might start the unit a choice to do the work that follows."""
    parts: dict[str, Variable] = {}
    for who, choice in place.nurses.items():
        parts[who] = model.choice(begin=who == who_laid)
        model.schedule.model.add_implication(parts[who], choice)
    return parts


def _at(model: WardModel, place: Place, owed: FollowUp, laid: datetime | None) -> Sum:
    """The minute at which it begins: one place only is no choice of its own."""
    offsets = [offset // _MINUTE for offset in owed.offsets]
    if len(offsets) == 1:
        return place.at + offsets[0]
    minutes = [model.scale.floor(at) for at in place.slots]
    begin = model.schedule.hinted(place.at) + offsets[0]
    at = model.whole(
        {minute + offset for minute in minutes or [0] for offset in offsets},
        begin if laid is None else model.scale.floor(laid),
    )
    model.schedule.among(at - place.at, offsets)
    return at


def _task(model: WardModel, piece: Piece, busy: Busy) -> None:
    """By the one who has the unit that is under way."""
    laid = model.laid_at_begin.get(piece.key)
    minutes = [model.scale.floor(at) for at in piece.places]
    done = model.choice(begin=laid is not None)
    at = model.whole(minutes, minutes[0] if laid is None else model.scale.floor(laid))
    length = longest(piece.length)
    busy[piece.staff_id].append(model.schedule.task(at, length, done))
    model.layings.append(Laying(piece.key, done, at, length))


def _fixed(model: WardModel, who: str) -> Iterator[Task]:
    """Breaks, duties and locked work, each stretch once."""
    away = [one for shift in model.openings.shifts[who] for one in shift.away]
    locked = [
        task.period for task in model.problem.tasks if task.is_locked and task.staff_id == who
    ]
    for from_at, until_at in merged(model.scale, [*away, *locked]):
        yield model.schedule.task(from_at, until_at - from_at)


def merged(scale: Scale, periods: Iterable[Period]) -> list[tuple[int, int]]:
    """Answer the minutes that some periods touch, as stretches that do not touch each other."""
    found: list[tuple[int, int]] = []
    for period in sorted(periods):
        from_at, until_at = scale.floor(period.from_at), scale.ceil(period.until_at)
        if found and from_at <= found[-1][1]:
            found[-1] = (found[-1][0], max(found[-1][1], until_at))
        else:
            found.append((from_at, until_at))
    return found
