"""The confirmed steps of the pathway: when each may be confirmed, and the words for its lack.

A new one is a member of `Confirmation` and an entry here.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from server.domain.facts import Facts
from server.domain.payloads import Confirmed, Payload
from server.domain.words import Confirmation, Phase

_BEFORE_START: Final = frozenset({Phase.REQUESTED, Phase.AVAILABLE, Phase.ISSUED})
_GIVING: Final = frozenset({Phase.RUNNING, Phase.PAUSED})


@dataclass(frozen=True, slots=True)
class ConfirmedStep:
    """One confirmed step. `missing` completes "The start is refused: …", empty: never required."""

    phases: frozenset[Phase]
    missing: str = ""


STEPS: Final[dict[Confirmation, ConfirmedStep]] = {
    Confirmation.ORDER_CONSENT: ConfirmedStep(
        _BEFORE_START, "order and consent were not confirmed"
    ),
    Confirmation.GROUP_SAMPLE: ConfirmedStep(
        _BEFORE_START, "group and sample were not confirmed as valid"
    ),
    # A cannula that is placed anew while blood runs is checked again.
    Confirmation.ACCESS: ConfirmedStep(_BEFORE_START | _GIVING, "line and access were not checked"),
    Confirmation.COLLECTED: ConfirmedStep(frozenset({Phase.ISSUED})),
    Confirmation.RATE_REVIEWED: ConfirmedStep(_GIVING),
    Confirmation.REASSESSED: ConfirmedStep(frozenset({Phase.ENDED, Phase.CLOSED})),
}


def phases_of(payload: Payload) -> frozenset[Phase] | None:
    """Answer the phases that allow a confirmation, None for any other payload."""
    return STEPS[payload.step].phases if isinstance(payload, Confirmed) else None


def missing_confirmations(facts: Facts) -> Iterator[tuple[Confirmation, str]]:
    """Answer the confirmations that the policy requires before the start and that are missing."""
    for step, one in STEPS.items():
        if step in facts.policy.start_requires and step not in facts.episode.confirmed:
            yield step, one.missing
