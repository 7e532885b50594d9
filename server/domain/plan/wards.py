"""From what a ward allows, by the clock on its wall, to the periods of a plan in UTC."""

from collections.abc import Iterator
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from typing import Final

from server.domain.policy import Policy
from server.domain.workload.capacity import WallWindow, WardLimits, WardRules
from server.domain.workload.period import Period

_DAY: Final = timedelta(days=1)


def rules_of(limits: WardLimits, policy: Policy, horizon: Period, zone: tzinfo) -> WardRules:
    """Answer what a ward allows over a horizon; the nights are the policy's."""
    night = WallWindow(policy.night_from, policy.night_until)
    handovers = {one for window in limits.handovers for one in periods_of(window, horizon, zone)}
    return WardRules(
        handovers=tuple(sorted(handovers)),
        nights=periods_of(night, horizon, zone),
        night_rule=limits.night_rule,
        most_starts=limits.most_starts,
        collected_by=limits.collected_by,
        porters=limits.porters,
        issues_per_quarter=limits.issues_per_quarter,
    )


def periods_of(window: WallWindow, horizon: Period, zone: tzinfo) -> tuple[Period, ...]:
    """Answer when a window of the wall clock lies in a horizon, whole, in order.

    A window that ends no later than it begins runs past midnight. Where the clocks show a time
    twice, the window takes in both; a time that they skip counts as if they had not been changed.
    """
    return tuple(
        period
        for day in _days(horizon, zone)
        if (period := _on(day, window, zone)).overlaps(horizon)
    )


def _days(horizon: Period, zone: tzinfo) -> Iterator[date]:
    """The ward days that can touch the horizon, the one before for a window past midnight."""
    day = horizon.from_at.astimezone(zone).date() - _DAY
    while day <= horizon.until_at.astimezone(zone).date():
        yield day
        day += _DAY


def _on(day: date, window: WallWindow, zone: tzinfo) -> Period:
    past_midnight = window.until_time <= window.from_time
    last = day + _DAY if past_midnight else day
    return Period(_instant(day, window.from_time, zone), _latest(last, window.until_time, zone))


def _instant(day: date, wall: time, zone: tzinfo) -> datetime:
    return datetime.combine(day, wall, zone).astimezone(UTC)


def _latest(day: date, wall: time, zone: tzinfo) -> datetime:
    second = datetime.combine(day, wall.replace(fold=1), zone).astimezone(UTC)
    return max(_instant(day, wall, zone), second)
