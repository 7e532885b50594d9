"""One fact about an episode or a patient, as it stands in the log."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from operator import attrgetter
from typing import Final

from server.domain.payloads import Payload, Voided
from server.domain.words import Kind


@dataclass(frozen=True, slots=True)
class Event:
    """A fact that is never changed.

    `happened_at` is bedside time and `recorded_at` server time, both UTC to the second.
    `episode_id` is None for a fact that was recorded on the patient. `position` is the place in
    the log and breaks ties, so that facts of one second keep the order they were recorded in.
    """

    id: str
    kind: Kind
    happened_at: datetime
    recorded_at: datetime
    payload: Payload
    recorded_by: str
    position: int
    staff_id: str | None = None
    episode_id: str | None = None

    @property
    def order(self) -> tuple[datetime, datetime, int]:
        """The order in which facts are folded."""
        return (self.happened_at, self.recorded_at, self.position)

    def is_late_entry(self, allowed: timedelta) -> bool:
        """Whether it was recorded more than `allowed` after it happened."""
        return self.recorded_at - self.happened_at > allowed


ORDER: Final = attrgetter("happened_at", "recorded_at", "position")
"""`Event.order` as a key to sort by, in half the time."""


def sorted_live(events: Iterable[Event]) -> list[Event]:
    """Answer the events that count, in bedside order: voided ones and the voids are absent."""
    listed = list(events)
    voided = voided_ids(listed)
    live = [item for item in listed if item.kind is not Kind.VOIDED and item.id not in voided]
    live.sort(key=ORDER)
    return live


def voided_ids(events: Iterable[Event]) -> set[str]:
    """Answer the ids of the events that were voided; a void that was voided itself voids nothing.

    A void names a fact recorded before it, so that the last one recorded always stands.
    """
    voids = [
        (item.position, item.id, item.payload.event_id)
        for item in events
        if isinstance(item.payload, Voided)
    ]
    voided: set[str] = set()
    for _, void_id, event_id in sorted(voids, reverse=True):
        if void_id not in voided:
            voided.add(event_id)
    return voided
