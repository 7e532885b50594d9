"""Values that contradict each other."""

from collections.abc import Iterator
from typing import Final

from server.domain.policy.keys import KEY
from server.domain.policy.lines import find_lines
from server.domain.policy.opened import OpenedFile
from server.domain.policy.pathway_checks import missing_steps
from server.domain.policy.typed import Policy

IN_ORDER: Final = (
    ("baseline.target_minutes", "baseline.limit_minutes"),
    ("first.opens_minutes", "first.due_minutes"),
    ("first.due_minutes", "first.limit_minutes"),
    ("end.due_minutes", "end.limit_minutes"),
    ("fate.due_minutes", "fate.limit_minutes"),
    ("work.carried_minutes", "work.porter_minutes"),
    ("work.carried_minutes", "work.fetch_minutes"),
    ("work.second_check_minutes", "work.check_and_start_minutes"),
)
EVERY: Final = "running.every_minutes"
EARLY: Final = "running.early_minutes"
STEPS: Final = "reaction.steps"
CLOSING: Final = "reaction.close_requires"
FROM: Final = "night.from"
UNTIL: Final = "night.until"


def refuse_contradictions(file: OpenedFile, policy: Policy) -> None:
    """Refuse the first two values that cannot both hold, on the line that this file gives."""
    for culprit, other, message in _contradictions(policy):
        stated = find_lines(file.text)
        here = next(key for key in (culprit, other) if KEY[key].path in stated)
        file.refuse((*KEY[here].path, "value"), message)


def _contradictions(policy: Policy) -> Iterator[tuple[str, str, str]]:
    shown = {key: value.value for key, value in policy.values.items()}
    for low, high in IN_ORDER:
        if getattr(policy, KEY[high].attribute) < getattr(policy, KEY[low].attribute):
            message = f"{shown[high]} is less than {low} ({shown[low]}); expected {low} <= {high}"
            yield high, low, f"{high}: {message}"
    if policy.running_every and policy.running_early >= policy.running_every:
        message = f"{shown[EARLY]} is not less than {EVERY} ({shown[EVERY]})"
        yield EARLY, EVERY, f"{EARLY}: {message}; expected {EARLY} < {EVERY}"
    unasked = policy.reaction_close_requires - set(policy.reaction_steps)
    if unasked:
        message = (
            f"{', '.join(sorted(unasked))} is not among {STEPS}; expected steps that are asked"
        )
        yield CLOSING, STEPS, f"{CLOSING}: {message}"
    if policy.night_from == policy.night_until:
        message = f"{shown[UNTIL]} is the same as {FROM}; expected another ward time"
        yield UNTIL, FROM, f"{UNTIL}: {message}"
    yield from missing_steps(policy)
