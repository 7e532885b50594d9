"""What the local policy wants done before a unit is started."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from server.domain.confirmations import missing_confirmations
from server.domain.errors import Refused
from server.domain.facts import Facts
from server.domain.payloads import Started
from server.domain.unit_check import check_unit
from server.domain.words import Phase

INSPECTED: Final = "inspected"
IDENTITY: Final = "identity_checked"
BASELINE: Final = "baseline"
HELD: Final = "held"
SUITS: Final = "group_sample"


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
        blocked += _overridable(facts, start)
    if blocked:
        raise Refused(
            f"The start is refused: {'; '.join(gap.detail for gap in blocked)}.", phase=Phase.ISSUED
        )


def gaps_before_start(facts: Facts, now: datetime) -> tuple[Gap, ...]:
    """Answer what still has to be done before this unit may be started at `now`."""
    return (*_held(facts, now), *_identity_failures(facts), *_undone(facts, now))


def overridden_at_start(facts: Facts) -> tuple[str, ...]:
    """Answer, in words, what a reason was given against when the unit was started; it stays."""
    episode = facts.episode
    if episode.started_at is None or not episode.override_reason:
        return ()
    return tuple(gap.detail for gap in _overridable(facts, episode.started_at))


def _overridable(facts: Facts, at: datetime) -> tuple[Gap, ...]:
    """What gives way to a recorded reason."""
    return (*_held(facts, at), *_undone(facts, at))


def _undone(facts: Facts, at: datetime) -> Iterator[Gap]:
    """What is missing, and what speaks against the bag."""
    yield from _missing(facts, at)
    yield from _inspection_findings(facts)
    yield from _unsuitable(facts, at)


def _unsuitable(facts: Facts, at: datetime) -> Iterator[Gap]:
    """What the table, the label and the order together say against the unit."""
    for finding in check_unit(facts.episode, facts.policy, facts.around, at).findings:
        if finding.stops:
            yield Gap(SUITS, finding.words)


def _held(facts: Facts, at: datetime) -> Iterator[Gap]:
    """A reaction that is suspected with another unit of the patient holds this one."""
    for one in facts.elsewhere:
        if one.is_open_at(at):
            yield Gap(
                HELD, f"a reaction is suspected with another unit of this patient ({one.place})"
            )


def _identity_failures(facts: Facts) -> Iterator[Gap]:
    identity = facts.episode.identity
    if identity is None:
        return
    if identity.mismatches:
        items = ", ".join(identity.mismatches).replace("_", " ")
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
