"""Find breaches to look at, on one ward or all of somebody's: a page at a time, open ones first.

The list is made from the derived rows; only the units of the page are loaded. What was shown as
passed and had been met in time, as a late entry told, is no breach: it is counted and listed apart.
"""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from itertools import dropwhile
from typing import Final

from server.domain.breach_list import (
    ANY,
    Passed,
    Surroundings,
    Wanted,
    open_first,
    wanted_ones,
)
from server.domain.clock import BREACHED
from server.domain.picture import Picture
from server.domain.words import ClockName, ClockState
from server.services.actor import Actor
from server.services.enter_ward import list_wards
from server.services.errors import NotFound
from server.services.list_breaches import BreachRow, breach_rows, pictures_of, surroundings
from server.services.passed_limits import Periods, passed_limits, span_of
from server.services.permissions import Act, require
from server.store.breach_rows import kept_after_all
from server.store.sessions import ReadSession
from server.store.transitions import Transition, transitions_of_episodes
from server.store.wards import Ward

PAGE: Final = 50


@dataclass(frozen=True, slots=True)
class Asked:
    """A period for each ward that is asked for, what is wanted of it, and which page from 1."""

    periods: Periods
    wanted: Wanted = ANY
    page: int = 1


@dataclass(frozen=True, slots=True)
class KeptRow:
    """A limit that was shown as passed until, at `known_at`, an entry said it had been met."""

    picture: Picture
    clock: ClockName
    n: int
    limit_at: datetime
    met_at: datetime | None
    known_at: datetime | None


@dataclass(frozen=True, slots=True)
class Totals:
    """Breaches, the units that have some, and how many are open, on all pages, listed or not.

    `by_clock` counts what is listed. `kept` were shown as passed and kept after all; they are none
    of the others.
    """

    breaches: int
    units: int
    still_open: int
    by_clock: Mapping[ClockName, int]
    kept: int

    @property
    def explained(self) -> int:
        """How many have a cause."""
        return self.breaches - self.still_open


@dataclass(frozen=True, slots=True)
class BreachPage:
    """One page. `shifts` are the hours of the shifts that limits of the period lay in.

    `rows` are the breaches of the page or, where those were asked for, `kept` what was kept.
    """

    wards: tuple[Ward, ...]
    totals: Totals
    shifts: tuple[str, ...]
    page: int
    pages: int
    rows: tuple[BreachRow, ...] = ()
    kept: tuple[KeptRow, ...] = ()


@dataclass(frozen=True, slots=True)
class _Ground:
    """All that is wanted of the period, open and explained, before a page is cut from it."""

    wards: tuple[Ward, ...]
    breaches: tuple[Passed, ...]
    kept: tuple[Passed, ...]
    shifts: tuple[str, ...]


def find_breaches(session: ReadSession, actor: Actor, asked: Asked, *, now: datetime) -> BreachPage:
    """Answer a page of breaches; past the last page, the last. Raises `NotFound`, `Forbidden`."""
    ground = _ground(session, actor, asked, now)
    explained = asked.wanted.explained
    listed = [one for one in ground.breaches if explained in (None, one.cause is not None)]
    shown, found = _cut(ground, asked, listed)
    return replace(found, rows=breach_rows(shown, pictures_of(session, shown, now)))


def find_kept(session: ReadSession, actor: Actor, asked: Asked, *, now: datetime) -> BreachPage:
    """Answer a page of what was shown as passed and kept after all, the latest first.

    Raises `NotFound`, `Forbidden`.
    """
    ground = _ground(session, actor, asked, now)
    shown, found = _cut(ground, asked, ground.kept)
    pictures = pictures_of(session, shown, now)
    crossed = transitions_of_episodes(session, pictures)
    rows = (
        _kept_row(one, pictures[one.episode_id], crossed[one.episode_id])
        for one in shown
        if one.episode_id in pictures
    )
    return replace(found, kept=tuple(rows))


def _ground(session: ReadSession, actor: Actor, asked: Asked, now: datetime) -> _Ground:
    wards = _wards(session, actor, asked)
    if not wards:
        return _Ground((), (), (), ())
    passed = passed_limits(session, asked.periods, now=now)
    span = span_of(asked.periods)
    shown = [
        one
        for one in kept_after_all(session, asked.periods, span.from_at, span.until)
        if asked.periods[one.ward_id].holds(one.limit_at)
    ]
    around = surroundings(session, wards, [*passed, *shown], now=now)
    wanted = replace(asked.wanted, explained=None)
    breaches = sorted(wanted_ones(passed, wanted, around), key=open_first)
    kept = sorted(wanted_ones(shown, wanted, around), key=open_first)
    return _Ground(wards, tuple(breaches), tuple(kept), _shifts([*passed, *shown], around))


def _wards(session: ReadSession, actor: Actor, asked: Asked) -> tuple[Ward, ...]:
    for ward_id in asked.periods:
        require(actor, Act.READ, ward_id)
    wards = tuple(one for one in list_wards(session, actor) if one.id in asked.periods)
    if len(wards) < len(asked.periods):
        raise NotFound("the ward")
    return wards


def _shifts(passed: Sequence[Passed], around: Surroundings) -> tuple[str, ...]:
    return tuple(sorted({around.shift_of(one) for one in passed}))


def _cut(
    ground: _Ground, asked: Asked, listed: Sequence[Passed]
) -> tuple[Sequence[Passed], BreachPage]:
    pages = max(1, -(-len(listed) // PAGE))
    page = min(max(1, asked.page), pages)
    shown = listed[(page - 1) * PAGE : page * PAGE]
    return shown, BreachPage(ground.wards, _totals(ground, listed), ground.shifts, page, pages)


def _totals(ground: _Ground, listed: Sequence[Passed]) -> Totals:
    breaches = ground.breaches
    return Totals(
        breaches=len(breaches),
        units=len({one.episode_id for one in breaches}),
        still_open=sum(one.cause is None for one in breaches),
        by_clock=Counter(one.clock for one in listed),
        kept=len(ground.kept),
    )


def _kept_row(one: Passed, looked: Picture, crossed: Sequence[Transition]) -> KeptRow:
    its = [crossing for crossing in crossed if (crossing.clock, crossing.n) == (one.clock, one.n)]
    shown = dropwhile(lambda crossing: crossing.to_state not in BREACHED, its)
    told = (crossing.noticed_at for crossing in shown if crossing.to_state is ClockState.MET)
    return KeptRow(looked, one.clock, one.n, one.limit_at, one.met_at, next(told, None))
