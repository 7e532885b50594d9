"""The pathway of a unit: its steps in order, which one is present, and what was done in each."""

from dataclasses import dataclass
from typing import Final

from server.domain.clock import OWED
from server.domain.observations import full_set_instants
from server.domain.picture import Picture
from server.domain.words import ClockName, Kind, Phase


@dataclass(frozen=True, slots=True)
class Step:
    """One step, and the kinds of event that are recorded in it."""

    key: str
    title: str
    kinds: tuple[Kind, ...]


STEPS: Final = (
    Step("available", "Ready at the blood bank", (Kind.AVAILABLE, Kind.CANCELLED)),
    Step("issue", "Issue", (Kind.ISSUED,)),
    Step("receipt", "Receipt on the ward", (Kind.RECEIVED,)),
    Step("inspection", "Inspection of the bag", (Kind.INSPECTED,)),
    Step("identity", "Identity check at the bedside", (Kind.IDENTITY_CHECKED,)),
    Step("baseline", "Baseline observations", (Kind.OBSERVED,)),
    Step("line", "Bag spiked, giving set hung", (Kind.SPIKED, Kind.SET_HUNG)),
    Step("start", "Start", (Kind.STARTED,)),
    Step("first", "First check", (Kind.OBSERVED,)),
    Step(
        "running",
        "While it runs",
        (
            Kind.OBSERVED,
            Kind.RATE_SET,
            Kind.VOLUME_READ,
            Kind.PAUSED,
            Kind.RESUMED,
            Kind.SET_CHANGED,
        ),
    ),
    Step("end", "End of the unit", (Kind.COMPLETED, Kind.STOPPED)),
    Step("flush", "Flush", (Kind.FLUSHED,)),
    Step("after", "End observations", (Kind.OBSERVED,)),
    Step("bag", "Where the bag went", (Kind.FATE, Kind.RETURNED, Kind.DISCARDED)),
)
GIVING: Final = frozenset({Phase.RUNNING, Phase.PAUSED})
NOTHING: Final = ""


def present_step(picture: Picture) -> str:
    """Answer the key of the step that is to be done, empty when nothing is."""
    phase = picture.episode.phase
    if phase is Phase.REQUESTED:
        return "available"
    if phase is Phase.AVAILABLE:
        return "issue"
    if phase is Phase.ISSUED:
        return _before_start(picture)
    if phase in GIVING:
        return _while_given(picture)
    return _after_the_end(picture)


def _before_start(picture: Picture) -> str:
    episode = picture.episode
    if episode.received_at is None:
        return "receipt"
    if episode.inspection is None:
        return "inspection"
    if not _identity_stands(picture):
        return "identity"
    if not has_fresh_baseline(picture):
        return "baseline"
    return "line" if episode.spiked_at is None else "start"


def _identity_stands(picture: Picture) -> bool:
    identity = picture.episode.identity
    alone = identity is not None and identity.second_by is None
    if alone and picture.case.policy.identity_checkers > 1:
        return False
    return identity is not None and identity.passed


def has_fresh_baseline(picture: Picture) -> bool:
    """Whether a full set would still serve as the baseline of a start at the picture's instant."""
    policy, now = picture.case.policy, picture.standing.now
    sets = full_set_instants(picture.episode.observations, policy.observations_required)
    return any(now - policy.baseline_limit <= at <= now for at in sets)


def _while_given(picture: Picture) -> str:
    if picture.episode.reaction_at is not None or _is_over(picture):
        return "end"
    if picture.episode.phase is Phase.PAUSED:
        return "running"
    return "first" if _is_owed(picture, ClockName.FIRST_CHECK) else "running"


def _is_over(picture: Picture) -> bool:
    """Whether the bag is empty by the rates, or its finish limit has passed."""
    limit, left = picture.standing.finish_limit_at, picture.infusion.left_ml
    past = limit is not None and picture.standing.now > limit
    return past or (left is not None and left <= 0)


def _after_the_end(picture: Picture) -> str:
    if picture.episode.ended_at is None:
        return NOTHING
    if _is_owed(picture, ClockName.END_CHECK):
        return "after"
    return "bag" if picture.episode.fate is None else NOTHING


def _is_owed(picture: Picture, name: ClockName) -> bool:
    return any(clock.name is name and state in OWED for clock, state in picture.clocks)
