"""What the local policy wants done before a unit is started."""

from collections.abc import Iterator
from datetime import datetime

from server.domain.errors import Refused
from server.domain.facts import Facts
from server.domain.payloads import Started
from server.domain.words import Phase


def require_start(facts: Facts, started: Started) -> None:
    """Raise `Refused` if `facts`, the start included, lack what has to come before it.

    A mismatch or an interrupted identity check is never overridden: check again from the top.
    Everything else gives way to `override_reason`, which stays visible.
    """
    start = facts.episode.started_at
    if start is None:
        raise ValueError("the start itself is not among the facts")
    blocked = list(_identity_failures(facts))
    if not started.override_reason:
        blocked += [*_missing(facts, start), *_inspection_findings(facts)]
    if blocked:
        raise Refused(f"The start is refused: {'; '.join(blocked)}.", phase=Phase.ISSUED)


def missing_before_start(facts: Facts, now: datetime) -> tuple[str, ...]:
    """Answer, in words, what still has to be done before this unit may be started at `now`."""
    return (*_identity_failures(facts), *_missing(facts, now), *_inspection_findings(facts))


def _identity_failures(facts: Facts) -> Iterator[str]:
    identity = facts.episode.identity
    if identity is None:
        return
    if identity.mismatches:
        yield f"the identity check found a mismatch ({', '.join(identity.mismatches)})"
    if identity.interrupted:
        yield "the identity check was interrupted and starts again from the top"


def _missing(facts: Facts, start: datetime) -> Iterator[str]:
    required, episode = facts.policy.start_requires, facts.episode
    if "inspected" in required and episode.inspection is None:
        yield "the bag was not inspected"
    if "identity_checked" in required:
        yield from _missing_checkers(facts)
    if "baseline" in required and not _has_baseline(facts, start):
        yield "baseline observations are missing"


def _missing_checkers(facts: Facts) -> Iterator[str]:
    identity, checkers = facts.episode.identity, facts.policy.identity_checkers
    if identity is None:
        people = "two people" if checkers > 1 else "one person"
        yield f"identity was not checked by {people} at the bedside"
    elif checkers > 1 and identity.second_by is None:
        yield "identity was checked by one person and the policy asks for two"


def _has_baseline(facts: Facts, start: datetime) -> bool:
    return any(start - facts.policy.baseline_limit <= at <= start for at in facts.sets)


def _inspection_findings(facts: Facts) -> Iterator[str]:
    inspection = facts.episode.inspection
    if inspection is not None and inspection.findings:
        yield f"the bag is not sound ({', '.join(inspection.findings)})"
