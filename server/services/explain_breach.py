"""Why a limit was not kept: its unit, and what surrounded it on the ward, told by the record."""

from datetime import datetime, timedelta
from typing import Final

from server.domain.picture import Case, picture
from server.domain.plan.wards import periods_of
from server.domain.why.attempt import Asked
from server.domain.why.explain import Why, ask, explain, near
from server.domain.why.surroundings import Other, Surroundings, other_of
from server.domain.words import ClockName
from server.domain.workload.period import Period
from server.services.actor import Actor
from server.services.cases import cases_of, reading
from server.services.errors import NotFound
from server.services.permissions import Act, require
from server.services.planning_ground import people_on_duty
from server.services.sound_cases import follow_soundly, sound_cases
from server.store.covers import covers_between
from server.store.near_units import started_episode_ids
from server.store.plans import plan_in_force
from server.store.requests import read_request
from server.store.sessions import ReadSession
from server.store.ward_limits import limits_at

BEHIND: Final = timedelta(hours=6)
"""How long before the time in question another unit may have been started and still keep its nurse:
longer than any unit hangs."""
A_SHIFT: Final = timedelta(hours=12)
"""How far around a limit a shift may end or begin that is told of."""


def explain_breach(
    session: ReadSession,
    actor: Actor,
    episode_id: str,
    clock: ClockName,
    n: int,
    *,
    now: datetime,
) -> Why:
    """Answer why one limit of a unit was not kept, and what would have kept it.

    Raises `NotFound`, also where the unit owes no such limit, `Forbidden`, `Unreadable`.
    """
    request = read_request(session, episode_id)
    if request is None:
        raise NotFound("the episode")
    require(actor, Act.READ, request.ward_id)
    with reading(request):
        case = cases_of(session, {episode_id: request}, now=now)[episode_id]
        picture(case, now)
    asked = ask(case, (clock, n), now)
    if asked is None:
        raise NotFound("the limit")
    return explain(asked, _surroundings(session, case, asked, now))


def _surroundings(session: ReadSession, case: Case, asked: Asked, now: datetime) -> Surroundings:
    """What surrounded the unit while the act was owed, with shifts as they are entered now."""
    period, ward_id = near(asked), case.request.ward_id
    issued = asked.run.facts.episode.issued_at
    plan = None if issued is None else plan_in_force(session, ward_id, issued)
    limits = limits_at(session, ward_id, asked.limit_at)
    wide = Period(period.from_at - A_SHIFT, period.until_at + A_SHIFT)
    return Surroundings(
        others=_others(session, case, period, now),
        on_duty=people_on_duty(session, ward_id, wide),
        handovers=tuple(
            sorted(
                one for window in limits.handovers for one in periods_of(window, period, case.zone)
            )
        ),
        covers=covers_between(session, [ward_id], period.from_at, period.until_at),
        planned=None if plan is None else plan.planned_of(case.request.id),
    )


def _others(session: ReadSession, case: Case, period: Period, now: datetime) -> tuple[Other, ...]:
    """The units of the ward that were begun before the limit and may still have kept somebody."""
    ward_id, from_at = case.request.ward_id, period.from_at - BEHIND
    ids = started_episode_ids(session, ward_id, from_at, period.until_at)
    found = sound_cases(session, [one for one in ids if one != case.request.id], now=now)
    return tuple(follow_soundly(found.cases.values(), other_of).values())
