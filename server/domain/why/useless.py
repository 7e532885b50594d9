"""Acts that were tried and would not have kept a limit, and why not, in words."""

from collections.abc import Iterator
from dataclasses import dataclass

from server.domain.why.attempt import Act, Asked, Attempt
from server.domain.why.earlier import key_of, run_of
from server.domain.why.steady import Slow, rate_of, was_in_at
from server.domain.words import ClockName


@dataclass(frozen=True, slots=True)
class Useless:
    """An act that could not have kept the limit, and why."""

    act: Act
    why: str


def tried_in_vain(asked: Asked, attempt: Attempt) -> Useless:
    """Answer what is said of an attempt that the engine found no step of to help."""
    first, last = sorted((attempt.from_at, attempt.at(attempt.most)))
    if attempt.most < 1:
        return Useless(attempt.act, "There was no whole minute by which it could have moved.")
    if attempt.act is Act.START and _moves_along(asked, attempt):
        return Useless(attempt.act, "The limit counts from it and would have moved along with it.")
    between = f"{asked.time(first)} and {asked.time(last)}"
    return Useless(attempt.act, f"At no minute between {between} would it have kept the limit.")


def rate_in_vain(slow: Slow) -> Useless:
    """Answer why no permitted rate would have ended in time."""
    if was_in_at(slow) is not None:
        return Useless(Act.RATE, "By the recorded rates all was in before the limit.")
    most = rate_of(slow, slow.permitted_ml_h)
    return Useless(
        Act.RATE,
        f"With the permitted {slow.permitted_ml_h:g} mL/h after the slow start "
        f"{most.in_by_limit_ml:.0f} of {slow.volume_ml:.0f} mL would have been in by "
        f"{slow.asked.time(slow.asked.limit_at)}.",
    )


def issue_in_vain(asked: Asked) -> Iterator[Useless]:
    """Say that an earlier issue moves the limits that count from it."""
    if asked.clock.name in (ClockName.START, ClockName.RETURN):
        yield Useless(Act.ISSUE, "Issued earlier, its limit would have come earlier by as much.")


def _moves_along(asked: Asked, attempt: Attempt) -> bool:
    """Whether the limit moves with the act, a minute for a minute."""
    run = run_of(asked, attempt.tell(1))
    found = None if run is None else run.clock(key_of(asked))
    return found is not None and found[0].limit_at == asked.limit_at + attempt.step
