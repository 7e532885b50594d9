"""Judge whether what is stored is whole: units, bags, the log, revisions, the audit trail."""

from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta
from typing import Final

from server.domain.invariants.finding import Finding, ago, broken, holds, of_each
from server.domain.invariants.words import Invariant

UNCHECKED_TRAIL: Final = timedelta(hours=3)
PAIRS_TOLD: Final = 3


def units_readable(subjects: Sequence[str]) -> Finding:
    """Of the units that could not be worked out."""
    return of_each(
        Invariant.UNITS_READABLE,
        subjects,
        "every one can be worked out",
        "unit cannot be worked out",
        "units cannot be worked out",
    )


def rows_as_facts(subjects: Sequence[str], walked: str) -> Finding:
    """Of the units whose rows differ; `walked` says how far everything has been looked at."""
    return of_each(
        Invariant.ROWS_AS_FACTS, subjects, walked, "unit’s row differs", "units’ rows differ"
    )


def orders_as_units(subjects: Sequence[str]) -> Finding:
    """Of the units of which the order cannot be read, or says something else."""
    return of_each(
        Invariant.ORDERS_AS_UNITS,
        subjects,
        "none says anything else",
        "unit’s order says something else",
        "units’ orders say something else",
    )


def units_have_clocks(subjects: Sequence[str]) -> Finding:
    """Of the live units without clocks, or without an instant at which they change."""
    return of_each(
        Invariant.UNITS_HAVE_CLOCKS,
        subjects,
        "every one has them",
        "live unit has none",
        "live units have none",
    )


def bags_held_once(words: Sequence[str]) -> Finding:
    """Of the pairs of units that hold one bag, a sentence for each."""
    told = Invariant.BAGS_HELD_ONCE
    if not words:
        return holds(told, "each is with one unit")
    more = len(words) - PAIRS_TOLD
    said = (*words[:PAIRS_TOLD], f"and {more} more") if more > 0 else words
    return broken(told, "; ".join(said), len(words))


def log_whole(missing: int, after: int, place: int) -> Finding:
    """Of the places in the log that are empty, the first of them somewhere `after` a place.

    It was looked at up to `place`.
    """
    told = Invariant.LOG_WHOLE
    if missing:
        lacks = "1 fact is" if missing == 1 else f"{missing} facts are"
        return broken(told, f"{lacks} missing, the first after place {after}", missing)
    return holds(told, f"no gap up to place {place}")


def revisions_go_on(
    now: Mapping[str, int], before: Mapping[str, int], stamped: Mapping[str, int]
) -> Finding:
    """Of the revisions of wards: as they are, as they were, and the newest that anything bears."""
    fallen = [
        ward_id for ward_id, revision in now.items() if revision < before.get(ward_id, revision)
    ]
    beyond = [ward_id for ward_id, revision in stamped.items() if revision > now.get(ward_id, 0)]
    return of_each(
        Invariant.REVISIONS_GO_ON,
        sorted({*fallen, *beyond}),
        "they do on every ward",
        "ward whose count went back",
        "wards whose counts went back",
    )


def audit_whole(
    checked_at: datetime | None, fault: str, place: int, now: datetime, *, is_served: bool
) -> Finding:
    """Of the hourly check of the chain: up to where it is whole, and the words for a break.

    `is_served`: a process of the board runs, which should have checked it.
    """
    told = Invariant.AUDIT_WHOLE
    if fault:
        return broken(told, f"the chain is broken: {fault}")
    if checked_at is None:
        return holds(told, "it has not been checked yet")
    words = f"whole up to row {place}, checked {ago(checked_at, now)} ago"
    is_late = is_served and now - checked_at > UNCHECKED_TRAIL
    return broken(told, words) if is_late else holds(told, words)
