"""The bare part of the schedule: the least that gives the same clocks of a unit of red cells.

Written by hand for speed: one pass, one state, no refusals, nothing for screens, other
components or the flow, and only what the shipped policies ask of a single unit.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from operator import attrgetter
from typing import Any, Final

from server.domain.events import Event
from server.domain.policy import Policy
from server.domain.words import Component, Kind

SECOND: Final = timedelta(seconds=1)
_ORDER: Final = attrgetter("happened_at", "recorded_at", "position")

Item = tuple[Any, ...]
"""Name, n, opens, due, limit, met, lapsed, over."""


@dataclass(slots=True)
class State:
    """What the clocks need to know of a unit."""

    issued: datetime | None = None
    removed: datetime | None = None
    started: datetime | None = None
    ended: datetime | None = None
    fate: datetime | None = None
    hung: list[datetime] = field(default_factory=list)
    sets: list[datetime] = field(default_factory=list)


def minimal_items(events: Iterable[Event], policy: Policy) -> list[Item]:
    """The clocks of a unit of red cells from its events in any order."""
    listed = list(events)
    voided = {event.payload.event_id for event in listed if event.kind is Kind.VOIDED}  # type: ignore[union-attr]
    live = [event for event in listed if event.id not in voided] if voided else listed
    live.sort(key=_ORDER)
    return _items(_fold(live), policy)


def _fold(events: list[Event]) -> State:  # noqa: C901 - one loop is the quickest
    state = State()
    for event in events:
        payload: Any = event.payload
        match event.kind:
            case Kind.OBSERVED:
                if (
                    payload.temperature_c is not None
                    and payload.pulse_per_min is not None
                    and payload.respirations_per_min is not None
                    and payload.systolic_mmhg is not None
                    and payload.diastolic_mmhg is not None
                ):
                    state.sets.append(event.happened_at)
            case Kind.ISSUED:
                state.issued = event.happened_at
                state.removed = payload.removed_at or event.happened_at
            case Kind.SET_HUNG | Kind.SET_CHANGED:
                state.hung.append(event.happened_at)
            case Kind.STARTED:
                state.started = event.happened_at
            case Kind.STOPPED | Kind.COMPLETED:
                state.ended = event.happened_at
            case Kind.FATE:
                state.fate = event.happened_at
    return state


def _items(state: State, policy: Policy) -> list[Item]:
    items: list[Item] = []
    if state.issued is None or state.removed is None:
        return items
    start, ended = state.started, state.ended
    limit = state.issued + policy.start_target
    items.append(("start", 1, state.issued, limit, limit, start, None, None))
    limit = state.removed + policy.return_within
    items.append(("return", 1, state.removed, limit, limit, None, start, None))
    limit = state.removed + policy.finish_within[Component.RED_CELLS]
    items.append(("finish", 1, start, limit, limit, ended, None, None))
    if start is not None:
        _add_checks(items, state, start, policy)
    if ended is not None:
        _add_end_check(items, state, ended, policy)
    _add_sets(items, state, policy)
    if ended is not None:
        limit = ended + policy.late_watch
        items.append(("late_watch", 1, ended, None, limit, None, limit + SECOND, None))
        due, limit = ended + policy.fate_due, ended + policy.fate_limit
        items.append(("fate", 1, ended, due, limit, state.fate, None, None))
    return items


def _add_checks(items: list[Item], state: State, start: datetime, policy: Policy) -> None:
    opens, met, ended = start - policy.baseline_limit, None, state.ended
    first = first_opens = start + policy.first_opens
    due, limit = start + policy.first_due, start + policy.first_limit
    first_met = None
    for at in state.sets:
        if opens <= at <= start:
            met = at
        elif at >= first_opens and (ended is None or at <= max(limit, ended)):
            first_met = at
            break
    items.append(
        ("baseline_check", 1, opens, None, start, met, None, None if met is not None else start)
    )
    lapsed = over = None
    if ended is not None and ended < first:
        first_met, lapsed = None, ended
    elif first_met is None and ended is not None:
        over = max(limit + SECOND, ended)
    items.append(("first_check", 1, first_opens, due, limit, first_met, lapsed, over))
    if lapsed is None:
        _add_running(items, state, first_met or due, policy)


def _add_running(items: list[Item], state: State, last: datetime, policy: Policy) -> None:
    every, early, grace, ended = (
        policy.running_every,
        policy.running_early,
        policy.running_grace,
        state.ended,
    )
    if not every:
        return
    n = 0
    for at in state.sets:
        if at > last and (ended is None or at <= ended):
            n, due = n + 1, last + every
            items.append(("running_check", n, due - early, due, due + grace, at, None, None))
            last = at
    if ended is None or last < ended:
        due = last + every
        limit = due + grace
        lapsed = ended if ended is not None and ended <= limit else None
        over = ended if lapsed is None else None
        items.append(("running_check", n + 1, due - early, due, limit, None, lapsed, over))


def _add_end_check(items: list[Item], state: State, ended: datetime, policy: Policy) -> None:
    due, limit = ended + policy.end_due, ended + policy.end_limit
    last = max(limit, ended + policy.late_watch)
    met = next((at for at in state.sets if ended <= at <= last), None)
    over = None if met is not None else last + SECOND
    items.append(("end_check", 1, ended, due, limit, met, None, over))


def _add_sets(items: list[Item], state: State, policy: Policy) -> None:
    life, hung, closed = policy.giving_set_life, state.hung, state.ended
    for place, at in enumerate(hung):
        limit = at + life
        replaced = hung[place + 1] if place + 1 < len(hung) else None
        lapsed = over = None
        if replaced is None and closed is not None:
            lapsed = closed if closed <= limit else None
            over = None if lapsed is not None else closed
        items.append(("set_change", place + 1, at, limit, limit, replaced, lapsed, over))
