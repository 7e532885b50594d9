"""From the values of a file to the typed policy."""

from collections.abc import Mapping
from hashlib import sha256
from typing import Any, Final

from server.domain.policy.flatten import write_text
from server.domain.policy.keys import KEYS, Key, place_of, places
from server.domain.policy.typed import Policy, PolicyValue
from server.domain.words import Component

VERSION_LENGTH: Final = 12


def build_policy(
    name: str, title: str, description: str, values: Mapping[str, PolicyValue]
) -> Policy:
    """Make the typed policy from a complete set of checked values."""
    ordered = {place: values[place] for key in KEYS for place in places(key)}
    text = write_text(name, title, description, ordered)
    attributes: dict[str, Any] = {key.attribute: _typed(key, ordered) for key in KEYS}
    return Policy(
        name=name,
        title=title,
        description=description,
        version=sha256(text.encode()).hexdigest()[:VERSION_LENGTH],
        values=ordered,
        **attributes,
    )


def _typed(key: Key, values: Mapping[str, PolicyValue]) -> object:
    if not key.by_component:
        return key.type.typed(values[key.name].value)
    return {one: key.type.typed(values[place_of(key, one)].value) for one in Component}
