"""Volume given and where the rate leads, at an instant.

The rate is piecewise constant between events. A reading of the pump or the bag replaces the
integral from that instant on.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta

from server.domain.episode import Episode, Flow
from server.domain.policy import Policy
from server.domain.rates import ordered_rate_ml_h
from server.domain.words import Phase

_HOUR_SECONDS = 3600.0
TOLERANCE = 1e-6  # mL or mL/h: below what any pump shows, above what floats lose


@dataclass(frozen=True, slots=True)
class Infusion:
    """The flow of one unit at an instant. Volumes in mL, rates in mL/h; None: not known or none.

    `spare_minutes` is the finish limit less the projected end, negative when it comes too late.
    `read_difference_ml` is the last reading less what the rates had given until then.
    `since_at` is when the present rate was set.
    """

    given_ml: float
    left_ml: float | None
    rate_ml_h: float | None
    permitted_rate_ml_h: float
    projected_end_at: datetime | None
    needed_rate_ml_h: float | None
    spare_minutes: float | None
    latest_start_at: datetime | None
    drops_per_min: int | None
    read_difference_ml: float | None
    since_at: datetime | None

    @property
    def cannot_finish(self) -> bool:
        """Whether the rest needs more than the permitted rate: part of the unit stays out."""
        needed = self.needed_rate_ml_h
        return needed is not None and needed > self.permitted_rate_ml_h + TOLERANCE


@dataclass(frozen=True, slots=True)
class Given:
    """What has run in, as the rates and readings say."""

    given_ml: float
    rate_ml_h: float | None
    read_difference_ml: float | None
    since_at: datetime | None


def volume_given(flow: list[Flow], volume_ml: float | None, now: datetime) -> Given:
    """Integrate the rates up to `now`, never above `volume_ml`."""
    most = volume_ml if volume_ml is not None else float("inf")
    given, rate, difference = 0.0, None, None
    last = since = None
    for change in flow:
        if change.at > now:
            break
        if rate and last is not None:
            given = min(most, given + rate * _hours(change.at - last))
        last = change.at
        if change.given_ml is not None:
            read = min(most, change.given_ml)
            difference, given = read - given, read
        else:
            rate, since = change.rate_ml_h, change.at
    if rate and last is not None:
        given = min(most, given + rate * _hours(now - last))
    return Given(given, rate, difference, since)


def infusion_at(
    episode: Episode,
    policy: Policy,
    *,
    permitted_ml_h: float,
    finish_limit_at: datetime | None,
    now: datetime,
    drops_per_ml: int | None = None,
) -> Infusion:
    """Answer the flow at `now`; `permitted_ml_h` is the ceiling for this patient and order.

    `drops_per_ml` is the giving set's, None: the usual one of the policy.
    """
    per_ml = drops_per_ml or policy.rate_drops_per_ml
    given = volume_given(episode.flow, episode.volume_ml, now)
    left = None if episode.volume_ml is None else max(0.0, episode.volume_ml - given.given_ml)
    live = episode.phase in (Phase.RUNNING, Phase.PAUSED)
    owed = live or episode.phase is Phase.ISSUED
    end = _projected_end(episode, policy, given, left, permitted_ml_h, now)
    rate = given.rate_ml_h if live else None
    return Infusion(
        given_ml=given.given_ml,
        left_ml=left,
        rate_ml_h=rate,
        permitted_rate_ml_h=permitted_ml_h,
        projected_end_at=end,
        needed_rate_ml_h=_needed_rate(left, finish_limit_at, now) if owed else None,
        spare_minutes=_spare_minutes(end, finish_limit_at),
        latest_start_at=_latest_start(episode, permitted_ml_h, finish_limit_at),
        drops_per_min=None if rate is None else drops_per_min(rate, per_ml),
        read_difference_ml=given.read_difference_ml,
        since_at=given.since_at,
    )


def drops_per_min(rate_ml_h: float, drops_per_ml: float) -> int:
    """Drops a minute of a gravity set, to the nearest whole drop, halves up."""
    return int(rate_ml_h * drops_per_ml / 60 + 0.5)


def _projected_end(
    episode: Episode,
    policy: Policy,
    given: Given,
    left_ml: float | None,
    permitted_ml_h: float,
    now: datetime,
) -> datetime | None:
    """When the rest is in: the present rate through the slow start, then the order's rate."""
    start, rate = episode.started_at, given.rate_ml_h
    if start is None or left_ml is None or not rate or episode.phase is not Phase.RUNNING:
        return None
    seconds = left_ml / rate * _HOUR_SECONDS
    slow_seconds = (start + policy.rate_first - now).total_seconds()
    if 0 < slow_seconds < seconds:
        after_slow_ml = left_ml - rate * slow_seconds / _HOUR_SECONDS
        later = ordered_rate_ml_h(episode, policy, after_slow_ml, permitted_ml_h)
        seconds = slow_seconds + after_slow_ml / later * _HOUR_SECONDS
    return _after(now, seconds)


def _needed_rate(
    left_ml: float | None, finish_limit_at: datetime | None, now: datetime
) -> float | None:
    if left_ml is None or finish_limit_at is None or now >= finish_limit_at:
        return None
    return left_ml / _hours(finish_limit_at - now)


def _spare_minutes(end: datetime | None, finish_limit_at: datetime | None) -> float | None:
    if end is None or finish_limit_at is None:
        return None
    return (finish_limit_at - end).total_seconds() / 60


def _latest_start(
    episode: Episode, permitted_ml_h: float, finish_limit_at: datetime | None
) -> datetime | None:
    """The last second at which the whole unit still fits at the permitted rate."""
    if finish_limit_at is None or episode.volume_ml is None or permitted_ml_h <= 0:
        return None
    if episode.ended_at is not None:
        return None
    seconds = episode.volume_ml / permitted_ml_h * _HOUR_SECONDS
    exact = finish_limit_at - timedelta(seconds=round(seconds, 3))
    return exact.replace(microsecond=0)


def _after(now: datetime, seconds: float) -> datetime | None:
    if seconds > 366 * 86_400:
        # A rate so low that the bag would outlast the year has no meaningful end.
        return None
    # Milliseconds first: what floats lose must not tip a half second to and fro.
    exact = now + timedelta(seconds=round(seconds, 3))
    return (exact + timedelta(microseconds=500_000)).replace(microsecond=0)


def _hours(span: timedelta) -> float:
    return span.total_seconds() / _HOUR_SECONDS
