"""What a review of days is counted in: its wards, their days, weeks or months, and their nights."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, time
from typing import Final
from zoneinfo import ZoneInfo

from server.domain.clock import SECOND
from server.domain.errors import Invalid
from server.domain.policy import Policy
from server.domain.review.days import Days
from server.domain.review.periods import By, cut
from server.domain.review.stretches import Stretch, stretches_of
from server.domain.words import Component
from server.domain.workload.period import Period
from server.services.actor import Actor
from server.services.enter_ward import list_wards, read_ward
from server.services.policies import policies_in_force
from server.services.ward_day import day_at, ward_day
from server.store.review_stretches import NightHours
from server.store.sessions import ReadSession
from server.store.wards import Ward

MOST_DAYS: Final = 1_830
MOST_PARTS: Final = 400


@dataclass(frozen=True, slots=True)
class Asked:
    """The days of a review, what they are cut into, and of which component; None: of all."""

    days: Days
    by: By
    component: Component | None = None


@dataclass(frozen=True, slots=True)
class Ground:
    """The wards, the days of each place, where the places lie on each ward, and its nights.

    The places are the same days on every ward, by its own calendar.
    """

    wards: tuple[Ward, ...]
    places: tuple[Days, ...]
    stretches: tuple[Stretch, ...]
    nights: Mapping[str, NightHours]


def review_ground(
    session: ReadSession, actor: Actor, ward_id: str | None, asked: Asked, *, now: datetime
) -> Ground:
    """Answer the ground of a ward's review, without one of all wards of the actor.

    The hours of the night are those of the policy in force at `now`. Raises `NotFound`,
    `Forbidden`, `Invalid`.
    """
    wards = _wards(session, actor, ward_id)
    _require_sound(asked.days)
    cuts = {ward.id: cut(_period(asked.days, ward), asked.by, _zone(ward)) for ward in wards}
    places = _places(wards[0], cuts[wards[0].id]) if wards else ()
    _require_few(len(places))
    stretches = tuple(
        stretch for ward in wards for stretch in stretches_of(ward.id, cuts[ward.id], _zone(ward))
    )
    policies = policies_in_force(session, cuts, now)
    nights = {ward_id: _night(policy) for ward_id, policy in policies.items()}
    return Ground(wards, places, stretches, nights)


def _wards(session: ReadSession, actor: Actor, ward_id: str | None) -> tuple[Ward, ...]:
    if ward_id is None:
        return list_wards(session, actor)
    return (read_ward(session, actor, ward_id),)


def whole_stretches(wards: tuple[Ward, ...], days: Days) -> tuple[Stretch, ...]:
    """Answer the stretches of days that are not cut into parts: one place on each ward."""
    return tuple(
        stretch
        for ward in wards
        for stretch in stretches_of(ward.id, [_period(days, ward)], _zone(ward))
    )


def _period(days: Days, ward: Ward) -> Period:
    first, last = (ward_day(day, _zone(ward)) for day in (days.first, days.last))
    return Period(first.from_at, last.until_at)


def _places(ward: Ward, periods: tuple[Period, ...]) -> tuple[Days, ...]:
    zone = _zone(ward)
    return tuple(
        Days(day_at(one.from_at, zone), day_at(one.until_at - SECOND, zone)) for one in periods
    )


def _zone(ward: Ward) -> ZoneInfo:
    return ZoneInfo(ward.timezone)


def _night(policy: Policy) -> NightHours:
    return NightHours(_minute(policy.night_from), _minute(policy.night_until))


def _minute(clock: time) -> int:
    return clock.hour * 60 + clock.minute


def _require_sound(days: Days) -> None:
    if days.count < 1:
        raise Invalid("to", "lies before the first day")
    if days.count > MOST_DAYS:
        raise Invalid("to", f"makes more than {MOST_DAYS} days; expected at most as many")


def _require_few(parts: int) -> None:
    if parts > MOST_PARTS:
        raise Invalid("by", f"makes {parts} parts; expected at most {MOST_PARTS}, longer ones")
