"""One link of the chain of facts that led to a breach."""

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum


class Fact(StrEnum):
    """What kind of fact it is. `COUNTED` and the outcomes frame the chain and say no why."""

    COUNTED = "counted"
    DONE_LATE = "done_late"
    NOT_DONE = "not_done"
    LATE_ENTRY = "late_entry"
    NOBODY = "nobody"
    NURSE_BUSY = "nurse_busy"
    STARTS_COLLIDED = "starts_collided"
    OTHER_SETS = "other_sets"
    OTHER_REACTION = "other_reaction"
    HANDOVER = "handover"
    BREAK = "break"
    DUTY = "duty"
    OFF_SHIFT = "off_shift"
    RECEIVED_LATE = "received_late"
    IDENTITY_AGAIN = "identity_again"
    HELD = "held"
    PLANNED_LATE = "planned_late"
    LATER_THAN_PLANNED = "later_than_planned"
    REACTION = "reaction"
    STARTED_LATE = "started_late"
    TOO_LITTLE_LEFT = "too_little_left"
    SLOW_FOR_LONG = "slow_for_long"
    RATE_TOO_LOW = "rate_too_low"
    RATE_LOWERED = "rate_lowered"
    PAUSED = "paused"
    HUNG_EMPTY = "hung_empty"
    PARTIAL_SET = "partial_set"
    EARLY_SET = "early_set"


FRAME = frozenset({Fact.COUNTED, Fact.DONE_LATE, Fact.NOT_DONE})


@dataclass(frozen=True, slots=True)
class Link:
    """A fact with its instants, what it rests on, and its words, without anybody's name.

    `until_at` None: it is one instant. `episode_ids` are other units, `event_ids` facts of the
    record, `shift_id` an entered shift.
    """

    fact: Fact
    from_at: datetime
    words: str
    until_at: datetime | None = None
    episode_ids: tuple[str, ...] = ()
    event_ids: tuple[str, ...] = ()
    shift_id: str | None = None
