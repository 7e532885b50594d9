"""The marks on a line. Filled is done, hollow is owed; a circle is in time, a diamond is late."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from server.domain.clock import Clock
from server.domain.picture import Picture
from server.domain.words import ClockName, ClockState, Phase
from server.pages.time_window import Window

CHECKS: Final = frozenset(
    {
        ClockName.BASELINE_CHECK,
        ClockName.FIRST_CHECK,
        ClockName.RUNNING_CHECK,
        ClockName.REACTION_CHECK,
        ClockName.END_CHECK,
    }
)

SHAPE: Final[dict[ClockState, str]] = {
    ClockState.PENDING: "owed",
    ClockState.OPEN: "owed",
    ClockState.DUE: "owed",
    ClockState.OVERDUE: "overdue",
    ClockState.MET: "met",
    ClockState.MET_LATE: "late",
    ClockState.MISSED: "missed",
}


@dataclass(frozen=True, slots=True)
class Mark:
    """A mark at a place. shape: met, late, missed, owed, overdue, start, stop, paused, end."""

    shape: str
    x: float


def check_marks(picture: Picture, window: Window) -> Iterator[Mark]:
    """Answer the marks of the checks, above the line."""
    for clock, state in picture.clocks:
        shape, at = SHAPE.get(state), _place(clock, state)
        if clock.name in CHECKS and shape is not None and at is not None and window.shows(at):
            yield Mark(shape, window.x(at))


def bar_marks(picture: Picture, window: Window) -> Iterator[Mark]:
    """Answer the marks on the line itself: start target, pause, stop or end."""
    episode = picture.episode
    found = (
        ("start", _start_target(picture)),
        ("paused", episode.flow[-1].at if episode.phase is Phase.PAUSED else None),
        ("stop" if episode.stopped_reason is not None else "end", episode.ended_at),
    )
    for shape, at in found:
        if at is not None and window.shows(at):
            yield Mark(shape, window.x(at))


def _place(clock: Clock, state: ClockState) -> datetime | None:
    if state in (ClockState.MET, ClockState.MET_LATE):
        return clock.met_at
    if state is ClockState.MISSED:
        return clock.limit_at
    return clock.due_at or clock.limit_at


def _start_target(picture: Picture) -> datetime | None:
    """When an issued unit should have been started, None once it was or is gone."""
    if picture.episode.phase is not Phase.ISSUED:
        return None
    targets = (clock.due_at for clock, _ in picture.clocks if clock.name is ClockName.START)
    return next(targets, None)
