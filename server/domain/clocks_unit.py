"""The clocks of the unit itself: start, return, finish, giving set, late watch and fate."""

from collections.abc import Callable
from datetime import datetime
from typing import Final

from server.domain.clock import SECOND, Clock
from server.domain.episode import Episode
from server.domain.facts import Facts, HungSet
from server.domain.words import ClockName, Component, Phase

_ORIGINS: Final[dict[str, Callable[[Episode], datetime | None]]] = {
    "removed": lambda episode: episode.removed_at,
    "issued": lambda episode: episode.issued_at,
    "received": lambda episode: episode.received_at,
    "spiked": lambda episode: episode.spiked_at,
    "started": lambda episode: episode.started_at,
}


def _left_at(episode: Episode) -> datetime | None:
    """When a unit that was never started left the ward again."""
    return episode.moved_at if episode.started_at is None else None


def start_target(facts: Facts) -> tuple[Clock, ...]:
    """Start soon after issue, or send the unit back."""
    episode = facts.episode
    issued = episode.issued_at
    if issued is None:
        return ()
    limit = issued + facts.policy.start_target
    met, left = episode.started_at, _left_at(episode)
    lapsed = left if left is not None and left <= limit else None
    over = left if lapsed is None else None
    return (
        Clock(ClockName.START, 1, issued, limit, limit, "start.target_minutes", met, lapsed, over),
    )


def return_window(facts: Facts) -> tuple[Clock, ...]:
    """How long the unit may still go back into stock; the start takes the question away."""
    episode = facts.episode
    removed = episode.removed_at
    if removed is None:
        return ()
    limit = removed + facts.policy.return_within
    met, lapsed = _left_at(episode), episode.started_at
    return (Clock(ClockName.RETURN, 1, removed, limit, limit, "return.minutes", met, lapsed),)


def finish_limit(facts: Facts) -> tuple[Clock, ...]:
    """Everything in by the earliest of the origins the policy counts from, and the expiry."""
    limit = finish_limit_at(facts)
    if limit is None:
        return ()
    episode = facts.episode
    start = episode.started_at
    return (
        Clock(
            ClockName.FINISH,
            1,
            None if start is None else min(start, limit),  # a unit can be started too late
            limit,
            limit,
            "finish.minutes",
            episode.ended_at,
            _left_at(episode),
        ),
    )


def finish_limit_at(facts: Facts) -> datetime | None:
    """Answer the finish limit, None while nothing that it is counted from is known."""
    episode, policy = facts.episode, facts.policy
    within = policy.finish_within[episode.request.component]
    origins = (_ORIGINS[name](episode) for name in policy.finish_from)
    limits = [origin + within for origin in origins if origin is not None]
    if policy.finish_respect_expiry and episode.expires_at is not None:
        limits.append(episode.expires_at)
    return min(limits, default=None)


def set_changes(facts: Facts) -> tuple[Clock, ...]:
    """A giving set is replaced when its hours are over; a new one before platelets at once."""
    hung = list(facts.episode.hung)
    clocks: list[Clock] = []
    inherited = _inherited_set(facts)
    if inherited is not None and _must_be_new(facts, inherited):
        clocks.append(_new_set_owed(facts))
    elif inherited is not None and _began_on_inherited(facts):
        hung.insert(0, inherited.at)
    for place, at in enumerate(hung):
        replaced = hung[place + 1] if place + 1 < len(hung) else None
        clocks.append(_set_change(facts, len(clocks) + 1, at, replaced))
    return tuple(clocks)


def _inherited_set(facts: Facts) -> HungSet | None:
    """The set still on the patient's line when this unit came."""
    episode = facts.episode
    came = episode.started_at or episode.issued_at
    if came is None:
        return None
    before = [hung for hung in facts.line if hung.at <= came]
    if not before or came - before[-1].at > facts.policy.giving_set_life:
        return None
    return before[-1]


def _began_on_inherited(facts: Facts) -> bool:
    """Whether no set of its own was hung before the start; one hung later replaced it."""
    start, hung = facts.episode.started_at, facts.episode.hung
    return not hung or (start is not None and hung[0] > start)


def _must_be_new(facts: Facts, inherited: HungSet) -> bool:
    return (
        facts.policy.giving_set_new_before_platelets
        and facts.episode.request.component is Component.PLATELETS
        and inherited.component is not Component.PLATELETS
    )


def _new_set_owed(facts: Facts) -> Clock:
    episode = facts.episode
    opens, start = episode.issued_at, episode.started_at
    before_start = (at for at in episode.hung if start is None or at <= start)
    met = next(before_start, None)
    over = start if met is None else None
    left = _left_at(episode)
    rule = "giving_set.new_before_platelets"
    return Clock(ClockName.SET_CHANGE, 1, opens, opens, start, rule, met, left, over)


def _set_change(facts: Facts, n: int, hung: datetime, replaced: datetime | None) -> Clock:
    limit = hung + facts.policy.giving_set_life
    closed = facts.episode.ended_at or _left_at(facts.episode)
    lapsed = over = None
    if replaced is None and closed is not None:
        lapsed = closed if closed <= limit else None
        over = None if lapsed is not None else closed
    return Clock(
        ClockName.SET_CHANGE, n, hung, limit, limit, "giving_set.hours", replaced, lapsed, over
    )


def late_watch(facts: Facts) -> tuple[Clock, ...]:
    """Signs of a reaction can come late: advice stays up until the watch is over."""
    ended = facts.episode.ended_at
    if ended is None:
        return ()
    limit = ended + facts.policy.late_watch
    lapsed = limit + SECOND
    return (Clock(ClockName.LATE_WATCH, 1, ended, None, limit, "late_watch.hours", None, lapsed),)


def fate_record(facts: Facts) -> tuple[Clock, ...]:
    """Every bag is accounted for, counted from the end or from its last movement."""
    episode, policy = facts.episode, facts.policy
    moved = episode.moved_at
    if moved is None or episode.phase is Phase.CANCELLED:
        return ()
    due, limit = moved + policy.fate_due, moved + policy.fate_limit
    return (Clock(ClockName.FATE, 1, moved, due, limit, "fate.due_minutes", episode.fate_at),)
