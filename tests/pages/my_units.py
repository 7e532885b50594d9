"""The units of one nurse, for the tests of their list and of what changes hands."""

from tests.domain.builders import at
from tests.pages.hospital import Hospital


def busy(hospital: Hospital, minute: float = 27) -> Hospital:
    """The nurse has `e1` running with its first check due at 25 min, and waits for `e2`."""
    charting = hospital.charting
    charting.run(nurse_id="nurse-1")
    charting.open("e2", "p2", bed="12", nurse_id="nurse-1")
    hospital.clock.now = at(minute)
    return hospital
