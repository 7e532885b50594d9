"""The observations while a reaction is suspected: at once, and then at a short interval."""

from datetime import datetime

from server.domain.clock import Clock
from server.domain.facts import Facts
from server.domain.policy import Policy
from server.domain.reaction import Suspicion
from server.domain.words import ClockName


def reaction_checks(facts: Facts) -> tuple[Clock, ...]:
    """Checks from the suspicion until it is closed, or as long as the policy asks for them.

    They roll as the running checks do: each full set restarts the interval. A set that is taken
    for any other check serves here too. The notice would come with the set before, so there is
    none: a check opens when it is due.
    """
    clocks: list[Clock] = []
    for suspicion in facts.episode.reactions if facts.policy.reaction_every else ():
        _add_checks(clocks, facts, suspicion)
    return tuple(clocks)


def _add_checks(clocks: list[Clock], facts: Facts, suspicion: Suspicion) -> None:
    policy, closed = facts.policy, suspicion.closed_at
    last = suspicion.since + policy.reaction_checks_for
    until = last if closed is None else min(closed, last)
    due = suspicion.since
    taken: datetime | None = None
    for at in facts.sets:
        if suspicion.since <= at <= until and (taken is None or at > taken):
            clocks.append(_check(policy, len(clocks) + 1, due, at, None))
            taken, due = at, at + policy.reaction_every
    if due <= last and (taken is None or taken < until):
        clocks.append(_check(policy, len(clocks) + 1, due, None, until))


def _check(
    policy: Policy, n: int, due: datetime, met: datetime | None, until: datetime | None
) -> Clock:
    limit = due + policy.reaction_grace
    lapsed = until if until is not None and until <= limit else None
    over = until if lapsed is None else None
    rule = "reaction.every_minutes"
    return Clock(ClockName.REACTION_CHECK, n, due, due, limit, rule, met, lapsed, over)
