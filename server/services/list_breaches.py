"""Breaches of a ward: which limits passed unmet or were met late, in a period."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Final

from server.domain.breaches import Breach
from server.domain.picture import Picture, picture
from server.domain.words import ClockName
from server.services.actor import Actor
from server.services.cases import load_cases
from server.services.enter_ward import read_ward
from server.store.board import begun_episode_ids, live_episode_ids
from server.store.clock_states import breaches_between
from server.store.due import episodes_due
from server.store.sessions import ReadSession

FIRST: Final = datetime(1, 1, 1, tzinfo=UTC)
LAST: Final = datetime(9999, 12, 31, tzinfo=UTC)
ALL: Final = 1_000_000


@dataclass(frozen=True, slots=True)
class Period:
    """From `from_at` on, until just before `until`."""

    from_at: datetime = FIRST
    until: datetime = LAST


EVER: Final = Period()


@dataclass(frozen=True, slots=True)
class BreachRow:
    """A breach with the unit it belongs to."""

    picture: Picture
    breach: Breach


def list_breaches(
    session: ReadSession,
    actor: Actor,
    ward_id: str,
    period: Period = EVER,
    *,
    now: datetime,
    clock: ClockName | None = None,
    at: datetime | None = None,
    known_at: datetime | None = None,
) -> tuple[BreachRow, ...]:
    """Answer the breaches whose limit lies in the period, the earliest first.

    With `at` or `known_at`: those that had happened, or were known, then.
    Raises `NotFound`, `Forbidden`.
    """
    read_ward(session, actor, ward_id)
    instant = at or now
    if at is None and known_at is None:
        ids = _breached(session, ward_id, period, now)
    else:
        ids = set(begun_episode_ids(session, ward_id, instant, known_at=known_at))
    cases = load_cases(session, ids, now=instant, known_at=known_at)
    looked = (picture(case.known(at=at), instant) for case in cases.values())
    return _in_order(looked, period, clock)


def _breached(session: ReadSession, ward_id: str, period: Period, now: datetime) -> set[str]:
    """The units with a stored breach in the period, and those that may have one unstored.

    A unit on the board, or one that no tick has looked at, may have passed a limit since.
    """
    stored = breaches_between(session, ward_id, period.from_at, period.until)
    unseen = episodes_due(session, now, limit=ALL)
    return {
        *(one.episode_id for one in stored),
        *(one.episode_id for one in unseen if one.ward_id == ward_id),
        *live_episode_ids(session, ward_id, now),
    }


def _in_order(
    looked: Iterable[Picture], period: Period, clock: ClockName | None
) -> tuple[BreachRow, ...]:
    rows = [
        BreachRow(one, breach)
        for one in looked
        for breach in one.breaches
        if period.from_at <= breach.limit_at < period.until and clock in (None, breach.clock)
    ]
    return tuple(sorted(rows, key=_order))


def _order(row: BreachRow) -> tuple[object, ...]:
    return (row.breach.limit_at, row.picture.case.request.id, row.breach.clock, row.breach.n)
