"""Facts that say all by their name: what one press on the page of a unit may record together."""

from collections.abc import Sequence
from typing import Final

from server.domain.errors import Invalid
from server.domain.payloads import (
    PAYLOADS,
    Available,
    Confirmed,
    Discarded,
    FateRecorded,
    Inspected,
    Payload,
    Received,
    Returned,
    SetHung,
    Spiked,
)
from server.domain.policy.keys import DROPS
from server.domain.words import Confirmation, Fate, Kind
from server.pages.refusals import FORM

DISPOSED: Final = "empty bag disposed of"
MOST: Final = 5

BARE: Final[dict[str, Payload]] = {
    "available": Available(),
    "received": Received(),
    "sound": Inspected(),
    "spiked": Spiked(),
    "set_hung": SetHung(),
    **{f"set_hung_{drops}": SetHung(int(drops)) for drops in DROPS},
    "disposed": Discarded(DISPOSED),
    "returned": Returned(),
    **{f"confirmed_{step}": Confirmed(step) for step in Confirmation},
    **{f"fate_{fate}": FateRecorded(fate) for fate in Fate},
}
_KIND: Final = {payload: kind for kind, payload in PAYLOADS.items()}


def bare_facts(names: Sequence[str]) -> tuple[tuple[Kind, Payload], ...]:
    """Answer the facts of these names, each once, in their order. Raises `Invalid`."""
    known = all(name in BARE for name in names)
    if not known or not 0 < len(names) <= MOST or len(set(names)) < len(names):
        raise Invalid(FORM, "There is no such fact.")
    return tuple((_KIND[type(BARE[name])], BARE[name]) for name in names)
