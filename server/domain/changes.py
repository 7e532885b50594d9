"""The next instant at which a unit will look different although nothing happens.

Stored and indexed, this is what makes a tick cost what has changed and not what exists.
"""

from collections.abc import Iterable
from datetime import datetime, timedelta

from server.domain.clock import OWED, SECOND, Clock, state_at
from server.domain.facts import Facts
from server.domain.infusion import TOLERANCE
from server.domain.picture import Case, Picture, picture, stand
from server.domain.reminders import reminders_owed, stage_instants
from server.domain.standing import Standing
from server.domain.urgency import urgency_at
from server.domain.words import ClockState, Phase


def next_change_at(case: Case, now: datetime) -> datetime | None:
    """Answer the earliest later instant at which a clock's state, a reminder or the level changes.

    Exact: nothing changes before it, something changes at it. None: nothing will ever change.
    """
    return next_change_after(picture(case, now))


def next_change_after(looked: Picture) -> datetime | None:
    """Answer the same for a unit that was looked at already."""
    facts = looked.case.facts_of(looked.episode)
    owed = len(looked.reminders)
    for instant in _candidates(looked.case, facts, looked.standing):
        # The states first: they need no more than their clocks, and mostly it is they that change.
        if any(state_at(clock, instant) is not state for clock, state in looked.clocks):
            return instant
        then = stand(looked.case, facts, [clock for clock, _ in looked.clocks], instant)
        if urgency_at(then).level is not looked.urgency.level or len(reminders_owed(then)) != owed:
            return instant
    return None


def _candidates(case: Case, facts: Facts, standing: Standing) -> list[datetime]:
    """Every later instant at which something could change, in order."""
    found = {at for clock, state in standing.clocks for at in _clock_instants(clock, state)}
    for clock, state in standing.clocks:
        if state in OWED:
            found.update(stage_instants(clock, standing))
            if clock.due_at is not None:
                found.add(clock.due_at - facts.policy.reminders_notice)
    found.update(_flow_instants(case, facts, standing))
    return sorted(at for at in found if at > standing.now)


def _clock_instants(clock: Clock, state: ClockState) -> Iterable[datetime]:
    if clock.lapsed_at is not None:
        yield clock.lapsed_at
    if state not in OWED:
        return
    for at in (clock.opens_at, clock.due_at, clock.over_at):
        if at is not None:
            yield at
    if clock.limit_at is not None:
        yield clock.limit_at + SECOND


def _flow_instants(case: Case, facts: Facts, standing: Standing) -> Iterable[datetime]:
    """When the unit can come to be at risk, or cease to be."""
    infusion, episode, now = standing.infusion, standing.episode, standing.now
    if standing.finish_limit_at is not None:
        yield standing.finish_limit_at + SECOND
    if episode.phase is Phase.ISSUED and infusion.latest_start_at is not None:
        yield infusion.latest_start_at + SECOND
    if episode.phase not in (Phase.RUNNING, Phase.PAUSED) or episode.started_at is None:
        return
    yield episode.started_at + facts.policy.rate_first
    yield from _needed_crossing(standing)
    # Bedside clocks may be a little ahead: a change of the flow can still lie before us.
    for ahead in {change.at for change in episode.flow if change.at > now}:
        yield ahead
        yield from _needed_crossing(stand(case, facts, (), ahead))


def _needed_crossing(standing: Standing) -> Iterable[datetime]:
    """The seconds about which the needed rate crosses the permitted one at the present rate."""
    infusion, limit, now = standing.infusion, standing.finish_limit_at, standing.now
    rate, ceiling = infusion.rate_ml_h or 0.0, infusion.permitted_rate_ml_h + TOLERANCE
    if infusion.left_ml is None or limit is None or now >= limit or rate == ceiling:
        return
    hours = (limit - now) / timedelta(hours=1)
    crossing_hours = (infusion.left_ml - ceiling * hours) / (rate - ceiling)
    if 0 <= crossing_hours <= hours:
        second = (now + timedelta(hours=crossing_hours)).replace(microsecond=0)
        yield from (second, second + SECOND, second + 2 * SECOND)
