"""A unit brought into some phase, half an hour after the base."""

from server.domain.payloads import (
    Completed,
    IdentityChecked,
    Inspected,
    Paused,
    ReactionSuspected,
)
from tests.domain.builders import at
from tests.pages.hospital import Hospital
from tests.pages.recordings import MATCHED


def in_phase(hospital: Hospital, phase: str) -> None:
    """Bring unit `e1` so far, and the clock of the ward to half past ten."""
    charting = hospital.charting
    charting.open()
    hospital.clock.now = at(30, 20)
    if phase == "requested":
        return
    charting.issue()
    if phase == "checked":
        charting.observe(20)
        charting.record(22, Inspected())
        charting.record(24, IdentityChecked("nurse-1", MATCHED, "nurse-2"))
    if phase in ("issued", "checked"):
        return
    charting.observe(5)
    charting.start()
    if phase == "overdue":
        hospital.clock.now = at(41)
        charting.tick(at(41))
    if phase == "paused":
        charting.record(20, Paused())
    if phase == "reaction":
        charting.record(20, ReactionSuspected(("fever",)))
    if phase == "ended":
        charting.record(25, Completed())
