"""The review of a period: rates, times, nights and what was changed, of one ward or of several.

Everything is counted from derived rows by the period that is asked for; no unit is read. Nothing in
it is told of a person, nor could be: who did something is not asked.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from server.domain.review.beside import Figures
from server.domain.review.counted import Begun, Fated, Until, summed
from server.domain.review.days import Days
from server.domain.review.rates import Tally
from server.domain.review.share import Share
from server.domain.review.survival import Curve
from server.domain.review.times import (
    HOURS,
    Lateness,
    Times,
    lateness_by_clock,
    times_by_place,
    times_of,
)
from server.domain.ward_change import WardChange
from server.domain.words import ClockName
from server.services.actor import Actor
from server.services.count_limits import Counted, count_limits
from server.services.review_ground import Asked, Ground, review_ground, whole_stretches
from server.store import review_units as units
from server.store.review_limits import lateness_of
from server.store.review_nights import starts_of, tallies_at_night
from server.store.review_stretches import DAY_MINUTES
from server.store.sessions import ReadSession
from server.store.staff import staff_names
from server.store.ward_changes import ward_changes_between
from server.store.wards import Ward

AT_NIGHT: Final = (ClockName.FINISH, ClockName.END_CHECK)

Rated = Mapping[ClockName, Tally]


@dataclass(frozen=True, slots=True)
class Part:
    """A day, week or month of the review, cut to its days.

    `to_start` is the time from issue to start, `routine` how many of the routine units started
    were started at night.
    """

    days: Days
    tallies: Rated
    to_start: Curve
    routine: Share


@dataclass(frozen=True, slots=True)
class OfWard:
    """What was owed on one ward."""

    ward: Ward
    tallies: Rated


@dataclass(frozen=True, slots=True)
class Review:
    """A review. `before` is what was owed in `asked.days.before`.

    `night_hours` are the hours of the day, 0 to 23, that are night on every ward.
    `started` counts all units that were started at night as `routine` the routine ones; `figures`
    are what stands beside published ones. `changes` has those that were withdrawn, too, and
    `names` who noted them.
    """

    asked: Asked
    wards: tuple[OfWard, ...]
    parts: tuple[Part, ...]
    tallies: Rated
    before: Rated
    lateness: Mapping[ClockName, Lateness]
    to_start: Times
    to_end: Times
    night_hours: frozenset[int]
    routine: Share
    started: Share
    figures: Figures
    fated: tuple[Fated, ...]
    changes: tuple[WardChange, ...]
    names: Mapping[str, str]


def review_period(
    session: ReadSession, actor: Actor, ward_id: str | None, asked: Asked, *, now: datetime
) -> Review:
    """Answer the review of a ward, without one of all wards of the actor.

    Raises `NotFound`, `Forbidden`, `Invalid`.
    """
    ground = review_ground(session, actor, ward_id, asked, now=now)
    counted = count_limits(session, ground.stretches, now=now, component=asked.component)
    begun = starts_of(session, ground.stretches, ground.nights, asked.component)
    tallies, routine = summed(counted.values()), _at_night(begun, routine=True)
    changes = _changes(session, ground, asked.days)
    return Review(
        asked=asked,
        wards=tuple(OfWard(ward, _of_ward(counted, ward)) for ward in ground.wards),
        parts=_parts(session, ground, asked, counted, begun, now),
        tallies=tallies,
        before=_before(session, ground, asked, now),
        lateness=lateness_by_clock(lateness_of(session, ground.stretches, asked.component)),
        to_start=_times(session, ground, asked, Until.START, now),
        to_end=_times(session, ground, asked, Until.END, now),
        night_hours=frozenset(hour for hour in range(HOURS) if _is_night(ground, hour)),
        routine=routine,
        started=_at_night(begun),
        figures=_figures(session, ground, asked, tallies, routine),
        fated=units.fates_of(session, ground.stretches, asked.component),
        changes=changes,
        names=staff_names(session, _concerned(changes)),
    )


def _of_ward(counted: Counted, ward: Ward) -> Rated:
    return summed(tallies for (ward_id, _), tallies in counted.items() if ward_id == ward.id)


def _parts(
    session: ReadSession,
    ground: Ground,
    asked: Asked,
    counted: Counted,
    begun: Iterable[Begun],
    now: datetime,
) -> tuple[Part, ...]:
    waited = units.waits_by_place(
        session, ground.stretches, Until.START, now=now, component=asked.component
    )
    curves = times_by_place(waited, len(ground.places))
    by_place: list[list[Mapping[ClockName, Tally]]] = [[] for _ in ground.places]
    for (_, place), tallies in counted.items():
        by_place[place].append(tallies)
    nights: list[list[Begun]] = [[] for _ in ground.places]
    for one in begun:
        nights[one.place].append(one)
    return tuple(
        Part(days, summed(by_place[n]), curves[n], _at_night(nights[n], routine=True))
        for n, days in enumerate(ground.places)
    )


def _before(session: ReadSession, ground: Ground, asked: Asked, now: datetime) -> Rated:
    stretches = whole_stretches(ground.wards, asked.days.before)
    counted = count_limits(session, stretches, now=now, component=asked.component)
    return summed(counted.values())


def _times(
    session: ReadSession, ground: Ground, asked: Asked, until: Until, now: datetime
) -> Times:
    stretches = ground.stretches
    return times_of(units.waits_of(session, stretches, until, now=now, component=asked.component))


def _figures(
    session: ReadSession, ground: Ground, asked: Asked, tallies: Rated, routine: Share
) -> Figures:
    at_night = tallies_at_night(session, ground.stretches, ground.nights, AT_NIGHT, asked.component)
    reassessed = units.reassessments_of(session, ground.stretches)
    return Figures(tallies, at_night, routine, reassessed)


def _is_night(ground: Ground, hour: int) -> bool:
    """Whether an hour of the day begins and ends in the night of every ward."""
    return all(
        (minute - night.from_minute) % DAY_MINUTES < night.length
        for night in ground.nights.values()
        for minute in (60 * hour, 60 * hour + 59)
    )


def _at_night(begun: Iterable[Begun], *, routine: bool = False) -> Share:
    """How many of the units were started at night; with `routine`, of the routine ones."""
    counted = [one for one in begun if one.routine or not routine]
    night = sum(one.units for one in counted if one.at_night)
    return Share(night, sum(one.units for one in counted))


def _concerned(changes: Iterable[WardChange]) -> set[str]:
    both = ((one.recorded_by, one.withdrawn_by) for one in changes)
    return {who for pair in both for who in pair if who is not None}


def _changes(session: ReadSession, ground: Ground, days: Days) -> tuple[WardChange, ...]:
    ids = [ward.id for ward in ground.wards]
    return ward_changes_between(session, ids, days.first, days.last)
