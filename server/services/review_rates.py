"""Rates of a ward: of the limits of a period, how many were kept, by clock and part of it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final
from zoneinfo import ZoneInfo

from server.domain.errors import Invalid
from server.domain.review.counted import summed
from server.domain.review.periods import By, cut
from server.domain.review.rates import Tally
from server.domain.review.stretches import Stretch, stretches_of
from server.domain.words import ClockName, Component
from server.domain.workload.period import Period
from server.services.actor import Actor
from server.services.count_limits import Counted, count_limits, count_limits_as_known
from server.services.enter_ward import read_ward
from server.store.sessions import ReadSession

MOST_PARTS: Final = 2_000
DAYS: Final = {By.DAY: 1, By.WEEK: 7, By.MONTH: 28}


@dataclass(frozen=True, slots=True)
class Asked:
    """Which limits are asked for, and what the period is cut into.

    With `at` or `known_at`: as they stood, or were known, then.
    """

    period: Period
    by: By | None = None
    component: Component | None = None
    at: datetime | None = None
    known_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class Rates:
    """What was owed in a period, by clock; every clock that has a rate is there."""

    period: Period
    tallies: Mapping[ClockName, Tally]


@dataclass(frozen=True, slots=True)
class WardRates:
    """The rates of a ward in a period, and in each part of it where it was cut into some."""

    ward_id: str
    whole: Rates
    by: By | None = None
    parts: tuple[Rates, ...] = ()


def review_rates(
    session: ReadSession, actor: Actor, ward_id: str, asked: Asked, *, now: datetime
) -> WardRates:
    """Answer the rates of the limits that lie in a period of a ward.

    Whoever may read the ward may read them: they are the ward's and nobody's in it. Raises
    `NotFound`, `Forbidden`, `Invalid`.
    """
    ward = read_ward(session, actor, ward_id)
    _require_sound(asked.period, asked.by)
    zone = ZoneInfo(ward.timezone)
    period, by = asked.period, asked.by
    places = (period,) if by is None else cut(period, by, zone)
    counted = _count(session, stretches_of(ward_id, places, zone), asked, now)
    parts = tuple(
        Rates(place, summed([counted.get((ward_id, number), {})]))
        for number, place in enumerate(places)
    )
    whole = Rates(period, summed(part.tallies for part in parts))
    return WardRates(ward_id, whole, by, () if by is None else parts)


def _count(
    session: ReadSession, stretches: Sequence[Stretch], asked: Asked, now: datetime
) -> Counted:
    at, known_at, component = asked.at, asked.known_at, asked.component
    if at is None and known_at is None:
        return count_limits(session, stretches, now=now, component=component)
    return count_limits_as_known(
        session, stretches, now=now, at=at, known_at=known_at, component=component
    )


def _require_sound(period: Period, by: By | None) -> None:
    if period.until_at <= period.from_at:
        raise Invalid("to", "is not after from; expected a later instant")
    if by is not None and period.length.days / DAYS[by] > MOST_PARTS:
        message = f"cuts the period into more than {MOST_PARTS} parts; expected fewer, longer ones"
        raise Invalid("by", message)
