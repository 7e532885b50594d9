"""A suspected reaction with one of a patient's two units."""

from typing import Final

from server.domain.payloads import ReactionSuspected
from server.domain.words import Component
from tests.services.charting import BEFORE_START, Charting

SUSPECTED: Final = ReactionSuspected(("rigors",))


def two_units(charting: Charting) -> None:
    """Unit `e1` of `p1` runs in bed 4; `e2` of the same patient is issued and ready to start."""
    charting.open("e1")
    charting.issue("e1", unit_number="G0999")
    charting.observe(5)
    charting.start("e1")
    charting.open("e2", component=Component.PLASMA)
    charting.issue("e2", minute=20)
    for payload in BEFORE_START:
        charting.record(25, payload, "e2")
