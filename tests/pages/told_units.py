"""Units told from request to fate, for the record for the notes."""

from dataclasses import replace
from typing import Final

from server.domain.payloads import (
    Assigned,
    CauseGiven,
    Completed,
    Confirmed,
    FateRecorded,
    Flushed,
    IdentityChecked,
    Inspected,
    Issued,
    Note,
    Observed,
    Payload,
    RateSet,
    ReactionClosed,
    ReactionStep,
    ReactionSuspected,
    Received,
    SetHung,
    Spiked,
    Started,
    Stopped,
    Voided,
    VolumeRead,
)
from server.domain.words import BloodGroup, ClockName, Confirmation, Fate
from tests.domain.builders import FULL, at
from tests.pages.hospital import Hospital
from tests.pages.recordings import MATCHED
from tests.pages.sets import WHOLE
from tests.services.people import COLLEAGUE, PROGRAM

LABEL: Final = Issued(at(-3), "A999926123456", "E0336", BloodGroup.O_NEG, at(900), 280)
BEFORE: Final[tuple[tuple[float, Payload], ...]] = (
    (-30, Assigned("nurse-1")),
    (-20, Confirmed(Confirmation.ORDER_CONSENT)),
    (-19, Confirmed(Confirmation.GROUP_SAMPLE)),
    (-18, Confirmed(Confirmation.ACCESS, "left forearm", "18G")),
    (2, Received()),
    (3, Inspected()),
    (5, WHOLE),
    (6, IdentityChecked("nurse-1", MATCHED, "nurse-2")),
    (7, Spiked()),
    (7, SetHung()),
)
GIVEN: Final[tuple[tuple[float, Payload], ...]] = (
    (10, Started(60)),
    (25, replace(WHOLE, pulse_per_min=92)),
    (26, RateSet(150)),
    (70, VolumeRead(100)),
    (84, FULL),
    (130, Completed(280)),
    (132, Flushed(5)),
    (140, replace(WHOLE, temperature_c=37.2)),
    (150, FateRecorded(Fate.TRANSFUSED)),
)


def give(hospital: Hospital, *, sets: int = 0) -> None:
    """A unit that went as it should, with so many sets more while it ran; shown at 14:00."""
    checked(hospital)
    for minute, payload in GIVEN:
        hospital.charting.record(minute, payload)
    for place in range(sets):
        hospital.charting.record(30 + place * 10, WHOLE, now=200)
    hospital.clock.now = at(240)


def checked(hospital: Hospital) -> None:
    """A unit issued, checked and hung, and not started."""
    hospital.charting.open()
    hospital.charting.record(0, LABEL, actor=PROGRAM)
    for minute, payload in BEFORE:
        hospital.charting.record(minute, payload)
    hospital.clock.now = at(9)


def react(hospital: Hospital) -> None:
    """A unit stopped for a suspected reaction, closed with its outcome; nobody gave a cause."""
    checked(hospital)
    for minute, payload in (
        (10, Started(60)),
        (25, WHOLE),
        (40, ReactionSuspected(("fever", "rigors"))),
        (41, ReactionStep("stop")),
        (41, Stopped("suspected reaction", 32)),
        (44, ReactionStep("tell_clinician")),
        (46, ReactionStep("wife told on the telephone")),
        (47, replace(WHOLE, temperature_c=38.6)),
        (60, ReactionClosed("febrile reaction", "mild")),
        (75, FateRecorded(Fate.PART_TRANSFUSED)),
    ):
        hospital.charting.record(minute, payload)
    hospital.clock.now = at(240)


def mend(hospital: Hospital) -> None:
    """A unit with late entries, a note of another patient voided, and a breach with its cause."""
    checked(hospital)
    charting = hospital.charting
    charting.record(10, Started(60))
    wrong = charting.record(12, Note("for bed 5"), actor=COLLEAGUE)
    charting.record(14, Voided(wrong.event_id, "another patient"))
    charting.record(45, WHOLE)
    charting.record(26, Observed(pulse_per_min=88), now=50)
    charting.record(30, RateSet(150), now=75, staff_id="nurse-2")
    charting.record(60, Note("asleep"))
    charting.record(63, CauseGiven(ClockName.FIRST_CHECK, "no second checker", "both at bed 2"))
    hospital.clock.now = at(80)
