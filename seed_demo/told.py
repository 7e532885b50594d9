"""The shapes of a story: an order, and what was done with each of its units, minute by minute.

A minute is counted from the instant at which the demonstration begins: -20 is twenty minutes
before. Signs, Handed and Taken back stand for payloads that need the patient, the calendar or
the identity of an earlier fact; they are filled in when the story is told.
"""

from dataclasses import dataclass, field, replace

from server.domain.payloads import (
    Assigned,
    Available,
    CheckedItem,
    Confirmed,
    IdentityChecked,
    Inspected,
    Payload,
    Received,
    SetHung,
    Spiked,
    Started,
)
from server.domain.words import Component, Confirmation, Priority

LAB = "blood-bank"
CHARGE = "marlow"
ITEMS = ("name", "date of birth", "record number", "blood group", "unit number", "expiry")

CONFIRMED = (
    Confirmed(Confirmation.ORDER_CONSENT),
    Confirmed(Confirmation.GROUP_SAMPLE),
    Confirmed(Confirmation.ACCESS, "left forearm", "18G"),
)


@dataclass(frozen=True, slots=True)
class Signs:
    """A full set of vital signs as this patient usually has them, but for what is given."""

    temperature_c: float | None = None
    pulse_per_min: int | None = None
    systolic_mmhg: int | None = None
    symptoms: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Handed:
    """The unit is handed over; it left controlled storage at the minute `removed`."""

    removed: float


@dataclass(frozen=True, slots=True)
class TakenBack:
    """The fact labelled `label` was a mistake."""

    label: str
    reason: str


@dataclass(frozen=True, slots=True)
class Act:
    """One fact of a story. `recorded` is the minute it was charted, if not at once."""

    minute: float
    by: str
    what: Payload | Signs | Handed | TakenBack
    recorded: float | None = None
    label: str | None = None

    @property
    def told_at(self) -> float:
        """The minute at which the ward learns of it."""
        return self.minute if self.recorded is None else self.recorded


@dataclass(frozen=True, slots=True)
class Story:
    """An order, and the acts of each of its units."""

    key: str
    patient: str
    bed: str
    component: Component
    volume_ml: float
    asked: float
    units: tuple[tuple[Act, ...], ...]
    priority: Priority = Priority.ROUTINE
    wanted: float | None = None
    not_before: float | None = None
    max_rate_ml_h: float | None = None
    duration_minutes: int | None = None
    requirements: tuple[str, ...] = field(default=())


@dataclass(frozen=True, slots=True)
class Nurse:
    """Writes the acts of one nurse."""

    key: str

    def did(self, minute: float, *what: Payload | Signs) -> tuple[Act, ...]:
        """What the nurse did at a minute."""
        return tuple(Act(minute, self.key, one) for one in what)

    def took(self, *minutes: float) -> tuple[Act, ...]:
        """Full sets of vital signs, nothing remarkable."""
        return tuple(Act(minute, self.key, Signs()) for minute in minutes)


def called(
    nurse: str, *, removed: float, issued: float, ready: float | None = None
) -> tuple[Act, ...]:
    """A unit becomes ready, a nurse confirms what comes first, and it is handed over."""
    return (
        Act(removed - 25 if ready is None else ready, LAB, Available()),
        Act(removed - 2, CHARGE, Assigned(nurse)),
        *Nurse(nurse).did(removed - 1, *CONFIRMED),
        Act(issued, LAB, Handed(removed)),
        *Nurse(nurse).did(issued, Confirmed(Confirmation.COLLECTED)),
    )


def agreed(first: str, second: str | None, *, wrong: str | None = None) -> IdentityChecked:
    """An identity check of all items; `wrong` is the one that did not match."""
    items = tuple(CheckedItem(item, item != wrong) for item in ITEMS)
    return IdentityChecked(first, items, second)


def readied(
    nurse: str, second: str, *, received: float, baseline: float, checked: float
) -> tuple[Act, ...]:
    """A unit arrives, is looked at, hung up, and checked at the bedside by two."""
    at = Nurse(nurse)
    return (
        *at.did(received, Received()),
        *at.did(received + 2, Inspected(), SetHung()),
        *at.took(baseline),
        *at.did(checked, agreed(nurse, second)),
    )


def begun(
    nurse: str, second: str, *, removed: float, started: float, rate: float
) -> tuple[Act, ...]:
    """A unit from the blood bank to its start, as it should be done."""
    return (
        *called(nurse, removed=removed, issued=removed + 3),
        *readied(nurse, second, received=removed + 8, baseline=started - 9, checked=started - 4),
        *Nurse(nurse).did(started - 1, Spiked()),
        *Nurse(nurse).did(started, Started(rate, "left forearm")),
    )


def labelled(acts: tuple[Act, ...], label: str) -> tuple[Act, ...]:
    """The same acts, to be spoken of later."""
    return tuple(replace(act, label=label) for act in acts)


def charted_late(acts: tuple[Act, ...], recorded: float) -> tuple[Act, ...]:
    """The same acts, charted only at the minute `recorded`."""
    return tuple(replace(act, recorded=recorded) for act in acts)
