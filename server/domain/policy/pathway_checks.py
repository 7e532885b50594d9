"""Steps that a policy cannot leave out: without them no unit is given, or it requires them."""

from collections.abc import Iterator
from typing import Final

from server.domain.policy.typed import Policy

STEPS: Final = "pathway.steps"
REQUIRES: Final = "start.requires"
ALWAYS: Final = (
    "received",
    "identity_checked",
    "baseline",
    "started",
    "first_check",
    "running_checks",
    "finished",
    "end_set",
    "fate",
)
_STEP_OF: Final = {"inspected": "received"}


def missing_steps(policy: Policy) -> Iterator[tuple[str, str, str]]:
    """Answer the key at fault, the other key and the message for each step that has to be shown."""
    for step in ALWAYS:
        if step not in policy.pathway_steps:
            yield STEPS, STEPS, f"{STEPS}: {step} is left out; no unit can be given without it"
    for required in sorted(policy.start_requires):
        step = _STEP_OF.get(required, required)
        if step not in policy.pathway_steps:
            message = f"{step} is left out, though {REQUIRES} asks for {required}; expected it"
            yield STEPS, REQUIRES, f"{STEPS}: {message}"
