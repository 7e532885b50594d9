"""What the local policy wants done before a unit is started."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from server.domain.confirmations import missing_confirmations
from server.domain.errors import Refused
from server.domain.facts import Facts
from server.domain.payloads import Started
from server.domain.words import Phase

INSPECTED: Final = "inspected"
IDENTITY: Final = "identity_checked"
BASELINE: Final = "baseline"


@dataclass(frozen=True, slots=True)
class Gap:
    """Something that has to come before the start: which step of the pathway, and in words."""

    step: str
    detail: str


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
        raise Refused(
            f"The start is refused: {'; '.join(gap.detail for gap in blocked)}.", phase=Phase.ISSUED
        )


def missing_before_start(facts: Facts, now: datetime) -> tuple[str, ...]:
    """Answer, in words, what still has to be done before this unit may be started at `now`."""
    return tuple(gap.detail for gap in gaps_before_start(facts, now))


def gaps_before_start(facts: Facts, now: datetime) -> tuple[Gap, ...]:
    """Answer the same with the step of the pathway in which each is done."""
    return (*_identity_failures(facts), *_missing(facts, now), *_inspection_findings(facts))


def _identity_failures(facts: Facts) -> Iterator[Gap]:
    identity = facts.episode.identity
    if identity is None:
        return
    if identity.mismatches:
        items = ", ".join(identity.mismatches)
        yield Gap(IDENTITY, f"the identity check found a mismatch ({items})")
    if identity.interrupted:
        yield Gap(IDENTITY, "the identity check was interrupted and starts again from the top")


def _missing(facts: Facts, start: datetime) -> Iterator[Gap]:
    required, episode = facts.policy.start_requires, facts.episode
    for step, words in missing_confirmations(facts):
        yield Gap(step, words)
    if INSPECTED in required and episode.inspection is None:
        yield Gap(INSPECTED, "the bag was not inspected")
    if IDENTITY in required:
        yield from _missing_checkers(facts)
    if BASELINE in required and not _has_baseline(facts, start):
        yield Gap(BASELINE, "baseline observations are missing")


def _missing_checkers(facts: Facts) -> Iterator[Gap]:
    identity, checkers = facts.episode.identity, facts.policy.identity_checkers
    if identity is None:
        people = "two people" if checkers > 1 else "one person"
        yield Gap(IDENTITY, f"identity was not checked by {people} at the bedside")
    elif checkers > 1 and identity.second_by is None:
        yield Gap(IDENTITY, "identity was checked by one person and the policy asks for two")


def _has_baseline(facts: Facts, start: datetime) -> bool:
    return any(start - facts.policy.baseline_limit <= at <= start for at in facts.sets)


def _inspection_findings(facts: Facts) -> Iterator[Gap]:
    inspection = facts.episode.inspection
    if inspection is not None and inspection.findings:
        yield Gap(INSPECTED, f"the bag is not sound ({', '.join(inspection.findings)})")
