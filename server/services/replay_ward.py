"""A ward as it stood at an instant, seen twice: by what was known then, and by all that is now."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import partial
from typing import Final

from server.domain.events import Event
from server.domain.payloads import Voided
from server.domain.picture import Case, Picture, picture
from server.domain.request import Request
from server.services.actor import Actor
from server.services.cases import make_case, read_facts, read_setting
from server.services.enter_ward import read_ward
from server.services.list_due import DueItem, items_of
from server.services.list_reminders import furthest_stages
from server.services.read_board import Board, is_on_board, make_board
from server.services.sound_cases import follow_soundly, read_soundly
from server.store.board import live_episode_ids
from server.store.reminders import RaisedReminder, reminders_between
from server.store.requests import read_requests
from server.store.sessions import ReadSession
from server.store.staff import staff_names

LOOK_BACK: Final = timedelta(hours=48)
"""How long a reminder that was raised is still looked for."""


@dataclass(frozen=True, slots=True)
class Said:
    """A clock that was owed, and the furthest stage of it that somebody had been told by then."""

    item: DueItem
    reminder: RaisedReminder


@dataclass(frozen=True, slots=True)
class View:
    """The ward at the instant by what is known at one of the two: its rows, what had been said.

    `raised` are the reminders of two days up to the instant as they stood, in the order of
    raising; who has a clock stands with `said`, as it was known.
    """

    board: Board
    said: tuple[Said, ...]
    raised: tuple[RaisedReminder, ...]

    @property
    def pictures(self) -> dict[str, Picture]:
        """The units on the board by id."""
        return {row.picture.case.request.id: row.picture for row in self.board.rows}


@dataclass(frozen=True, slots=True)
class Replay:
    """A ward at `at`: as it was known at `known_at`, and as it is known now.

    `requests` and `facts` are those of every unit on either board, all that was ever recorded;
    `later` are the facts that had happened by `at` and were recorded after `known_at`, voids among
    them, by unit, in the order of recording. `names` are those of whoever recorded or was told.
    """

    at: datetime
    known_at: datetime
    then: View
    now: View
    requests: Mapping[str, Request]
    facts: Mapping[str, tuple[Event, ...]]
    later: Mapping[str, tuple[Event, ...]]
    names: Mapping[str, str]


def replay_ward(
    session: ReadSession,
    actor: Actor,
    ward_id: str,
    *,
    at: datetime,
    known_at: datetime | None = None,
) -> Replay:
    """Answer a ward as it stood at `at`; without `known_at` as it was known at `at` itself.

    Each unit is folded once where nothing of it was learnt since; one that cannot be read is left
    out. Raises `NotFound`, `Forbidden`.
    """
    ward = read_ward(session, actor, ward_id)
    known_at = known_at or at
    ids = {
        *live_episode_ids(session, ward_id, at, known_at=known_at),
        *live_episode_ids(session, ward_id, at),
    }
    requests = read_requests(session, ids)
    facts = read_soundly(requests, partial(read_facts, session)) if requests else {}
    sound = {one: requests[one] for one in facts}
    cases = [
        read_soundly(sound, partial(_cases, session, facts=facts, at=at, known_at=known))
        for known in (known_at, None)
    ]
    looked = _look(cases[0], cases[1], at)
    raised = reminders_between(session, ward_id, at - LOOK_BACK, at)
    told = tuple(one for one in raised if one.raised_at <= known_at)
    then, now = (
        View(make_board(session, ward, pictures, at=at), _said(pictures, by_then), by_then)
        for pictures, by_then in zip(looked, (told, raised), strict=True)
    )
    shown = {*then.pictures, *now.pictures}
    later = {one: late for one in shown if (late := _later(facts[one], at, known_at))}
    people = {event.recorded_by for late in later.values() for event in late}
    return Replay(
        at=at,
        known_at=known_at,
        then=then,
        now=now,
        requests={one: requests[one] for one in requests if one in shown},
        facts={one: facts[one] for one in shown},
        later=later,
        names=staff_names(session, people | {one.to for one in raised}),
    )


def _cases(
    session: ReadSession,
    requests: Mapping[str, Request],
    *,
    facts: Mapping[str, tuple[Event, ...]],
    at: datetime,
    known_at: datetime | None,
) -> dict[str, Case]:
    """The units as they were known; one that was asked for only later is left out."""
    known = [one for one in requests.values() if known_at is None or one.recorded_at <= known_at]
    setting = read_setting(session, known, at=at, known_at=known_at)
    return {
        one.id: make_case(one, facts[one.id], setting, now=at, known_at=known_at).known(
            at=at, known_at=known_at
        )
        for one in known
    }


def _look(
    then: Mapping[str, Case], now: Mapping[str, Case], at: datetime
) -> tuple[list[Picture], list[Picture]]:
    """The pictures of both, on the board; the very same where the cases are the same."""
    after = follow_soundly(now.values(), lambda case: picture(case, at))
    same = {unit: after[unit] for unit, case in then.items() if unit in after and case == now[unit]}
    others = (case for unit, case in then.items() if unit not in same)
    before = same | follow_soundly(others, lambda case: picture(case, at))
    first, second = (
        [one for one in looked.values() if is_on_board(one, at)] for looked in (before, after)
    )
    return first, second


def _said(looked: Iterable[Picture], raised: Iterable[RaisedReminder]) -> tuple[Said, ...]:
    """What was owed and had been said, the earliest first."""
    furthest = furthest_stages(raised)
    said = [
        Said(item, furthest[key])
        for one in looked
        for item in items_of(one)
        if (key := (one.case.request.id, item.clock.name, item.clock.n)) in furthest
    ]
    return tuple(sorted(said, key=lambda one: (one.item.falls_due_at, one.reminder.id)))


def _later(events: Iterable[Event], at: datetime, known_at: datetime) -> tuple[Event, ...]:
    """What had happened by the instant and was recorded after it was known so far.

    A void counts by what it voids: it is about that, whenever it was made.
    """
    about: set[str] = set()
    for one in sorted(events, key=lambda event: event.position):
        voided = one.payload.event_id if isinstance(one.payload, Voided) else None
        if one.happened_at <= at if voided is None else voided in about:
            about.add(one.id)
    late = [one for one in events if one.id in about and one.recorded_at > known_at]
    return tuple(sorted(late, key=lambda event: event.position))
