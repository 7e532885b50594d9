"""What the log tells, parted for the paper: every event has one place and none is left out."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from server.domain.events import Event, voided_ids
from server.domain.words import Kind
from server.pages.episodes.history import HistoryRow, history_rows
from server.pages.episodes.sentences import Speech
from server.services.read_episode import EpisodeRead

FLOW: Final = frozenset(
    {
        Kind.STARTED,
        Kind.RATE_SET,
        Kind.VOLUME_READ,
        Kind.PAUSED,
        Kind.RESUMED,
        Kind.STOPPED,
        Kind.COMPLETED,
    }
)
"""What changes the rate or says what ran in."""
REACTION: Final = frozenset({Kind.REACTION_SUSPECTED, Kind.REACTION_STEP, Kind.REACTION_CLOSED})
STEPS_TOO: Final = frozenset({Kind.STARTED, Kind.STOPPED, Kind.COMPLETED})
"""What changes the flow and is a step of the pathway as well."""
_ELSEWHERE: Final = (FLOW - STEPS_TOO) | REACTION | {Kind.OBSERVED, Kind.VOIDED}


@dataclass(frozen=True, slots=True)
class Told:
    """One event and how the history of the unit says it."""

    event: Event
    row: HistoryRow


@dataclass(frozen=True, slots=True)
class Parted:
    """All events in bedside order: the live ones by their place on the paper, and the voided."""

    course: tuple[Told, ...]
    signs: tuple[Told, ...]
    flow: tuple[Told, ...]
    reaction: tuple[Told, ...]
    voided: tuple[Told, ...]

    @property
    def late(self) -> int:
        """How many live entries were recorded late."""
        live = (*self.course, *self.signs, *self.flow, *self.reaction)
        return len({one.event.id for one in live if one.row.late})


def parted(read: EpisodeRead, speech: Speech) -> Parted:
    """Answer the events of a unit parted; signs are the sets that are shown with the unit."""
    late = read.picture.case.policy.charting_late
    rows = history_rows(read.events, read.voided_by, late, speech)
    events = sorted(read.events, key=lambda event: event.order)
    told = [Told(event, row) for event, row in zip(events, reversed(rows), strict=True)]
    voided = voided_ids(read.events)
    live = [one for one in told if one.event.id not in voided]
    shown = {event.id for event in read.observations}
    return Parted(
        course=tuple(one for one in live if one.event.kind not in _ELSEWHERE),
        signs=tuple(one for one in live if one.event.id in shown),
        flow=_of(live, FLOW),
        reaction=_of(live, REACTION),
        voided=tuple(one for one in told if one.event.id in voided),
    )


def _of(told: Iterable[Told], kinds: frozenset[Kind]) -> tuple[Told, ...]:
    return tuple(one for one in told if one.event.kind in kinds)
