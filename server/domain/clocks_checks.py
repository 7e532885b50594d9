"""The observation checks: before the start, after a quarter of an hour, running, and at the end."""

from datetime import datetime

from server.domain.clock import SECOND, Clock
from server.domain.facts import Facts
from server.domain.policy import Policy
from server.domain.words import ClockName


def baseline_check(facts: Facts) -> tuple[Clock, ...]:
    """A full set inside the window before the start; unmet at the start it is missed there."""
    start = facts.episode.started_at
    if start is None:
        return ()
    opens = start - facts.policy.baseline_limit
    inside = [at for at in facts.sets if opens <= at <= start]
    met = inside[-1] if inside else None
    over = None if inside else start
    return (
        Clock(
            ClockName.BASELINE_CHECK,
            1,
            opens,
            None,
            start,
            "baseline.limit_minutes",
            met,
            None,
            over,
        ),
    )


def first_and_running_checks(facts: Facts) -> tuple[Clock, ...]:
    """The check after the start, and the ones that roll on from it until the end."""
    start = facts.episode.started_at
    if start is None:
        return ()
    first = _first_check(facts, start)
    return (first, *_running_checks(facts, first))


def _first_check(facts: Facts, start: datetime) -> Clock:
    policy, ended = facts.policy, facts.episode.ended_at
    opens, limit = start + policy.first_opens, start + policy.first_limit
    met = lapsed = over = None
    if ended is not None and ended < opens:
        lapsed = ended
    else:
        # In time even if the unit has ended meanwhile; late only while it was still running.
        last = limit if ended is None else max(limit, ended)
        met = next((at for at in facts.sets if at >= opens and (ended is None or at <= last)), None)
        if met is None and ended is not None:
            over = max(limit + SECOND, ended)
    due = start + policy.first_due
    return Clock(
        ClockName.FIRST_CHECK, 1, opens, due, limit, "first.due_minutes", met, lapsed, over
    )


def _running_checks(facts: Facts, first: Clock) -> list[Clock]:
    """Each full set restarts the interval, so that one late set gives one breach, not a chain.

    While no set has met the first check, the interval runs from the time that one was due.
    """
    if not facts.policy.running_every or first.due_at is None or first.lapsed_at is not None:
        return []
    ended = facts.episode.ended_at
    last = first.met_at or first.due_at
    clocks: list[Clock] = []
    for at in facts.sets:
        if at > last and (ended is None or at <= ended):
            clocks.append(_running_check(facts.policy, len(clocks) + 1, last, at, None))
            last = at
    if ended is None or last < ended:
        clocks.append(_running_check(facts.policy, len(clocks) + 1, last, None, ended))
    return clocks


def _running_check(
    policy: Policy, n: int, last: datetime, met: datetime | None, ended: datetime | None
) -> Clock:
    due = last + policy.running_every
    limit = due + policy.running_grace
    lapsed = ended if ended is not None and ended <= limit else None
    over = ended if lapsed is None else None
    return Clock(
        ClockName.RUNNING_CHECK,
        n,
        due - policy.running_early,
        due,
        limit,
        "running.every_minutes",
        met,
        lapsed,
        over,
    )


def end_check(facts: Facts) -> tuple[Clock, ...]:
    """A full set after the end; one within the late watch still meets it, late."""
    ended, policy = facts.episode.ended_at, facts.policy
    if ended is None:
        return ()
    limit = ended + policy.end_limit
    last = max(limit, ended + policy.late_watch)
    met = next((at for at in facts.sets if ended <= at <= last), None)
    over = None if met is not None else last + SECOND
    due = ended + policy.end_due
    return (Clock(ClockName.END_CHECK, 1, ended, due, limit, "end.limit_minutes", met, None, over),)
