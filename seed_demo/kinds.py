"""Which kind of event a payload belongs to."""

from typing import Final

from server.domain.payloads import PAYLOADS, Payload
from server.domain.words import Kind

_KINDS: Final[dict[type[Payload], Kind]] = {shape: kind for kind, shape in PAYLOADS.items()}


def kind_of(payload: Payload) -> Kind:
    """The kind of event that carries such a payload."""
    return _KINDS[type(payload)]
