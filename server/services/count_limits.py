"""Count the limits of wards that were kept, late and missed: from derived rows, or as of then."""

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime
from typing import Final

from server.domain.picture import Picture
from server.domain.review.counted import RATED, TALLY_OF, Tallies
from server.domain.review.rates import Tally
from server.domain.review.stretches import PlaceFinder, Stretch
from server.domain.words import ClockName, ClockState, Component
from server.services.begun_units import begun_units
from server.services.sound_cases import sound_pictures
from server.store.clock_states import read_clocks
from server.store.due import episodes_unseen
from server.store.review_limits import Place, tallies_of
from server.store.sessions import ReadSession

Counted = dict[Place, Tallies]
Limit = tuple[str, Component | None, ClockName, datetime | None, ClockState]
"""The ward, the component, the clock, its limit, and how it stands."""

_TAKEN_AWAY: Final = -1


def count_limits(
    session: ReadSession,
    stretches: Sequence[Stretch],
    *,
    now: datetime,
    component: Component | None = None,
) -> Counted:
    """Answer what was owed by `now` on each ward in each place, by clock.

    Counted from the derived rows. Units that no tick has looked at since something changed by time
    alone are taken out as they are stored, and put in as they are.
    """
    counted = tallies_of(session, stretches, component)
    unseen = episodes_unseen(session, {one.ward_id for one in stretches}, now)
    finder = PlaceFinder(stretches)
    _add(counted, _stored(session, unseen), finder, component, times=_TAKEN_AWAY)
    looked = sound_pictures(session, unseen, now=now)
    _add(counted, _limits(looked.values()), finder, component)
    return counted


def count_limits_as_known(
    session: ReadSession,
    stretches: Sequence[Stretch],
    *,
    now: datetime,
    at: datetime | None,
    known_at: datetime | None,
    component: Component | None = None,
) -> Counted:
    """The same as of `at`, or as was known at `known_at`: every unit begun by then is folded."""
    wards = {one.ward_id for one in stretches}
    looked = begun_units(session, wards, now=now, at=at, known_at=known_at)
    counted: Counted = {}
    _add(counted, _limits(looked), PlaceFinder(stretches), component)
    return counted


def _stored(session: ReadSession, episode_ids: Iterable[str]) -> Iterator[Limit]:
    for records in read_clocks(session, episode_ids).values():
        for one in records:
            yield one.ward_id, one.component, one.clock, one.limit_at, one.state


def _limits(looked: Iterable[Picture]) -> Iterator[Limit]:
    for one in looked:
        request = one.case.request
        for clock, state in one.clocks:
            yield request.ward_id, request.component, clock.name, clock.limit_at, state


def _add(
    counted: Counted,
    limits: Iterable[Limit],
    finder: PlaceFinder,
    component: Component | None,
    *,
    times: int = 1,
) -> None:
    """Add the limits that have a rate and lie in a place."""
    for ward_id, kind, clock, limit_at, state in limits:
        one = TALLY_OF.get(state)
        if one is None or limit_at is None or clock not in RATED or component not in (None, kind):
            continue
        place = finder.place_of(ward_id, limit_at)
        if place is not None:
            tallies = counted.setdefault((ward_id, place), {})
            more = Tally(times * one.met, times * one.late, times * one.missed)
            tallies[clock] = tallies.get(clock, Tally()) + more
