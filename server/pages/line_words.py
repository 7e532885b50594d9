"""What a line says to somebody who does not see it."""

from collections.abc import Iterator
from datetime import datetime
from typing import Final

from server.domain.clock import Clock
from server.domain.picture import Picture
from server.domain.wording import CLOCK, wall_time
from server.domain.words import ClockState
from server.pages.line_marks import CHECKS

STATE: Final[dict[ClockState, str]] = {
    ClockState.PENDING: "owed",
    ClockState.OPEN: "may be done now",
    ClockState.DUE: "due",
    ClockState.OVERDUE: "overdue",
    ClockState.MET: "done",
    ClockState.MET_LATE: "done late",
    ClockState.MISSED: "missed",
}


def line_words(picture: Picture) -> str:
    """Answer the line in one sentence, with the times of the ward."""
    words = "; ".join([*_unit(picture), *_checks(picture)])
    return f"Line of time: {words or 'nothing has left storage yet'}."


def _unit(picture: Picture) -> Iterator[str]:
    episode, zone = picture.episode, picture.standing.zone
    stages: tuple[tuple[str, datetime | None], ...] = (
        ("left storage", episode.removed_at),
        ("started", episode.started_at),
        ("stopped" if episode.stopped_reason is not None else "ended", episode.ended_at),
        ("projected end", picture.infusion.projected_end_at),
        ("finish limit", picture.standing.finish_limit_at),
    )
    for words, at in stages:
        if at is not None:
            yield f"{words} {wall_time(at, zone)}"


def _checks(picture: Picture) -> Iterator[str]:
    zone = picture.standing.zone
    for clock, state in picture.clocks:
        at = _instant(clock)
        if clock.name in CHECKS and state in STATE and at is not None:
            yield f"{CLOCK[clock.name].lower()} {STATE[state]} {wall_time(at, zone)}"


def _instant(clock: Clock) -> datetime | None:
    return clock.met_at or clock.due_at or clock.limit_at
