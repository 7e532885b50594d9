"""What is owed: the clocks of a ward, or of one nurse, by when they fall due."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from server.domain.clock import OWED, Clock
from server.domain.picture import Picture
from server.domain.reminders import acknowledgement_of
from server.domain.words import ClockName, ClockState
from server.services.actor import Actor
from server.services.enter_ward import read_ward
from server.services.read_board import pictures_of_ward
from server.store.sessions import ReadSession


@dataclass(frozen=True, slots=True)
class DueItem:
    """One clock that is owed, with who has said "I have it"."""

    picture: Picture
    clock: Clock
    state: ClockState
    falls_due_at: datetime
    acknowledged_by: str | None


def list_due(
    session: ReadSession,
    actor: Actor,
    ward_id: str,
    *,
    now: datetime,
    at: datetime | None = None,
    known_at: datetime | None = None,
    nurse_id: str | None = None,
    within_minutes: int | None = None,
) -> tuple[DueItem, ...]:
    """Answer what is owed on a ward, the earliest first; `within_minutes` limits how far ahead.

    Raises `NotFound`, `Forbidden`.
    """
    read_ward(session, actor, ward_id)
    looked = pictures_of_ward(session, ward_id, now=now, at=at, known_at=known_at)
    instant = at or now
    until = None if within_minutes is None else instant + timedelta(minutes=within_minutes)
    items = [
        item
        for one in looked
        if nurse_id is None or one.episode.nurse_id == nurse_id
        for item in items_of(one)
        if until is None or item.falls_due_at <= until
    ]
    return tuple(sorted(items, key=_order))


def items_of(looked: Picture) -> list[DueItem]:
    """Answer what one unit owes."""
    return [
        _item(looked, clock, state, clock.due_at)
        for clock, state in looked.clocks
        if state in OWED and clock.due_at is not None and clock.name is not ClockName.LATE_WATCH
    ]


def _item(looked: Picture, clock: Clock, state: ClockState, falls_due_at: datetime) -> DueItem:
    given = acknowledgement_of(clock, looked.standing)
    return DueItem(looked, clock, state, falls_due_at, given.staff_id if given else None)


def _order(item: DueItem) -> tuple[object, ...]:
    return (item.falls_due_at, item.picture.sort_key, item.clock.name, item.clock.n)
