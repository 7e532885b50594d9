"""Urgency: the level of a row, and the reason in one sentence with the numbers.

The order is total: level, then the earliest relevant instant, then bed, then the episode's id.
"""

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import Final

from server.domain import reasons
from server.domain.clock import Clock
from server.domain.standing import Standing
from server.domain.words import ClockName, ClockState, Level, Phase

RANK: Final[dict[Level, int]] = {level: place for place, level in enumerate(Level)}
NEVER: Final = datetime(9999, 1, 1, tzinfo=UTC)

_FINAL: Final = frozenset({Phase.CLOSED, Phase.RETURNED, Phase.DISCARDED, Phase.CANCELLED})
_WAITING: Final = frozenset({Phase.REQUESTED, Phase.AVAILABLE})
_STILL_OUT: Final = frozenset({Phase.ISSUED, Phase.RUNNING, Phase.PAUSED})


@dataclass(frozen=True, slots=True)
class Urgency:
    """Where a row stands. `sort_at` orders rows of one level; `since_at` is shown, may be None.

    `own` is why the unit stands here. `held`, a reaction with another unit of the patient, and
    `warned`, an identity error in another bed, come from elsewhere; empty where there is none.
    """

    level: Level
    since_at: datetime | None
    sort_at: datetime
    own: str
    held: str = ""
    warned: str = ""

    @property
    def told(self) -> str:
        """The reason for a row that shows a warning apart."""
        return " ".join(filter(None, (self.held, self.own)))

    @property
    def reason(self) -> str:
        """All of it, the warning first."""
        return " ".join(filter(None, (self.warned, self.told)))


def urgency_at(standing: Standing) -> Urgency:
    """Answer the first level, most urgent first, that the episode is in.

    A warning from another bed and a reaction that holds the unit do not move the row: the levels
    say how it stands with the unit itself.
    """
    warnings = standing.episode.open_warnings
    warned = reasons.warned_in_short(warnings) if warnings else ""
    return replace(_judged(standing), held=_held(standing), warned=warned)


def _judged(standing: Standing) -> Urgency:
    for judge in _JUDGES:
        urgency = judge(standing)
        if urgency is not None:
            return urgency
    return _steady(standing)


def _held(standing: Standing) -> str:
    episode, by = standing.episode, standing.held_by
    holds = episode.phase in _STILL_OUT | _WAITING and episode.reaction is None
    return reasons.held(standing, by) if by is not None and holds else ""


def sort_key(urgency: Urgency, bed: str, episode_id: str) -> tuple[object, ...]:
    """Answer the key that orders rows; beds with numbers count as people count them."""
    return (RANK[urgency.level], urgency.sort_at, natural(bed), episode_id)


def natural(text: str) -> tuple[tuple[int, int, str], ...]:
    """Answer a key under which `bed 2` comes before `bed 12`."""
    parts = re.findall(r"\d+|\D+", text)
    return tuple((0, int(part), "") if part.isdecimal() else (1, 0, part.lower()) for part in parts)


def _reaction(standing: Standing) -> Urgency | None:
    since = standing.episode.reaction_at
    if since is None:
        return None
    return Urgency(Level.REACTION, since, since, reasons.reaction(standing))


def _past_limit(standing: Standing) -> Urgency | None:
    limit = standing.finish_limit_at
    if limit is None or standing.now <= limit or standing.episode.phase not in _STILL_OUT:
        return None
    return Urgency(Level.PAST_LIMIT, limit, limit, reasons.past_limit(standing, limit))


def _overdue(standing: Standing) -> Urgency | None:
    clock = _earliest(standing.in_state(ClockState.OVERDUE), lambda clock: clock.limit_at)
    if clock is None or clock.limit_at is None:
        return None
    reason = reasons.overdue(standing, clock)
    return Urgency(Level.OVERDUE, clock.limit_at, clock.limit_at, reason)


def _at_risk(standing: Standing) -> Urgency | None:
    limit = standing.finish_limit_at
    if not standing.is_at_risk or limit is None:
        return None
    infusion = standing.infusion
    unstarted = standing.episode.started_at is None
    since = infusion.latest_start_at if unstarted else infusion.since_at
    return Urgency(Level.AT_RISK, since, limit, reasons.at_risk(standing, limit))


def _due(standing: Standing) -> Urgency | None:
    clock = _earliest(standing.in_state(ClockState.DUE), lambda clock: clock.due_at)
    if clock is None or clock.due_at is None:
        return None
    return Urgency(Level.DUE, clock.due_at, clock.due_at, reasons.due(standing, clock))


def _soon(standing: Standing) -> Urgency | None:
    clock = _earliest(standing.falling_due(), lambda clock: clock.due_at)
    if clock is None or clock.due_at is None:
        return None
    since = clock.due_at - standing.policy.reminders_notice
    return Urgency(Level.SOON, since, clock.due_at, reasons.soon(standing, clock))


def _waiting(standing: Standing) -> Urgency | None:
    if standing.episode.phase not in _WAITING:
        return None
    request = standing.episode.request
    asked = request.requested_at or request.recorded_at
    call_at = None if standing.planned is None else standing.planned.call_at
    wanted = call_at or request.wanted_by or request.not_before or asked
    return Urgency(Level.WAITING, asked, wanted, reasons.waiting(standing))


def _closed(standing: Standing) -> Urgency | None:
    episode = standing.episode
    if episode.phase not in _FINAL:
        return None
    closed = episode.fate_at or episode.moved_at
    return Urgency(Level.CLOSED, closed, closed or NEVER, reasons.closed(standing))


def _steady(standing: Standing) -> Urgency:
    clock = standing.next_clock
    falls_due = None if clock is None else clock.due_at or clock.limit_at
    return Urgency(Level.STEADY, None, falls_due or NEVER, reasons.steady(standing))


_JUDGES: Final[tuple[Callable[[Standing], Urgency | None], ...]] = (
    _reaction,
    _past_limit,
    _overdue,
    _at_risk,
    _due,
    _soon,
    _waiting,
    _closed,
)


def _earliest(
    clocks: Sequence[Clock], instant_of: Callable[[Clock], datetime | None]
) -> Clock | None:
    """The clock with the earliest instant; finish last among equals, the others as scheduled."""
    return min(
        clocks,
        key=lambda clock: (instant_of(clock) or NEVER, clock.name is ClockName.FINISH),
        default=None,
    )
