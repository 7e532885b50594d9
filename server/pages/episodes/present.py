"""Which step of the pathway is to be done now."""

from collections.abc import Callable
from typing import Final

from server.domain.clock import OWED
from server.domain.events import Event, sorted_live
from server.domain.observations import full_set_instants
from server.domain.payloads import Confirmed
from server.domain.picture import Picture
from server.domain.words import ClockName, Confirmation, Kind, Phase
from server.pages.episodes.pathway import asked_steps

UNSTARTED: Final = frozenset({Phase.REQUESTED, Phase.AVAILABLE, Phase.ISSUED})
GIVING: Final = frozenset({Phase.RUNNING, Phase.PAUSED})
NOTHING: Final = ""
_CHECKS: Final = {"first": ClockName.FIRST_CHECK, "after": ClockName.END_CHECK}


def present_step(picture: Picture) -> str:
    """Answer the key of the step that is to be done, empty when nothing is."""
    phase = picture.episode.phase
    if phase in UNSTARTED:
        return _before_start(picture)
    return _while_given(picture) if phase in GIVING else _after_the_end(picture)


def has_fresh_baseline(picture: Picture) -> bool:
    """Whether a full set would still serve as the baseline of a start at the picture's instant."""
    policy, now = picture.case.policy, picture.standing.now
    sets = full_set_instants(picture.episode.observations, policy.observations_required)
    return any(now - policy.baseline_limit <= at <= now for at in sets)


def is_begun_only(key: str, picture: Picture) -> bool:
    """Whether a step still lacks something, whatever was recorded in it.

    A set that is not full, or that was taken before its check opened, meets no check.
    """
    if key in _CHECKS:
        met = [one.met_at for one, _ in picture.clocks if one.name is _CHECKS[key]]
        return bool(met) and not any(met)
    return picture.episode.phase in UNSTARTED and key in _IS_DONE and not _IS_DONE[key](picture)


def is_rate_reviewed(picture: Picture) -> bool:
    """Whether the rate was confirmed, or set anew, since the first check."""
    return any(reviews_rate(event, picture) for event in sorted_live(picture.case.events))


def reviews_rate(event: Event, picture: Picture) -> bool:
    """Whether a fact is a review of the rate after the first check."""
    said = event.payload
    confirmed = isinstance(said, Confirmed) and said.step is Confirmation.RATE_REVIEWED
    firsts = (clock for clock, _ in picture.clocks if clock.name is ClockName.FIRST_CHECK)
    since = next((clock.met_at for clock in firsts), None) or picture.episode.started_at
    reviews = confirmed or event.kind is Kind.RATE_SET
    return reviews and since is not None and event.happened_at >= since


def _before_start(picture: Picture) -> str:
    asked = (step.key for step in asked_steps(picture.case.policy))
    return next(key for key in asked if key == "start" or not _IS_DONE[key](picture))


def _is_confirmed(step: Confirmation) -> Callable[[Picture], bool]:
    return lambda picture: step in picture.episode.confirmed


def _is_received(picture: Picture) -> bool:
    return picture.episode.received_at is not None and picture.episode.inspection is not None


def _identity_stands(picture: Picture) -> bool:
    identity = picture.episode.identity
    alone = identity is not None and identity.second_by is None
    if alone and picture.case.policy.identity_checkers > 1:
        return False
    return identity is not None and identity.passed


_IS_DONE: Final[dict[str, Callable[[Picture], bool]]] = {
    "consent": _is_confirmed(Confirmation.ORDER_CONSENT),
    "sample": _is_confirmed(Confirmation.GROUP_SAMPLE),
    "access": _is_confirmed(Confirmation.ACCESS),
    "issue": lambda picture: picture.episode.phase is Phase.ISSUED,
    "receipt": _is_received,
    "identity": _identity_stands,
    "baseline": has_fresh_baseline,
    "line": lambda picture: picture.episode.spiked_at is not None,
}


def _while_given(picture: Picture) -> str:
    if picture.episode.reaction_at is not None or _is_over(picture):
        return "end"
    if picture.episode.phase is Phase.PAUSED:
        return "running"
    if is_owed(picture, ClockName.FIRST_CHECK):
        return "first"
    return "rate" if _asks(picture, "rate") and not is_rate_reviewed(picture) else "running"


def _is_over(picture: Picture) -> bool:
    """Whether the bag is empty by the rates, or its finish limit has passed."""
    limit, left = picture.standing.finish_limit_at, picture.infusion.left_ml
    past = limit is not None and picture.standing.now > limit
    return past or (left is not None and left <= 0)


def _after_the_end(picture: Picture) -> str:
    if picture.episode.ended_at is None:
        return NOTHING
    if is_owed(picture, ClockName.END_CHECK):
        return "flush" if _is_flush_owed(picture) else "after"
    return "bag" if picture.episode.fate is None else NOTHING


def _is_flush_owed(picture: Picture) -> bool:
    """Whether the line is still to be flushed; after a suspected reaction nothing is pushed in."""
    suspected = bool(picture.episode.reactions)
    flushed = any(event.kind is Kind.FLUSHED for event in sorted_live(picture.case.events))
    return _asks(picture, "flush") and not flushed and not suspected


def _asks(picture: Picture, key: str) -> bool:
    return any(step.key == key for step in asked_steps(picture.case.policy))


def is_owed(picture: Picture, name: ClockName) -> bool:
    """Whether a clock of this name is owed."""
    return any(clock.name is name and state in OWED for clock, state in picture.clocks)
