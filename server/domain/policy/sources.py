"""Where a limit on the screen comes from."""

from server.domain.policy.keys import KEY, place_of, places
from server.domain.policy.typed import Policy
from server.domain.words import Component


def source_of(policy: Policy, key: str, component: Component | None = None) -> str:
    """Where a value comes from, in one sentence.

    `component` picks one value of a key by component, and means nothing for the other keys.
    Without it such a key answers all its sources, each once. Raises `KeyError` for a key that no
    policy has.
    """
    if component and KEY[key].by_component:
        return policy.values[place_of(KEY[key], component)].source
    stated = (key,) if key in policy.values else places(KEY[key])
    return "; ".join(dict.fromkeys(policy.values[place].source for place in stated))
