"""Invented lives of units, told by minutes from their removal."""

from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta
from typing import Final

from server.domain.events import Event
from server.domain.payloads import (
    PAYLOADS,
    Acknowledged,
    Assigned,
    Available,
    CheckedItem,
    Completed,
    FateRecorded,
    IdentityChecked,
    Inspected,
    Issued,
    Note,
    Observed,
    Paused,
    Payload,
    RateSet,
    Received,
    Resumed,
    SetHung,
    Spiked,
    Started,
    VolumeRead,
)
from server.domain.words import ClockName, Consciousness, Fate

Story = Sequence[tuple[int, Payload]]

KIND_OF: Final = {payload: kind for kind, payload in PAYLOADS.items()}
FULL: Final = Observed(
    temperature_c=36.8,
    pulse_per_min=78,
    respirations_per_min=16,
    systolic_mmhg=124,
    diastolic_mmhg=76,
    spo2_percent=97,
    consciousness=Consciousness.ALERT,
)
CHECKED: Final = IdentityChecked(
    first_by="n1", second_by="n2", items=(CheckedItem("name", matched=True),)
)

ISSUED: Final[Story] = (
    (0, Issued()),
    (6, Received()),
    (8, Inspected()),
    (9, CHECKED),
    (10, FULL),
)
RUNNING: Final[Story] = (
    *ISSUED,
    (12, SetHung()),
    (12, Spiked()),
    (13, Started(rate_ml_h=60)),
    (28, FULL),
    (30, RateSet(rate_ml_h=110)),
)
ENDED: Final[Story] = (
    *RUNNING,
    (60, FULL),
    (90, VolumeRead(given_ml=125)),
    (92, FULL),
    (120, FULL),
    (150, FULL),
    (178, Completed(given_ml=280)),
    (190, FULL),
)
CLOSED: Final[Story] = (*ENDED, (200, FateRecorded(fate=Fate.TRANSFUSED)))
THIRTY_EVENTS: Final[Story] = (
    (-30, Available()),
    *RUNNING[:8],
    (14, Assigned(nurse_id="n1")),
    *RUNNING[8:],
    (40, FULL),
    (50, VolumeRead(given_ml=52)),
    (60, FULL),
    (70, Paused(reason="line checked")),
    (75, Resumed()),
    (80, FULL),
    (95, RateSet(rate_ml_h=105)),
    (100, FULL),
    (105, Note(text="comfortable")),
    (110, VolumeRead(given_ml=130)),
    (112, Assigned(nurse_id="n2")),
    (120, FULL),
    (125, Acknowledged(clock=ClockName.RUNNING_CHECK, staff_id="n2")),
    (140, FULL),
    (150, RateSet(rate_ml_h=95)),
    (160, FULL),
    (170, VolumeRead(given_ml=235)),
    (180, FULL),
    (205, Completed(given_ml=280)),
)


def told(
    story: Story, begun: datetime, episode_id: str, *, after: int = 0, until: datetime | None = None
) -> list[Event]:
    """The events of a story that began at `begun`, as far as `until`; places from `after` on."""
    dated = ((begun + timedelta(minutes=minutes), payload) for minutes, payload in story)
    heard = ((at, payload) for at, payload in dated if until is None or at <= until)
    return [
        _event(place, at, payload, episode_id)
        for place, (at, payload) in enumerate(heard, after + 1)
    ]


def instants(events: Iterable[Event]) -> list[datetime]:
    """When they happened."""
    return [event.happened_at for event in events]


def _event(place: int, at: datetime, payload: Payload, episode_id: str) -> Event:
    return Event(
        id=f"v{place}",
        kind=KIND_OF[type(payload)],
        happened_at=at,
        recorded_at=at,
        payload=payload,
        recorded_by="n1",
        position=place,
        staff_id="n1",
        episode_id=episode_id,
    )
