"""Breaches of a ward: which limits passed unmet or were met late, in a period."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from server.domain.breach_list import (
    ANY,
    Passed,
    Surroundings,
    Wanted,
    WardHours,
    earliest_first,
    wanted_ones,
)
from server.domain.breaches import Breach
from server.domain.clock import SECOND
from server.domain.picture import Picture
from server.domain.policy import Policy
from server.domain.workload.capacity import WallWindow
from server.services.actor import Actor
from server.services.begun_units import begun_units
from server.services.cases import zone_of
from server.services.enter_shift import LONGEST
from server.services.enter_ward import read_ward
from server.services.passed_limits import EVER, Period, passed_limits, passed_of
from server.services.policies import policies_in_force
from server.services.sound_cases import sound_pictures
from server.store.breach_rows import duties_of
from server.store.sessions import ReadSession
from server.store.wards import Ward


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
    wanted: Wanted = ANY,
    at: datetime | None = None,
    known_at: datetime | None = None,
) -> tuple[BreachRow, ...]:
    """Answer the breaches whose limit lies in the period, the earliest first.

    With `at` or `known_at`: those that had happened, or were known, then.
    Raises `NotFound`, `Forbidden`.
    """
    ward, periods = read_ward(session, actor, ward_id), {ward_id: period}
    if at is None and known_at is None:
        found = _wanted(session, ward, passed_limits(session, periods, now=now), wanted, now)
        return breach_rows(found, pictures_of(session, found, now))
    looked = begun_units(session, [ward_id], now=now, at=at, known_at=known_at)
    pictures = {one.case.request.id: one for one in looked}
    found = _wanted(session, ward, passed_of(pictures.values(), periods), wanted, now)
    return breach_rows(found, pictures)


def _wanted(
    session: ReadSession, ward: Ward, passed: Sequence[Passed], wanted: Wanted, now: datetime
) -> list[Passed]:
    around = surroundings(session, [ward], passed, now=now)
    return sorted(wanted_ones(passed, wanted, around), key=earliest_first)


def surroundings(
    session: ReadSession, wards: Sequence[Ward], passed: Sequence[Passed], *, now: datetime
) -> Surroundings:
    """Answer what weekday, night and shift of limits are told by: policies as they are `now`."""
    hours = _hours(session, wards, now)
    nurses = {one.nurse_id for one in passed if one.nurse_id is not None}
    if not nurses:
        return Surroundings(hours)
    limits = [one.limit_at for one in passed]
    begun = (min(limits) - LONGEST, max(limits) + SECOND)
    return Surroundings(hours, duties_of(session, hours, nurses, *begun))


def pictures_of(
    session: ReadSession, passed: Iterable[Passed], now: datetime
) -> dict[str, Picture]:
    """Answer the units of limits as they are looked at from `now`, by id."""
    return sound_pictures(session, {one.episode_id for one in passed}, now=now)


def breach_rows(passed: Iterable[Passed], pictures: Mapping[str, Picture]) -> tuple[BreachRow, ...]:
    """Answer the breaches with their units, in the same order; a unit that is spoilt has none."""
    return tuple(
        BreachRow(looked, breach)
        for one in passed
        if (looked := pictures.get(one.episode_id)) is not None
        for breach in looked.breaches
        if (breach.clock, breach.n) == (one.clock, one.n)
    )


def _hours(session: ReadSession, wards: Sequence[Ward], now: datetime) -> dict[str, WardHours]:
    policies = policies_in_force(session, [ward.id for ward in wards], now)
    return {ward.id: _hours_of(ward, policies[ward.id]) for ward in wards}


def _hours_of(ward: Ward, policy: Policy) -> WardHours:
    return WardHours(zone_of(ward), WallWindow(policy.night_from, policy.night_until))
