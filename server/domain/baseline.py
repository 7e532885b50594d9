"""The values from before the start that later signs are compared with."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final

from server.domain.episode import Episode
from server.domain.events import Event
from server.domain.observations import SIGNS, missing_signs
from server.domain.payloads import Observed
from server.domain.policy import Policy


@dataclass(frozen=True, slots=True)
class Before:
    """The value of one sign before the start, and when it was taken."""

    value: Any
    at: datetime


@dataclass(frozen=True, slots=True)
class Baseline:
    """What later sets are compared with.

    `event` is the set that meets the baseline check, else the last full set before the start,
    None where there is neither. `signs` holds the value of each sign by its field: of that set,
    or for a sign that it lacks the last one before the start. `symptoms` were there with that
    set or since.
    """

    event: Event | None
    signs: Mapping[str, Before]
    symptoms: frozenset[str]

    def value(self, field: str) -> Any:
        """The value of a sign before the start, None where it was not taken."""
        before = self.signs.get(field)
        return None if before is None else before.value


NOTHING_BEFORE: Final = Baseline(None, {}, frozenset())


def baseline_of(episode: Episode, policy: Policy) -> Baseline:
    """Answer the baseline of a unit; nothing before it is started."""
    start = episode.started_at
    if start is None:
        return NOTHING_BEFORE
    before = [event for event in episode.observations if event.happened_at <= start]
    chosen = _chosen(before, policy)
    latest = [*before, chosen] if chosen is not None else before
    since = before if chosen is None else before[before.index(chosen) :]
    return Baseline(chosen, dict(_values(latest)), _symptoms(since))


def _chosen(before: list[Event], policy: Policy) -> Event | None:
    """The last full set: inside the window of the check if there is one, else before it."""
    full = [
        event
        for event in before
        if isinstance(event.payload, Observed)
        and not missing_signs(event.payload, policy.observations_required)
    ]
    return full[-1] if full else None


def _values(events: Iterable[Event]) -> Iterable[tuple[str, Before]]:
    """Every value in order, so that the last one of a sign stands."""
    for event in events:
        for name in SIGNS:
            value = getattr(event.payload, name)
            if value is not None:
                yield name, Before(value, event.happened_at)


def _symptoms(events: Iterable[Event]) -> frozenset[str]:
    return frozenset(
        symptom
        for event in events
        if isinstance(event.payload, Observed)
        for symptom in event.payload.symptoms
    )
