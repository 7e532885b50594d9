"""What was not as local policy has it, and what nobody recorded: named, not left blank."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from server.domain.clock import OWED
from server.domain.events import Event, sorted_live
from server.domain.picture import Picture
from server.domain.words import ClockName, Confirmation, Kind
from server.pages.episodes.done_views import done_views
from server.pages.episodes.pathway import Step, asked_steps
from server.pages.episodes.present import present_step
from server.pages.episodes.sentences import Speech
from server.pages.episodes.standing import BreachView, breach_views

NO_LIMIT: Final = frozenset({ClockName.LATE_WATCH})
"""Clocks that can be owed and never passed."""


@dataclass(frozen=True, slots=True)
class Deviations:
    """Limits that were not kept, a start against a refusal, and steps without a record.

    `none` is said where no limit was missed.
    """

    breaches: tuple[BreachView, ...]
    override: str
    against: tuple[str, ...]
    steps: tuple[str, ...]
    none: str


def deviations(picture: Picture, speech: Speech) -> Deviations:
    """Answer what the record has to own up to."""
    live = tuple(sorted_live(picture.case.events))
    owed = any(state in OWED and clock.name not in NO_LIMIT for clock, state in picture.clocks)
    return Deviations(
        breaches=tuple(breach_views(picture, speech)),
        override=_override(picture, live, speech),
        against=picture.overridden,
        steps=tuple(_unrecorded(picture, live, speech)),
        none=f"No limit was passed{' so far' if owed else ''}.",
    )


def _override(picture: Picture, live: tuple[Event, ...], speech: Speech) -> str:
    """The reason of a start against a refusal, with its person; empty if there was none."""
    reason = picture.episode.override_reason
    start = next((event for event in live if event.kind is Kind.STARTED), None)
    if reason is None or start is None:
        return ""
    return f"{reason} ({speech.time(start.happened_at)} {_who(start, speech)})"


def _who(event: Event, speech: Speech) -> str:
    return speech.name(event.staff_id or event.recorded_by)


def _unrecorded(picture: Picture, live: tuple[Event, ...], speech: Speech) -> Iterator[str]:
    """Steps that the policy asks for, that are past, and in which nothing was recorded.

    Sets of signs are judged by their clocks. A unit that was never started owes no step.
    """
    if picture.episode.started_at is None:
        return
    present = present_step(picture)
    for step in asked_steps(picture.case.policy):
        if step.key == present:
            return
        if _is_asked(step, picture) and not done_views(step, picture, live, speech):
            yield step.title


def _is_asked(step: Step, picture: Picture) -> bool:
    """Whether a record belongs to a step; after a suspected reaction nothing is pushed in.

    A reassessment has no time by which it is owed: the record may be printed long before it.
    """
    pushed = step.key == "flush" and bool(picture.episode.reactions)
    late = Confirmation.REASSESSED in step.acts
    return Kind.OBSERVED not in step.acts and not pushed and not late
